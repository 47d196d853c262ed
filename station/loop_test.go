package station_test

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/signal"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/device"
	"seamfit/internal/bench"
	"seamfit/internal/drill"
	"seamfit/internal/grid"
	"seamfit/internal/length"
	"seamfit/station"
)

// fakeScreen is a terminal in memory.
type fakeScreen struct {
	inputs chan station.Event
	mu     sync.Mutex
	text   string
	bells  []int
	closed int
	broken bool // drawing panics
}

func newScreen() *fakeScreen { return &fakeScreen{inputs: make(chan station.Event)} }

func (f *fakeScreen) Inputs() <-chan station.Event { return f.inputs }
func (f *fakeScreen) Size() (int, int)             { return 80, 24 }

func (f *fakeScreen) Draw(g *grid.Grid) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.broken {
		panic("drawing broke")
	}
	f.text = strings.Join(strings.Fields(g.String()), " ")
}

func (f *fakeScreen) Bell(strokes int) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.bells = append(f.bells, strokes)
}

func (f *fakeScreen) Close() {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.closed++
}

func (f *fakeScreen) breaks() {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.broken = true
}

func (f *fakeScreen) shown() string {
	f.mu.Lock()
	defer f.mu.Unlock()
	return f.text
}

// fakeKeeper keeps records in memory; its hooks run before it answers.
type fakeKeeper struct {
	mu       sync.Mutex
	facts    []bench.Fact
	saving   int
	onSave   func(ctx context.Context, facts []bench.Fact) error
	onLookUp func() error
	onLoad   func() (bench.Handling, error)
}

func (k *fakeKeeper) Save(ctx context.Context, facts []bench.Fact) error {
	k.mu.Lock()
	k.saving++
	busy, hook := k.saving, k.onSave
	k.mu.Unlock()
	defer func() {
		k.mu.Lock()
		k.saving--
		k.mu.Unlock()
	}()
	if busy > 1 {
		panic("two saves at once")
	}
	if hook != nil {
		if err := hook(ctx, facts); err != nil {
			return err
		}
	}
	k.mu.Lock()
	defer k.mu.Unlock()
	k.facts = append(k.facts, facts...)
	return nil
}

func (k *fakeKeeper) Standing(context.Context, string) (bench.Standing, error) {
	if k.onLookUp != nil {
		return bench.Standing{}, k.onLookUp()
	}
	return bench.Standing{}, nil
}

func (k *fakeKeeper) Load(_ context.Context, _ string) (bench.Handling, error) {
	if k.onLoad != nil {
		return k.onLoad()
	}
	return bench.Handling{}, nil
}

func (k *fakeKeeper) saved() []bench.Fact {
	k.mu.Lock()
	defer k.mu.Unlock()
	return append([]bench.Fact(nil), k.facts...)
}

// fakeFeed is a caliper's link in memory.
type fakeFeed struct {
	events chan device.Event
	expect chan bool
}

func newFeed() *fakeFeed {
	return &fakeFeed{events: make(chan device.Event), expect: make(chan bool, 64)}
}

func (f *fakeFeed) Next(ctx context.Context) (device.Event, error) {
	select {
	case e, ok := <-f.events:
		if !ok {
			return device.Event{}, fmt.Errorf("caliper: %w", device.ErrGone)
		}
		return e, nil
	case <-ctx.Done():
		return device.Event{}, ctx.Err()
	}
}

func (f *fakeFeed) Expect(on bool) { f.expect <- on }

// session runs a station on fakes, under a fake clock.
type session struct {
	t      *testing.T
	screen *fakeScreen
	keeper *fakeKeeper
	feed   *fakeFeed
	cancel context.CancelFunc
	ended  chan error
	cfg    station.Config
}

func newSession(t *testing.T) *session {
	s := &session{t: t, screen: newScreen(), keeper: &fakeKeeper{}, feed: newFeed(), ended: make(chan error, 1)}
	n := 0
	s.cfg = station.Config{
		Screen: s.screen, Keeper: s.keeper, Caliper: s.feed,
		Start: bench.State{Setup: setup(t), Shift: shift()}, Options: options(), Clock: time.Now,
		NewID: func() string { n++; return fmt.Sprintf("id-%d", n) },
	}
	return s
}

func (s *session) start() *session {
	ctx, cancel := context.WithCancel(context.Background())
	s.cancel = cancel
	go func() { s.ended <- station.Run(ctx, s.cfg) }()
	synctest.Wait()
	return s
}

// keys presses keys with time between them, and waits until all is settled.
func (s *session) keys(all ...string) *session {
	for _, k := range all {
		if code, ok := names()[k]; ok {
			s.press(station.Key{Code: code})
			continue
		}
		if letter, ok := strings.CutPrefix(k, "Ctrl+"); ok {
			s.press(station.Key{Code: station.CodeControl, Rune: rune(letter[0])})
			continue
		}
		for _, char := range k {
			s.press(station.Key{Code: station.CodeRune, Rune: char})
		}
	}
	return s
}

func (s *session) press(k station.Key) {
	k.At = time.Now()
	s.screen.inputs <- k
	s.pass(150 * time.Millisecond)
}

// pass lets the fake clock run.
func (s *session) pass(d time.Duration) *session {
	<-time.After(d) // by the bubble's clock, which costs no time
	synctest.Wait()
	return s
}

func (s *session) reading(hundredths int) {
	value := length.Length(hundredths) * 10 * length.Micrometre
	s.feed.events <- device.Event{Kind: device.EventReading, Reading: device.Reading{
		Raw: []byte("x"), Value: value, Unit: length.MM, Resolution: 10 * length.Micrometre, At: time.Now(), Device: "caliper",
	}}
	s.pass(150 * time.Millisecond)
}

func (s *session) shows(parts ...string) {
	s.t.Helper()
	for _, part := range parts {
		require.Contains(s.t, s.screen.shown(), part)
	}
}

func (s *session) end() error {
	select {
	case err := <-s.ended:
		return err
	case <-time.After(time.Minute):
		s.t.Fatal("the station does not end")
		return nil
	}
}

func inBubble(t *testing.T, f func(t *testing.T)) {
	t.Helper()
	// The system's side of signals starts with their first use and must not
	// start inside a bubble.
	signals := make(chan os.Signal, 1)
	signal.Notify(signals, syscall.SIGTERM)
	defer signal.Stop(signals)
	synctest.Test(t, f)
}

func TestRunTakesReadingsAndSavesThem(t *testing.T) {
	inBubble(t, func(t *testing.T) {
		s := newSession(t).start()
		s.feed.events <- device.Event{Kind: device.EventState, State: device.State{Kind: device.StateReady}}
		s.keys("F2", "common tern", "Enter", "a", "f", "r")
		s.shows("caliper ready", "√ saved")
		s.reading(302)
		s.shows("1 of 3")
		assert.Len(t, s.keeper.saved(), 6)
		s.keys("Ctrl+q", "y")
		require.NoError(t, s.end())
		assert.Positive(t, s.screen.closed)
		assert.Equal(t, []int{1}, s.screen.bells)
		assert.True(t, <-s.feed.expect, "a reading was waited for at the leg step")
	})
}

func TestRunSaysSavedOnlyAfterTheCommit(t *testing.T) {
	inBubble(t, func(t *testing.T) {
		s := newSession(t)
		commit := make(chan struct{})
		s.keeper.onSave = func(context.Context, []bench.Fact) error { <-commit; return nil }
		s.start().keys("F2")
		s.shows("saving")
		assert.NotContains(t, s.screen.shown(), "√ saved")
		s.pass(time.Hour)
		assert.NotContains(t, s.screen.shown(), "√ saved")
		close(commit)
		s.pass(time.Second)
		s.shows("√ saved")
		s.cancel()
		require.ErrorIs(t, s.end(), station.ErrStopped)
	})
}

func TestRunShowsWhatCameWhileTheDiskWorked(t *testing.T) {
	inBubble(t, func(t *testing.T) {
		s := newSession(t)
		commit := make(chan struct{})
		s.start().keys("F2", "common tern", "Enter", "a", "f", "r")
		s.keeper.onSave = func(context.Context, []bench.Fact) error { <-commit; return nil }
		s.reading(302)
		s.shows("1 of 3", "saving")
		s.reading(301)
		s.shows("2 of 3", "saving")
		commit <- struct{}{}
		s.pass(time.Millisecond)
		s.shows("2 of 3", "saving")
		commit <- struct{}{}
		s.pass(time.Millisecond)
		s.shows("2 of 3", "√ saved")
		assert.Len(t, s.keeper.saved(), 7)
		s.cancel()
		require.ErrorIs(t, s.end(), station.ErrStopped)
	})
}

func TestRunKeepsWhatTheDiskRefuses(t *testing.T) {
	inBubble(t, func(t *testing.T) {
		s := newSession(t)
		var full atomic.Bool
		full.Store(true)
		s.keeper.onSave = func(context.Context, []bench.Fact) error {
			if full.Load() {
				return errors.New("save the records: the disk is full; make room on the disk")
			}
			return nil
		}
		s.start().keys("F2", "herring", "Enter")
		s.shows("NOT SAVED", "the disk is full; make room on the disk")
		full.Store(false)
		s.pass(31 * time.Second)
		s.shows("√ saved")
		assert.Len(t, s.keeper.saved(), 2)
		s.keys("Ctrl+q", "y")
		require.NoError(t, s.end())
	})
}

func TestRunEndsInOrderWhenItIsEndedFromOutside(t *testing.T) {
	t.Run("a save in flight comes to its end", func(t *testing.T) {
		inBubble(t, func(t *testing.T) {
			s := newSession(t)
			s.keeper.onSave = func(ctx context.Context, _ []bench.Fact) error {
				<-time.After(3 * time.Second) // a slow card, by the bubble's clock
				return ctx.Err()
			}
			s.start()
			s.screen.inputs <- station.Key{Moment: station.Moment{At: time.Now()}, Code: station.CodeF2}
			s.cancel()
			require.ErrorIs(t, s.end(), station.ErrStopped)
			assert.Len(t, s.keeper.saved(), 1)
		})
	})
	t.Run("what can't be saved is named", func(t *testing.T) {
		inBubble(t, func(t *testing.T) {
			s := newSession(t)
			s.keeper.onSave = func(context.Context, []bench.Fact) error { return errors.New("full; make room") }
			s.start().keys("F2")
			s.cancel()
			err := s.end()
			require.ErrorIs(t, err, station.ErrStopped)
			var unsaved *station.UnsavedError
			require.ErrorAs(t, err, &unsaved)
			assert.Len(t, unsaved.Facts, 1)
			assert.Contains(t, err.Error(), "BirdTold")
			assert.Contains(t, err.Error(), "full; make room")
		})
	})
	t.Run("a store that hangs does not keep the terminal", func(t *testing.T) {
		inBubble(t, func(t *testing.T) {
			s := newSession(t)
			hang := make(chan struct{})
			s.keeper.onSave = func(context.Context, []bench.Fact) error { <-hang; return nil }
			s.start().keys("F2")
			s.cancel()
			err := s.end()
			var unsaved *station.UnsavedError
			require.ErrorAs(t, err, &unsaved)
			assert.Positive(t, s.screen.closed)
			close(hang)
		})
	})
	t.Run("the terminal hangs up", func(t *testing.T) {
		inBubble(t, func(t *testing.T) {
			s := newSession(t).start()
			close(s.screen.inputs)
			require.ErrorIs(t, s.end(), station.ErrTerminalLost)
		})
	})
}

// A fault in any goroutine gives the terminal back and loses nothing that can
// still be saved.
func TestRunSurvivesItsOwnFaults(t *testing.T) {
	for name, arm := range map[string]func(*session){
		"drawing": func(s *session) { s.screen.breaks() },
		"saving": func(s *session) {
			first := true
			s.keeper.onSave = func(context.Context, []bench.Fact) error {
				if first {
					first = false
					panic("saving broke")
				}
				return nil
			}
		},
		"looking up": func(s *session) { s.keeper.onLookUp = func() error { panic("looking up broke") } },
	} {
		t.Run(name, func(t *testing.T) {
			inBubble(t, func(t *testing.T) {
				s := newSession(t)
				if name != "drawing" {
					arm(s)
				}
				s.start()
				if name == "drawing" {
					arm(s)
				}
				for _, e := range []station.Key{{Code: station.CodeF2}, {Code: station.CodeTab}, {Code: station.CodeTab}, {Code: station.CodeTab}} {
					select {
					case s.screen.inputs <- e:
					case <-time.After(time.Second):
					}
				}
				for _, char := range "1232-40001" {
					select {
					case s.screen.inputs <- station.Key{Moment: station.Moment{At: time.Now()}, Code: station.CodeRune, Rune: char}:
					case <-time.After(time.Second):
					}
				}
				select {
				case s.screen.inputs <- station.Key{Moment: station.Moment{At: time.Now()}, Code: station.CodeEnter}:
				case <-time.After(time.Second):
				}
				err := s.end()
				var crash *station.CrashError
				require.ErrorAs(t, err, &crash)
				assert.Contains(t, crash.Error(), "broke")
				assert.Contains(t, crash.Stack, "station")
				assert.Positive(t, s.screen.closed)
				assert.NotEmpty(t, s.keeper.saved(), "the bird is on the disk")
			})
		})
	}
}

func TestRunTellsRefusalsOfTheRecords(t *testing.T) {
	inBubble(t, func(t *testing.T) {
		s := newSession(t)
		s.keeper.onSave = func(_ context.Context, facts []bench.Fact) error {
			if _, told := facts[len(facts)-1].(bench.BandTold); told {
				return fmt.Errorf("save: number is on another bird: %w", bench.ErrRefused)
			}
			return nil
		}
		loads := 0
		s.keeper.onLoad = func() (bench.Handling, error) {
			loads++
			if loads == 1 {
				return bench.Handling{}, errors.New("locked")
			}
			return bench.Handling{ID: "id-1", Bird: bench.Bird{Species: "Larus argentatus"}, Opened: time.Now()}, nil
		}
		s.start().keys("F2", "Tab", "Tab", "Tab", "1232-40001", "Enter")
		s.shows("refused by the records", "on another bird")
		s.pass(3 * time.Second)
		assert.Equal(t, 2, loads)
		s.shows("Herring Gull")
		s.keys("Ctrl+q", "y")
		require.NoError(t, s.end())
	})
}

// fakeCodes is a scanner; an empty code is one that it could not read.
// fakeCodes is a scanner's link: each event is told; closed, it has ended.
type fakeCodes struct{ events chan device.ScanEvent }

func (f fakeCodes) Next(ctx context.Context) (device.ScanEvent, error) {
	select {
	case e, ok := <-f.events:
		if !ok {
			return e, errors.New("scanner: unplugged; plug it in again")
		}
		return e, nil
	case <-ctx.Done():
		return device.ScanEvent{}, ctx.Err()
	}
}

func TestRunHearsAScannerOnItsOwnPort(t *testing.T) {
	inBubble(t, func(t *testing.T) {
		s := newSession(t)
		codes := fakeCodes{make(chan device.ScanEvent)}
		s.cfg.Scanner = codes
		s.start().keys("F2")
		tell := func(e device.ScanEvent) { codes.events <- e; s.pass(time.Second) }
		s.shows("scanner is be")
		tell(device.ScanEvent{Kind: device.EventState, State: device.State{
			Kind: device.StateFailed, Words: "there is no port /dev/none", Mend: "plug the cable in",
		}})
		s.shows("There is no port /dev/none; plug the cable in.")
		tell(device.ScanEvent{Kind: device.EventState, State: device.State{Kind: device.StateReady}})
		s.shows("scanner ready")
		tell(device.ScanEvent{Kind: device.EventScan, Scan: device.Scan{Text: "1232-40001"}})
		s.shows("number 1232-40001")
		tell(device.ScanEvent{Kind: device.EventScan, Scan: device.Scan{Err: &device.ScanError{Fault: device.ScanCheck, Raw: []byte("1\x1b2")}}})
		s.shows("fails its check character", "the label is damaged")
		tell(device.ScanEvent{Kind: device.EventFrame, Err: &device.FrameError{Kind: device.KindDropped, Count: 3}})
		s.shows("3 frames were dropped")
		close(codes.events)
		s.pass(time.Second)
		s.shows("unplugged", "plug it in again")
		close(s.feed.events)
		s.pass(time.Second)
		s.shows("the connection is lost")
		s.keys("Ctrl+q", "y")
		require.NoError(t, s.end())
	})
}

func TestRunToldByTheLink(t *testing.T) {
	inBubble(t, func(t *testing.T) {
		s := newSession(t).start()
		s.keys("F2")
		tell := func(e device.Event) { s.feed.events <- e; s.pass(time.Second) }
		tell(device.Event{Kind: device.EventState, State: device.State{Kind: device.StateOpening, Words: "opening port"}})
		s.shows("caliper is being opened")
		tell(device.Event{Kind: device.EventState, State: device.State{Kind: device.StateSilent, Words: "nothing from caliper for 20s", Mend: "press its button"}})
		s.shows("nothing from caliper for 20s", "press its button")
		tell(device.Event{Kind: device.EventState, State: device.State{Kind: device.StateReady}})
		s.shows("caliper ready")
		tell(device.Event{Kind: device.EventFrame, Err: &device.FrameError{Kind: device.KindGrammar, Raw: []byte("8.\x1b2")}})
		s.shows("is no frame of this wire form", "measure again")
		tell(device.Event{Kind: device.EventFrame, Err: &device.Notice{Kind: device.KindBatteryLow}})
		s.shows("battery low")
		tell(device.Event{Kind: device.EventFrame, Err: &device.Notice{Kind: device.KindEcho, Raw: []byte("?")}})
		tell(device.Event{Kind: device.EventFrame, Err: &device.Notice{Kind: device.KindBatteryWell}})
		tell(device.Event{Kind: device.EventLive})
		s.keys("Ctrl+q", "y")
		require.NoError(t, s.end())
	})
}

// source is a device.Source that gives what it was given.
type source struct{ next chan error }

func (s source) Name() string { return "gauge" }
func (s source) Close() error { return nil }
func (s source) Next(context.Context) (device.Reading, error) {
	err := <-s.next
	if err != nil {
		return device.Reading{}, err
	}
	return device.Reading{Value: 3 * length.Millimetre, Unit: length.MM, Resolution: 10 * length.Micrometre}, nil
}

func TestSourceFeedTellsWhatASourceTells(t *testing.T) {
	ctx := context.Background()
	src := source{make(chan error, 8)}
	feed := station.SourceFeed(src)
	for _, err := range []error{nil, device.ErrSilent, &device.FrameError{Kind: device.KindSensor}, fmt.Errorf("gauge: %w", device.ErrGone)} {
		src.next <- err
	}
	var kinds []device.EventKind
	for range 4 {
		e, err := feed.Next(ctx)
		require.NoError(t, err)
		kinds = append(kinds, e.Kind)
	}
	assert.Equal(t, []device.EventKind{device.EventState, device.EventReading, device.EventState, device.EventFrame}, kinds)
	_, err := feed.Next(ctx)
	require.ErrorIs(t, err, device.ErrGone)
}

func TestRunSaysWhatIsWrongWithTheRecords(t *testing.T) {
	inBubble(t, func(t *testing.T) {
		s := newSession(t)
		s.cfg.Inspect = func(context.Context) error {
			return errors.New("check \"bench.db\": damaged; restore the last backup")
		}
		s.start()
		s.shows("THE RECORDS: check \"bench.db\": damaged; restore the last backup.")
		s.keys("Ctrl+q")
		require.NoError(t, s.end())
	})
}

func TestRunSqueezesTheSimulatedCaliper(t *testing.T) {
	inBubble(t, func(t *testing.T) {
		s := newSession(t)
		s.cfg.Options.Trainer = drill.ThreeBirds()
		s.cfg.Start.Shift = nil
		var widths []length.Length
		s.cfg.Squeeze = func(w length.Length) error {
			widths = append(widths, w)
			if len(widths) > 1 {
				return device.ErrClosed
			}
			return nil
		}
		s.start().keys("Enter", "F2", "common tern", "Enter", "a", "u", "r", " ", " ")
		assert.Equal(t, []length.Length{3_020_000, 3_020_000}, widths)
		s.shows("can't be squeezed")
		s.keys("Ctrl+q", "y")
		require.NoError(t, s.end())
	})
}
