package station_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/bench"
	"seamfit/station"
)

const scanned = "1232-40001"

func number(r *rig) string {
	band, _ := r.bird().CurrentBand()
	return band.Number
}

// A scanner that types is heard at every step, in every text, and what was
// being typed stays.
func TestScanFillsTheNumberAtEveryStep(t *testing.T) {
	for name, r := range map[string]*rig{
		"species, empty":      newRig(t).keys("F2"),
		"species, half typed": newRig(t).keys("F2", "herr"),
		"age":                 newRig(t).keys("F2", "herring", "Enter"),
		"leg":                 newRig(t).told(),
		"typed width":         newRig(t).told().keys("t", "3.0"),
		"size":                newRig(t).measured(),
		"metal":               newRig(t).measured().keys("1"),
		"size reason":         newRig(t).measured().keys("2", "a", "because"),
		"number":              newRig(t).sized(),
		"number, half typed":  newRig(t).sized().keys("999"),
		"seam without a band": newRig(t).sized().keys("Tab"),
		"fate":                newRig(t).sized().keys("BackTab", "BackTab", "BackTab", "BackTab"),
		"incident":            newRig(t).told().keys("F5", "s", "pant"),
		"keys page":           newRig(t).told().keys("F1"),
	} {
		for _, gap := range []time.Duration{0, 12 * time.Millisecond, 45 * time.Millisecond} {
			t.Run(name+" "+gap.String(), func(t *testing.T) {
				again := *r
				again.t = t
				typed := again.s.Desk.Typed
				again.burst(scanned, gap)
				assert.Equal(t, scanned, number(&again))
				if again.s.Desk.Ask != station.AskStep || again.s.Desk.Step == station.StepBird {
					assert.Equal(t, typed, again.s.Desk.Typed)
				}
			})
		}
	}
}

func TestKeysOfAPersonAreNoScan(t *testing.T) {
	r := newRig(t).told().burst(scanned, 150*time.Millisecond)
	assert.Empty(t, number(r), "at the leg step nobody types a number")
	r = newRig(t).sized().burst(scanned, 150*time.Millisecond)
	assert.Equal(t, scanned, number(r), "at the number step it is typed, and Enter ends it")
}

func TestBurstThatIsNoNumberIsNotTaken(t *testing.T) {
	r := newRig(t).numbered().burst("gofstr", 8*time.Millisecond)
	assert.Empty(t, r.bird().Closings)
	assert.Empty(t, r.s.Desk.Marked)
	r.shows("Several keys came at once")
	assert.Equal(t, station.BellRefusal, r.bells[len(r.bells)-1])
}

// No statement is made but by its own key, pressed by itself: not by a burst,
// a key held down, a reading, a scan, pasted text, or the wrong key.
func TestNothingButItsKeyMakesAStatement(t *testing.T) {
	for name, act := range map[string]func(*rig){
		"burst of the right keys": func(r *rig) { r.burst("erai", 8*time.Millisecond) },
		"burst with a number":     func(r *rig) { r.burst("1232-40001", 8*time.Millisecond) },
		"reading":                 func(r *rig) { r.readings(302, 301) },
		"scan":                    func(r *rig) { r.send(station.Scanned{Moment: r.moment(), ID: "scan", Text: "erai"}) },
		"paste":                   func(r *rig) { r.send(station.Paste{Moment: r.moment(), Text: "e\nr\na\ni\n"}) },
		"all the wrong keys":      func(r *rig) { r.keys("b", "c", "d", "g", "h", "j", "k", "m", "n", "o") },
		"Enter":                   func(r *rig) { r.keys("Enter", "Enter") },
	} {
		t.Run(name, func(t *testing.T) {
			r := newRig(t).flush()
			act(r)
			assert.Empty(t, r.bird().Confirmation.Statements)
			assert.Empty(t, r.bird().Confirmation.ReadBack)
		})
	}
}

// A key held down comes about thirty times a second after half a second
// [practice]: it answers once.
func TestHeldKeyAnswersOnce(t *testing.T) {
	hold := func(r *rig, char rune) {
		r.press(station.CodeRune, char)
		r.wait(500 * time.Millisecond)
		for range 60 {
			r.press(station.CodeRune, char)
			r.at = r.at.Add(33 * time.Millisecond)
		}
		r.wait(time.Second)
	}
	r := newRig(t).flush()
	hold(r, 'e')
	assert.Equal(t, []string{"edges"}, r.bird().Confirmation.Statements)

	r = newRig(t).numbered()
	hold(r, 'g')
	assert.Equal(t, []string{"gap"}, r.s.Desk.Marked, "marked once, not marked and taken away again")

	r = newRig(t).numbered()
	hold(r, 'f')
	assert.Len(t, r.bird().Closings, 1)
	assert.Empty(t, r.bird().Confirmation.Statements)
}

func TestEnterHeldDownNeverCompletes(t *testing.T) {
	r := newRig(t).confirmed().keys("F8", "e", "gone")
	for range 40 {
		r.press(station.CodeEnter, 0)
		r.at = r.at.Add(33 * time.Millisecond)
	}
	require.NotNil(t, r.bird().Fate)
	assert.False(t, r.bird().Complete)
}

func TestScannersThatAreSetToSendMore(t *testing.T) {
	start := bench.State{Setup: setup(t), Shift: shift()}
	t.Run("line feed after Enter", func(t *testing.T) {
		r := newRig(t).sized()
		r.burst(scanned, 0)
		r.press(station.CodeControl, 'j')
		r.wait(time.Second)
		assert.Equal(t, scanned, number(r))
		assert.Equal(t, station.StepSeam, r.s.Desk.Step, "the line feed is not a second Enter")
	})
	t.Run("line feed alone", func(t *testing.T) {
		r := newRig(t).sized()
		for _, char := range scanned {
			r.press(station.CodeRune, char)
		}
		r.press(station.CodeControl, 'j')
		assert.Equal(t, scanned, number(r))
	})
	t.Run("tab instead of Enter", func(t *testing.T) {
		r := newRig(t).measured()
		for _, char := range scanned {
			r.press(station.CodeRune, char)
		}
		r.press(station.CodeTab, 0)
		assert.Equal(t, scanned, number(r))
		assert.Equal(t, station.StepSize, r.s.Desk.Step, "the tab is the scan's end, not a step")
	})
	t.Run("start and end of text around", func(t *testing.T) {
		r := newRig(t).measured().keys("F2", "herr")
		second := r.bird().ID
		r.press(station.CodeControl, 'b')
		for _, char := range scanned {
			r.press(station.CodeRune, char)
		}
		r.press(station.CodeControl, 'c')
		r.press(station.CodeEnter, 0)
		assert.Equal(t, second, r.bird().ID, "no other bird is taken up")
		assert.Equal(t, scanned, number(r))
		assert.Equal(t, "herr", r.s.Desk.Typed)
	})
	t.Run("end of text", func(t *testing.T) {
		r := newRig(t).told().keys("Ctrl+c", "Ctrl+c")
		assert.False(t, r.quit)
		assert.Equal(t, station.Staying, r.s.Leaving)
	})
	t.Run("prefix and suffix", func(t *testing.T) {
		o := options()
		o.ScanPrefix, o.ScanSuffix = "\x02#", "\x03"
		r := open(t, start, o).keys("F2", "herr")
		r.press(station.CodeControl, 'b')
		r.press(station.CodeRune, '#')
		for _, char := range scanned { // slowly: the prefix decides, not the time
			r.press(station.CodeRune, char)
			r.wait(300 * time.Millisecond)
		}
		r.press(station.CodeControl, 'c')
		r.press(station.CodeEnter, 0)
		assert.Equal(t, scanned, number(r))
		assert.Equal(t, "herr", r.s.Desk.Typed)
		r.keys("F3")
		assert.Equal(t, "herr", r.s.Desk.Typed)
	})
	t.Run("prefix that nothing follows", func(t *testing.T) {
		o := options()
		o.ScanPrefix = "#"
		r := open(t, start, o).keys("F2", "herr#").wait(4*time.Second).keys("ing", "Enter")
		assert.Equal(t, "Larus argentatus", r.bird().Bird.Species)
	})
	t.Run("with a prefix set, timing decides nothing", func(t *testing.T) {
		o := options()
		o.ScanPrefix = "#"
		r := open(t, start, o).keys("F2", "herring", "Enter").burst(scanned, 0)
		assert.Empty(t, number(r))
	})
}

func TestScanIsNoReadBack(t *testing.T) {
	r := newRig(t).flush().keys("e", "r", "a", "i")
	r.burst(scanned, 5*time.Millisecond)
	assert.Empty(t, r.bird().Confirmation.ReadBack)
	r.shows("A scan is no read-back")
	r.send(station.Scanned{Moment: r.moment(), ID: "scan", Text: scanned})
	assert.Empty(t, r.bird().Confirmation.ReadBack)
	r.send(station.Paste{Moment: r.moment(), Text: "001"})
	r.keys("Enter")
	assert.Empty(t, r.bird().Confirmation.ReadBack, "pasted")
	r.keys("001", "Enter")
	assert.Equal(t, "001", r.bird().Confirmation.ReadBack)
}

func TestPasteGoesOnlyIntoText(t *testing.T) {
	r := newRig(t).keys("F2")
	r.send(station.Paste{Moment: r.moment(), Text: "common\r\ntern\x1b[2J\t"})
	assert.Equal(t, "common tern[2J", r.s.Desk.Typed, "one line, without control characters, and not taken yet")
	assert.Empty(t, r.bird().Bird.Species)
	r = newRig(t).sized()
	r.send(station.Paste{Moment: r.moment(), Text: scanned + "\r"})
	assert.Empty(t, number(r), "pasted text is never a scan")
	assert.Equal(t, scanned, r.s.Desk.Typed)
	r.keys("Enter")
	assert.Equal(t, scanned, number(r))
}

func TestTextFieldsAreBounded(t *testing.T) {
	r := newRig(t).keys("F2")
	for range 400 {
		r.press(station.CodeRune, 'a')
		r.at = r.at.Add(100 * time.Millisecond)
	}
	assert.LessOrEqual(t, len(r.s.Desk.Typed), 200)
	r.keys("Ctrl+u")
	assert.Empty(t, r.s.Desk.Typed)
	r.keys("éa", "Backspace", "Backspace", "Backspace")
	assert.Empty(t, r.s.Desk.Typed, "a character at a time")
}
