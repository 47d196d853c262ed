package station

import (
	"slices"
	"strings"
	"time"

	"seamfit/internal/bench"
	"seamfit/internal/catalogue"
)

// Codes of refusals that are the station's own: about saving and keys, never
// about birds and bands.
const (
	CodeRecordsRefused bench.Code = "records_refused"
	CodeStrayReading   bench.Code = "stray_reading"
	CodeRereading      bench.Code = "rereading"
	CodeScanReadBack   bench.Code = "scan_is_no_read_back"
	CodeTooFast        bench.Code = "too_fast"
	CodePasted         bench.Code = "pasted"
	CodeDeviceSaid     bench.Code = "device_said"
	CodeNotAWidth      bench.Code = "not_a_width"
	CodeNotATime       bench.Code = "not_a_time"
	CodeNotTyped       bench.Code = "not_typed"
	CodeMarked         bench.Code = "findings_marked"
	CodeCard           bench.Code = "card_not_obeyed"
	CodeNoSpot         bench.Code = "nothing_to_measure"
)

// Update answers an event with the next state and the effects to run. It is
// pure, and never panics whatever the event holds.
func Update(s State, e Event) (State, []Effect) {
	t := &turn{s: s, at: e.moment()}
	if !t.at.IsZero() {
		t.s.Now = t.at
	}
	t.handle(e)
	t.expect()
	t.lookBack()
	t.askStock()
	t.keepGone()
	return t.s, t.effects
}

// turn is one event on its way through the state.
type turn struct {
	s       State
	at      time.Time
	id      string   // a fresh identifier, of key and scan events
	toured  []string // the tour before this event
	effects []Effect
}

func (t *turn) handle(e Event) {
	switch e.(type) {
	case Key, Scanned, Paste, Read:
		t.toured, t.s.Tour = t.s.Tour, nil
	}
	switch e := e.(type) {
	case Key:
		t.id = e.ID
		t.key(e)
	case Paste:
		t.paste(e)
	case Resize:
		t.s.Width, t.s.Height = e.Width, e.Height
	case Tick:
		t.tick()
	case Read:
		t.read(e)
	case Live:
		t.live(e.Reading)
	case Scanned:
		t.id = e.ID
		t.scan(e.Text)
	case Linked:
		t.linked(e)
	case Remarked:
		t.remarked(e)
	case Saved:
		t.saved(e)
	case SaveFailed:
		t.saveFailed(e)
	case LookedUp:
		t.lookedUp(e)
	case Reloaded:
		t.reloaded(e)
	case LookedBack:
		t.lookedBack(e)
	case Traced:
		t.traced(e)
	case Offered:
		t.offered(e)
	case StringTold:
		t.spotString(e)
	case Doubted:
		t.s.Options.Doubts = append(slices.Clone(t.s.Options.Doubts), e.What)
		t.bell(BellRefusal)
	case Squeezed:
		t.refuse([]bench.Blocker{{Code: CodeDeviceSaid, Mend: "The simulated caliper can't be squeezed: " + e.Trouble + "; start the training anew."}})
	}
}

func (t *turn) emit(e Effect) { t.effects = append(t.effects, e) }

// bell sounds unless the bench is silent.
func (t *turn) bell(kind BellKind) {
	if !t.s.Options.Silent {
		t.emit(Bell{Kind: kind})
	}
}

// say shows one line about what has been done, and takes older refusals away.
func (t *turn) say(message string) { t.s.Message, t.s.Refused = message, nil }

// refuse shows why something was not done, with its mends.
func (t *turn) refuse(blockers []bench.Blocker) {
	t.s.Refused, t.s.Message = blockers, ""
	t.bell(BellRefusal)
}

// quiet takes the last message and refusal away.
func (t *turn) quiet() { t.s.Message, t.s.Refused = "", nil }

// when makes the head of a command about the bird on the desk.
func (t *turn) when() bench.When {
	h, ok := t.s.bird()
	if !ok {
		return t.stamp(t.at, t.s.Bander)
	}
	w := t.stamp(h.Opened, h.Bander)
	w.Handling = h.ID
	return w
}

// do has a command done. It returns why it was refused; nil when it was done.
func (t *turn) do(c bench.Command, about string) []bench.Blocker {
	if t.isRereading(about) {
		return []bench.Blocker{{Code: CodeRereading, Mend: "This bird's record is being read again: wait a moment, then do it again."}}
	}
	next, facts, blockers := bench.Apply(t.s.Bench, c)
	if len(blockers) > 0 {
		return blockers
	}
	t.s.Bench = next
	t.enqueue(facts)
	return nil
}

// ask has a command about the bird on the desk done and shows a refusal. It
// reports whether it was done.
func (t *turn) ask(c bench.Command) bool {
	if blockers := t.do(c, t.s.Bench.Active); blockers != nil {
		t.refuse(blockers)
		return false
	}
	t.quiet()
	return true
}

// turnTo shows a step of the bird on the desk and drops what was half typed.
func (t *turn) turnTo(step Step) {
	d := &t.s.Desk
	*d = Desk{Handling: d.Handling, Step: step, Asked: d.Asked, Taking: d.Taking, Witnessed: d.Witnessed}
	if step == StepNumber {
		t.s.Stock = Stock{} // asked anew: it may have been opened meanwhile
	}
	if step == StepSize {
		d.Row = 0
	}
}

// advance goes to the next step that is not done, if the one in view is.
func (t *turn) advance() {
	h, ok := t.s.bird()
	if !ok {
		return
	}
	answered := t.s.Bench.Answered(h)
	if progressOf(answered, h, t.s.Desk.Step) == Done {
		t.turnTo(nextStep(answered, h, t.s.Desk.Step))
	}
}

// question puts a question to the person in place of the step's own.
func (t *turn) question(a Ask) {
	t.s.Desk.Ask, t.s.Desk.Typed, t.s.Desk.Row = a, "", 0
}

// linked shows how a device's link stands. A device that is there again may
// have another battery.
func (t *turn) linked(e Linked) {
	l := &t.s.Links[e.Device]
	if e.Trouble != "" && l.Trouble == "" {
		t.bell(BellRefusal)
	}
	if !e.Open && e.Device == Caliper {
		t.s.Flowing = false
		if strings.HasSuffix(t.s.Message, askedWords) {
			t.s.Message = ""
		}
	}
	*l = Link{Fitted: true, Open: e.Open, Trouble: e.Trouble, Mend: e.Mend, Low: l.Low && e.Open && l.Open}
}

// expect tells the caliper's link whether a reading is waited for: silence is
// a trouble only then.
func (t *turn) expect() {
	h, ok := t.s.bird()
	on := ok && h.InHand() && t.s.Desk.Step == StepLeg && legProgress(t.s.Bench, h) != Done
	if a := t.s.ask(); a == AskSpotOuter || a == AskSpotWidth {
		on = true
	}
	if on != t.s.expecting {
		t.s.expecting = on
		t.emit(Expect{On: on})
	}
}

// remarked shows what a device said.
func (t *turn) remarked(e Remarked) {
	if e.Low {
		t.s.Links[e.Device].Low = true
		return
	}
	if e.Mend == "" {
		t.s.Message = e.Device.String() + ": " + e.What
		return
	}
	t.refuse([]bench.Blocker{{Code: CodeDeviceSaid, Mend: catalogue.Capital(e.What) + ": " + e.Mend + "."}})
}

// tick releases keys that were held, and tries again what is due.
func (t *turn) tick() {
	t.release()
	t.save()
	for i, r := range t.s.Reread {
		if r.waiting && due(r.retry, t.at) {
			t.s.Reread = slices.Clone(t.s.Reread)
			t.s.Reread[i].waiting = false
			t.emit(Reload{Handling: r.id})
		}
	}
}
