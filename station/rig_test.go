package station_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"seamfit/device"
	"seamfit/internal/bands"
	"seamfit/internal/bench"
	"seamfit/internal/catalogue"
	"seamfit/internal/drill"
	"seamfit/internal/fit"
	"seamfit/internal/grid"
	"seamfit/internal/length"
	"seamfit/internal/seam"
	"seamfit/station"
)

// rig drives Update as the loop does, with records and a caliper that answer
// at once, so that a test reads like the manual.
type rig struct {
	t     testing.TB
	s     station.State
	at    time.Time
	ids   int
	bells []station.BellKind
	quit  bool

	saved    []bench.Fact              // what the records took
	standing map[string]bench.Standing // what they know of numbers
	records  map[string]bench.Handling // what a reload gives
	failing  func([]bench.Fact) *station.SaveFailed
	hold     bool // answers wait in the list
	waiting  []station.Event
	noise    []length.Length // added to the squeezes, in turn
	squeezed int

	tracks  map[string]station.Tracks      // what the records tell of inscriptions
	offers  map[bench.Tubing]bench.Offer   // what the stock offers
	strings map[string]seam.StringMeasures // what was measured on the string of a number
	history map[bench.Likeness]fit.History // what a look back finds; without its handling
}

func setup(t testing.TB) *bench.Setup {
	t.Helper()
	book, err := catalogue.Embedded()
	require.NoError(t, err)
	patterns, err := bands.Embedded()
	require.NoError(t, err)
	pattern, ok := patterns.Named("federal")
	require.True(t, ok)
	return &bench.Setup{
		Book: book, Catalogue: "us-federal", Model: fit.DefaultModel(), Pattern: pattern, Readings: 3,
		Place:      fit.Place{ReadablePart: 0.5},
		AbsurdOver: 60 * length.Millimetre,
	}
}

// morning is when every test begins.
func morning() time.Time { return time.Date(2031, 5, 17, 6, 40, 0, 0, time.UTC) }

func shift() *bench.Shift {
	return &bench.Shift{ID: "shift", Started: morning(), Place: "Hollow Skerry", Bander: "Mira Tolland", Permit: "P-77"}
}

func options() station.Options {
	return station.Options{HandlingLimit: 10 * time.Minute, ClosingsLimit: 4}
}

// newRig opens a station on an open shift without birds.
func newRig(t testing.TB) *rig {
	t.Helper()
	return open(t, bench.State{Setup: setup(t), Shift: shift()}, options())
}

// training opens a training run, at its cautions.
func training(t testing.TB) *rig {
	t.Helper()
	o := options()
	o.Trainer = drill.ThreeBirds()
	return open(t, bench.State{Setup: setup(t)}, o)
}

func open(t testing.TB, start bench.State, o station.Options) *rig {
	r := &rig{t: t, at: morning(), standing: map[string]bench.Standing{}, records: map[string]bench.Handling{}}
	r.s = station.NewState(start, o, r.at)
	r.send(station.Resize{Moment: r.moment(), Width: 80, Height: 24})
	r.send(station.Linked{Moment: r.moment(), Device: station.Caliper, Open: true})
	return r
}

func (r *rig) moment() station.Moment { return station.Moment{At: r.at} }

// send has one event handled, and its effects run.
func (r *rig) send(e station.Event) {
	var effects []station.Effect
	r.s, effects = station.Update(r.s, e)
	for _, effect := range effects {
		r.run(effect)
	}
}

func (r *rig) run(effect station.Effect) {
	switch e := effect.(type) {
	case station.Save:
		r.answer(r.save(e.Facts))
	case station.LookUp:
		r.answer(station.LookedUp{Moment: r.moment(), Ticket: e.Ticket, Standing: r.standing[e.Number]})
	case station.Reload:
		r.answer(station.Reloaded{Moment: r.moment(), Handling: e.Handling, Record: r.records[e.Handling]})
	case station.LookBack:
		like := e.Like
		like.Except = ""
		r.answer(station.LookedBack{Moment: r.moment(), Like: e.Like, History: r.history[like]})
	case station.Trace:
		tracks := r.tracks[e.Inscription]
		tracks.Inscription = e.Inscription
		r.answer(station.Traced{Moment: r.moment(), Tracks: tracks})
	case station.AskStock:
		r.answer(station.Offered{Moment: r.moment(), Tubing: e.Tubing, Offer: r.offers[e.Tubing]})
	case station.AskString:
		r.answer(station.StringTold{Moment: r.moment(), Number: e.Number, Measures: r.strings[e.Number]})
	case station.Squeeze:
		width := e.Width
		if r.squeezed < len(r.noise) {
			width += r.noise[r.squeezed]
		}
		r.squeezed++
		r.reading(width)
	case station.Bell:
		r.bells = append(r.bells, e.Kind)
	case station.Quit:
		r.quit = true
	}
}

func (r *rig) save(facts []bench.Fact) station.Event {
	if r.failing != nil {
		if failed := r.failing(facts); failed != nil {
			failed.Moment, failed.Count = r.moment(), len(facts)
			return *failed
		}
	}
	r.saved = append(r.saved, facts...)
	return station.Saved{Moment: r.moment(), Count: len(facts)}
}

func (r *rig) answer(e station.Event) {
	if r.hold {
		r.waiting = append(r.waiting, e)
		return
	}
	r.send(e)
}

// letGo delivers the answers that were held.
func (r *rig) letGo() {
	r.hold = false
	for len(r.waiting) > 0 {
		e := r.waiting[0]
		r.waiting = r.waiting[1:]
		r.send(e)
	}
}

// wait lets time pass, with a tick each second.
func (r *rig) wait(d time.Duration) *rig {
	for d >= time.Second {
		r.at = r.at.Add(time.Second)
		d -= time.Second
		r.send(station.Tick{Moment: r.moment()})
	}
	r.at = r.at.Add(d)
	r.send(station.Tick{Moment: r.moment()})
	return r
}

func (r *rig) press(code station.Code, char rune) {
	r.ids++
	r.send(station.Key{Moment: r.moment(), ID: fmt.Sprintf("id-%d", r.ids), Code: code, Rune: char})
}

// names are the keys that keys() knows beside characters.
func names() map[string]station.Code {
	return map[string]station.Code{
		"Enter": station.CodeEnter, "Tab": station.CodeTab, "BackTab": station.CodeBackTab, "Up": station.CodeUp, "Down": station.CodeDown,
		"Left": station.CodeLeft, "Right": station.CodeRight, "Backspace": station.CodeBackspace, "Esc": station.CodeEscape,
		"F1": station.CodeF1, "F2": station.CodeF2, "F3": station.CodeF3, "F4": station.CodeF4, "F5": station.CodeF5, "F6": station.CodeF6,
		"F7": station.CodeF7, "F8": station.CodeF8, "F9": station.CodeF9,
	}
}

// keys presses keys as a person does: named ones, "Ctrl+x", and texts
// character by character, with time to breathe between.
func (r *rig) keys(all ...string) *rig {
	for _, k := range all {
		if code, ok := names()[k]; ok {
			r.press(code, 0)
			r.wait(time.Second)
			continue
		}
		if letter, ok := strings.CutPrefix(k, "Ctrl+"); ok {
			r.press(station.CodeControl, rune(letter[0]))
			r.wait(time.Second)
			continue
		}
		for _, char := range k {
			r.press(station.CodeRune, char)
			r.wait(150 * time.Millisecond)
		}
		r.wait(850 * time.Millisecond)
	}
	return r
}

// burst sends characters as a scanner that types does, and Enter.
func (r *rig) burst(text string, gap time.Duration) *rig {
	for _, char := range text {
		r.press(station.CodeRune, char)
		r.at = r.at.Add(gap)
	}
	r.press(station.CodeEnter, 0)
	return r.wait(time.Second)
}

// reading brings a reading from the caliper.
func (r *rig) reading(width length.Length) *rig {
	text := width.Format(length.MM, 2)
	value, step, err := length.Parse(text, length.MM)
	require.NoError(r.t, err)
	r.send(station.Read{Moment: r.moment(), Reading: device.Reading{
		Raw: []byte("+" + text), Value: value, Unit: length.MM, Resolution: step, At: r.at, Device: "caliper",
	}})
	return r
}

// readings brings readings in hundredths of a millimetre.
func (r *rig) readings(hundredths ...int) *rig {
	for _, w := range hundredths {
		r.reading(length.Length(w) * 10 * length.Micrometre)
		r.wait(time.Second)
	}
	return r
}

// screen draws the state at its size.
func (r *rig) screen() *grid.Grid {
	g := grid.New(r.s.Width, r.s.Height)
	station.View(r.s, g)
	return g
}

// text returns what the screen says, as one line: where a sentence is broken
// does not matter.
func (r *rig) text() string { return strings.Join(strings.Fields(r.screen().String()), " ") }

func (r *rig) shows(parts ...string) *rig {
	r.t.Helper()
	text := r.text()
	for _, part := range parts {
		require.Containsf(r.t, text, part, "the screen does not show %q", part)
	}
	return r
}

func (r *rig) hides(parts ...string) *rig {
	r.t.Helper()
	text := r.text()
	for _, part := range parts {
		require.NotContainsf(r.t, text, part, "the screen shows %q", part)
	}
	return r
}

// bird returns the handling on the desk.
func (r *rig) bird() bench.Handling {
	r.t.Helper()
	h, ok := r.s.Bench.ActiveHandling()
	require.True(r.t, ok, "no bird on the desk")
	return h
}

// Birds that tests begin with, each a step further than the one before.

func (r *rig) told() *rig {
	r.keys("F2", "common tern", "Enter", "a", "f", "r")
	require.Equal(r.t, "Sterna hirundo", r.bird().Bird.Species)
	return r
}

func (r *rig) measured() *rig { return r.told().readings(302, 301, 303) }

func (r *rig) sized() *rig { return r.measured().keys("1", "a") }

func (r *rig) numbered() *rig { return r.sized().keys("1232-40001", "Enter") }

func (r *rig) flush() *rig { return r.numbered().keys("f") }

func (r *rig) confirmed() *rig { return r.flush().keys("e", "r", "a", "i", "001", "Enter") }

func (r *rig) fated() *rig { return r.confirmed().keys("F8", "b") }

func (r *rig) completed() *rig { return r.fated().keys("Enter") }
