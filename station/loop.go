package station

import (
	"context"
	"errors"
	"runtime"
	"runtime/debug"
	"strings"
	"sync"
	"time"

	"seamfit/internal/bench"
	"seamfit/internal/grid"
)

// loop owns the state. All else runs in goroutines that send it events.
type loop struct {
	cfg   Config
	ctx   context.Context // ends with the loop; goroutines stop by it
	stop  context.CancelFunc
	outer context.Context // ended from outside
	work  sync.WaitGroup

	// events carries what goroutines send. It has no buffer and is never
	// closed; every send gives up when ctx ends, and none is dropped before.
	events chan Event
	// crashes carries the first fault of a goroutine; later ones are dropped.
	crashes chan error

	state State
	quit  bool
	over  bool // the screen is closed: nothing but saving is done

	frame frame // of the state
	ahead frame // of the state that the save on its way will leave
}

// frame is a drawing of a state. The loop owns it.
type frame struct {
	grid  *grid.Grid
	at    time.Time // the time in the state that is drawn
	holds bool      // nothing but a clock's running has changed since
}

func (f *frame) view(s State) {
	if w, h := f.grid.Size(); w != s.Width || h != s.Height {
		f.grid.Resize(s.Width, s.Height)
	}
	View(s, f.grid)
	f.at, f.holds = s.Now, true
}

func newLoop(ctx context.Context, cfg Config) *loop {
	l := &loop{cfg: cfg, outer: ctx, events: make(chan Event), crashes: make(chan error, 1)}
	// Not a child of ctx: an ending from outside is handled by the loop, which
	// lets a save in flight come to its end.
	l.ctx, l.stop = context.WithCancel(context.WithoutCancel(ctx))
	l.state = NewState(cfg.Start, cfg.Options, cfg.Clock())
	l.state.Links[Caliper].Fitted = cfg.Caliper != nil
	l.state.Links[Scanner].Fitted = cfg.Scanner != nil
	l.state.Width, l.state.Height = cfg.Screen.Size()
	l.frame.grid = grid.New(l.state.Width, l.state.Height)
	l.ahead.grid = grid.New(l.state.Width, l.state.Height)
	return l
}

// end stops the goroutines and waits for them, but not for ever: a device or a
// disk that hangs must not keep the terminal.
func (l *loop) end() {
	l.stop()
	done := make(chan struct{})
	go func() {
		l.work.Wait()
		close(done)
	}()
	limit := time.NewTimer(endLimit)
	defer limit.Stop()
	select {
	case <-done:
	case <-limit.C:
	}
}

// The longest that ending may take: for goroutines, and for a last save.
const (
	endLimit  = 2 * time.Second
	saveLimit = 5 * time.Second
)

// spawn runs f in a goroutine whose fault ends the loop in order.
func (l *loop) spawn(f func()) {
	l.work.Go(func() {
		defer func() {
			if fault := recover(); fault != nil {
				l.crashed(fault)
			}
		}()
		f()
	})
}

func (l *loop) crashed(fault any) {
	select {
	case l.crashes <- crash(fault):
	default: // one is enough to end
	}
}

func crash(fault any) error { return &CrashError{Value: fault, Stack: string(debug.Stack())} }

// send delivers an event to the loop, unless it ends first.
func (l *loop) send(e Event) {
	select {
	case l.events <- e:
	case <-l.ctx.Done():
	}
}

func (l *loop) now() Moment { return Moment{At: l.cfg.Clock()} }

// guarded runs the loop, and turns a fault in it into an error.
func (l *loop) guarded() (err error) {
	defer func() {
		if fault := recover(); fault != nil {
			err = crash(fault)
		}
	}()
	return l.run()
}

// run handles events until the station is left or ended.
func (l *loop) run() error {
	if l.cfg.Caliper != nil {
		l.spawn(l.followCaliper)
	}
	if l.cfg.Scanner != nil {
		l.spawn(l.followScanner)
	}
	if l.cfg.Inspect != nil {
		l.spawn(l.inspect)
	}
	second := time.NewTicker(time.Second)
	defer second.Stop()
	l.handle(Tick{l.now()})
	l.show()
	for !l.quit {
		select {
		case e := <-l.events:
			l.handle(e)
		case e, ok := <-l.cfg.Screen.Inputs():
			if !ok {
				return ErrTerminalLost
			}
			l.input(e)
		case <-second.C:
			l.handle(Tick{l.now()})
		case err := <-l.crashes:
			return err
		case <-l.outer.Done():
			return ErrStopped
		}
		l.show()
	}
	return nil
}

// show draws the state. While a save is on its way, what its good end will
// leave is drawn as well, out of sight and while the disk works, so that it
// can be shown the moment that the end is there.
func (l *loop) show() {
	if !l.frame.holds {
		l.frame.view(l.state)
	}
	l.cfg.Screen.Draw(l.frame.grid)
	if l.state.Queue.InFlight > 0 {
		end := Saved{l.now(), l.state.Queue.InFlight}
		foreseen, _ := Update(l.state, end)
		l.ahead.view(foreseen)
	}
}

// turnFrames makes the frame that was drawn ahead the one to show if e is what
// it was drawn for, in the same second: no frame tells time more finely.
func (l *loop) turnFrames(e Event) {
	end, saved := e.(Saved)
	foreseen := saved && l.ahead.holds && end.Count == l.state.Queue.InFlight && end.At.Unix() == l.ahead.at.Unix()
	if foreseen {
		l.frame, l.ahead = l.ahead, l.frame
	}
	l.frame.holds, l.ahead.holds = foreseen, false
}

// input gives a key its identifier.
func (l *loop) input(e Event) {
	if k, ok := e.(Key); ok {
		k.ID = l.cfg.NewID()
		e = k
	}
	l.handle(e)
}

func (l *loop) handle(e Event) {
	l.turnFrames(e)
	state, effects := Update(l.state, e)
	l.state = state
	for _, effect := range effects {
		l.perform(effect)
	}
}

// perform runs an effect. What takes time runs in a goroutine.
func (l *loop) perform(effect Effect) {
	if _, saves := effect.(Save); l.over && !saves {
		return
	}
	switch e := effect.(type) {
	case Save:
		l.spawn(func() { l.send(l.save(e.Facts)) })
		runtime.Gosched() // the disk begins before the screen is drawn
	case LookUp:
		l.spawn(func() { l.send(l.lookUp(e)) })
	case Reload:
		l.spawn(func() { l.send(l.reload(e)) })
	case LookBack:
		if l.cfg.History != nil {
			l.spawn(func() { l.send(l.lookBack(e.Like)) })
		}
	case Trace:
		if l.cfg.Trace != nil {
			l.spawn(func() { l.send(l.trace(e.Inscription)) })
		}
	case AskStock:
		l.spawn(func() { l.send(l.askStock(e.Tubing)) })
	case AskString:
		if l.cfg.String != nil {
			l.spawn(func() { l.send(l.askString(e.Number)) })
		}
	case Squeeze:
		l.squeeze(e)
	case Poll:
		l.spawn(l.poll)
	case Rearm:
		if link, ok := l.cfg.Caliper.(interface{ Rearm() }); ok {
			link.Rearm()
		}
	case Expect:
		if link, ok := l.cfg.Caliper.(interface{ Expect(on bool) }); ok {
			link.Expect(e.On)
		}
	case Wake:
		l.spawn(func() { l.wake(e.After) })
	case Bell:
		l.cfg.Screen.Bell(int(e.Kind))
	case Quit:
		l.quit = true
	}
}

// inspect has the records looked through. An end of the station is no finding.
func (l *loop) inspect() {
	if err := l.cfg.Inspect(l.ctx); err != nil && l.ctx.Err() == nil {
		what, mend := whatAndMend(err)
		l.send(Doubted{l.now(), "THE RECORDS: " + what + mendOf(mend) + "."})
	}
}

func (l *loop) wake(after time.Duration) {
	timer := time.NewTimer(after)
	defer timer.Stop()
	select {
	case <-timer.C:
		l.send(Tick{l.now()})
	case <-l.ctx.Done():
	}
}

// save stores facts. A save is never cut short: only its end says whether the
// facts are on the disk, and a fault in it counts as a failure.
func (l *loop) save(facts []bench.Fact) (answer Event) {
	defer func() {
		if fault := recover(); fault != nil {
			l.crashed(fault)
			answer = SaveFailed{Moment: l.now(), Count: len(facts), What: "a fault of the program itself"}
		}
	}()
	err := l.cfg.Keeper.Save(context.WithoutCancel(l.ctx), facts)
	if err == nil {
		return Saved{l.now(), len(facts)}
	}
	what, mend := whatAndMend(err)
	return SaveFailed{Moment: l.now(), Count: len(facts), Refused: errors.Is(err, bench.ErrRefused), What: what, Mend: mend}
}

func (l *loop) squeeze(e Squeeze) {
	if l.cfg.Squeeze == nil {
		return
	}
	if err := l.cfg.Squeeze(e.Width); err != nil {
		l.handle(Squeezed{Moment: l.now(), Trouble: err.Error()})
	}
}

// lastSave waits for a save in flight and tries once more to save what is
// left, within its limit.
func (l *loop) lastSave() error {
	l.over = true
	limit := time.NewTimer(saveLimit)
	defer limit.Stop()
	for len(l.state.Queue.Facts) > 0 {
		if l.state.Queue.InFlight == 0 {
			break
		}
		select {
		case e := <-l.events:
			l.handle(e)
		case <-limit.C:
			return l.unsaved()
		}
	}
	if len(l.state.Queue.Facts) == 0 {
		return nil
	}
	done := make(chan Event, 1) // one slot: nobody waits for it after the limit
	facts := l.state.Queue.Facts
	l.spawn(func() { done <- l.save(facts) })
	select {
	case e := <-done:
		l.handle(e)
	case <-limit.C:
	}
	return l.unsaved()
}

func (l *loop) unsaved() error {
	q := l.state.Queue
	if len(q.Facts) == 0 {
		return nil
	}
	what := q.What + mendOf(q.Mend)
	if what == "" {
		what = "the records did not answer in time"
	}
	return &UnsavedError{Facts: q.Facts, What: what}
}

// whatAndMend splits an error into what went wrong and how to mend it: by its own
// method, or at the semicolon at which this program's errors say both.
func whatAndMend(err error) (what, mend string) {
	var own interface{ Mend() string }
	if errors.As(err, &own) {
		return err.Error(), own.Mend()
	}
	text := err.Error()
	if i := strings.LastIndex(text, "; "); i >= 0 {
		return text[:i], text[i+2:]
	}
	return text, ""
}
