package station_test

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"seamfit/internal/bench"
	"seamfit/internal/drill"
	"seamfit/internal/grid"
	"seamfit/station"
)

// workshop opens a training run of a level, past its cautions.
func workshop(t testing.TB, seed uint64, level int) *rig {
	t.Helper()
	scenario, err := drill.NewScenario(seed, level)
	require.NoError(t, err)
	o := options()
	o.Trainer = scenario
	return open(t, bench.State{Setup: setup(t)}, o).keys("Enter")
}

// onLeg goes on to the pliers: the bird told, measured, its band taken.
func (r *rig) onLeg(species, metalKey string) *rig {
	r.t.Helper()
	r.keys("F2", species, "Enter")
	age, sex := r.word("You see: age ", 1), r.word(", sex ", 1)
	r.keys(age, sex, "r", " ", " ", " ", "1", metalKey)
	r.keys(r.tubing(), "Enter")
	_, taken := r.bird().CurrentBand()
	require.True(r.t, taken, r.text())
	return r
}

// tubing reads the next number off the screen, as a trainee does.
func (r *rig) tubing() string { return r.word("The next band on the tubing is ", numberLetters) }

func (r *rig) metal() string { return r.word("On the metal stands ", numberLetters) }

// numberLetters is how long a number of the run is.
const numberLetters = len("1232-40001")

// word returns so many letters of what stands behind certain words.
func (r *rig) word(after string, letters int) string {
	r.t.Helper()
	var number string
	text := r.text()
	for i := range text {
		if _, err := fmt.Sscanf(text[i:], after+"%s", &number); err == nil {
			return number[:letters]
		}
	}
	require.Failf(r.t, "not on the screen", "%q in %s", after, text)
	return ""
}

// at sets the pliers 1 mm from the edge.
func (r *rig) atEdge() *rig {
	r.keys("-", "-", "-", "-", "-", "-", "-", "-", "+", "+")
	return r.shows("1.0 mm")
}

// confirmedAndGone states what is to be stated, reads the number back, and
// tells the fate.
func (r *rig) confirmedAndGone() *rig {
	number := r.metal()
	return r.keys("e", "r", "a", "i", number[len(number)-3:], "Enter", "F8", "b", "F9")
}

// Level 1 played to its end by keys, from what the screen says: both seams are
// closed flush, and nothing is left to practise.
func TestTrainingRunPlayedWell(t *testing.T) {
	r := workshop(t, 3, 1)
	for _, species := range []string{"common tern", "snowy plover"} {
		r.onLeg(species, "a").shows("nobody says how it looks", "squeeze until the edges meet, turn the pliers")
		r.atEdge().keys("2", "m").shows("1.0 mm mid")
		r.keys("3", "m", "l").hides("gap:", "To mend")
		r.keys("f").confirmedAndGone()
		require.True(t, r.bird().Done(), r.text())
		r.hides("wears a band with")
	}
	r.shows("s shows how it went").keys("s").shows("How it went", "In all: 100 of 100", "Nothing stands out to practise", "It is no licence")
	r.keys("x").hides("How it went")
}

// Whoever always answers flush lets birds go with bad bands, is told what that
// does to them, and fails.
func TestAlwaysAnsweringFlushFails(t *testing.T) {
	r := workshop(t, 3, 2)
	for range 2 {
		r.onLeg(named(r), "s").atEdge().keys("2", "g", "l", "f").confirmedAndGone()
		require.True(t, r.bird().Done(), r.text())
		r.shows("wears a band with a gap: threads and grass catch in it")
	}
	r.keys("s").shows("seam 0 of 40", "Practise: seeing a gap").hides("100 of 100")
}

// Whoever tells another bird hears it at level 1 at once, and in the score of
// every level; a corrected record is a whole one.
func TestTellingAnotherBirdIsScored(t *testing.T) {
	for level := 1; level <= drill.Levels; level++ {
		r := workshop(t, 3, level).keys("F2", "razorbill", "Enter")
		age, sex := r.word("You see: age ", 1), r.word(", sex ", 1)
		if level == 1 {
			r.shows("Told wrongly: species Razorbill, and it is Common Tern (s)")
		} else {
			r.hides("Told wrongly")
		}
		r.keys(age, sex, "r", "F8")
		for r.s.Desk.Step != station.StepFate {
			r.keys("Tab")
		}
		r.keys("u", "restless", "Enter", "F9").shows("is complete")
		r.shows("its species was told as Razorbill").keys("s").shows("record 20 of 25", "telling the bird as it is: species")
	}
	r := workshop(t, 3, 1).keys("F2", "razorbill", "Enter")
	r.keys(r.word("You see: age ", 1), r.word(", sex ", 1), "r", "F8", "Esc")
	for r.s.Desk.Step != station.StepFate {
		r.keys("Tab")
	}
	r.keys("u", "restless", "Enter", "F9", "c", "misread", "Enter", "s", "common tern", "Enter", "s").shows("record 25 of 25")
}

// named returns letters that find the bird that the screen announces.
func named(r *rig) string {
	r.t.Helper()
	for name, letters := range map[string]string{
		"Common Tern": "common tern", "Piping Plover": "piping", "Snowy Plover": "snowy plover", "Herring Gull": "herring",
		"Great Black-backed Gull": "great black-backed", "Ring-billed Gull": "ring-billed", "Atlantic Puffin": "atlantic puffin",
	} {
		if strings.Contains(r.text(), ": "+name+", ") {
			return letters
		}
	}
	require.Fail(r.t, "no bird is announced", r.text())
	return ""
}

// An overlap that was made is seen, told, and mended with the pliers, or the
// band comes off and another one is closed; the score tells what it cost.
func TestMendingAndTakingOff(t *testing.T) {
	r := workshop(t, 5, 1).onLeg("common tern", "a").atEdge().keys("2", "h").shows("A click: an edge has slipped past the other")
	r.keys("l", "o", "Enter").shows("closing 1: overlap")
	r.keys("1", "n", "3", "n").shows("The second click")
	r.keys("l", "f").shows("State each point")
	// Closed once more, past what it springs: the confirmation is void, and the pliers sit
	// too far in to mend it.
	r.keys("l", "p", "l", "o", "Enter", "+", "+", "+", "+", "1", "n", "n", "n", "n").shows("The overlap grows")
	r.keys("o").shows("The spreaders do not go in")
	r.keys("F6", "spreaders do not go in", "Enter")
	r.keys(r.tubing(), "Enter").atEdge().keys("2", "m", "3", "m", "l", "f").confirmedAndGone()
	require.True(t, r.bird().Done(), r.text())
	r.keys("s").shows("Bird 1, Common Tern: size 25 of 25, seam 36 of 40")
}

// A level-3 band is twisted or holds a feather from the start; it is mended by
// what is heard and seen.
func TestFlawedBands(t *testing.T) {
	flawed := 0
	for seed := range uint64(6) {
		r := workshop(t, seed, 3)
		r.onLeg(named(r), "i").atEdge().keys("1", "m", "2", "m", "3", "m", "l")
		text := r.screen().String()
		switch {
		case strings.Contains(text, "~~~"):
			flawed++
			r.keys("c", "Enter", "o", "1", "m", "2", "m", "3", "m", "1", "m", "3", "m", "l", "f")
		case twisted(text):
			flawed++
			r.keys("s", "Enter", "s", "l", "f")
		default:
			r.keys("f")
		}
		r.confirmedAndGone()
		r.hides("wears a band with")
	}
	assert.Positive(t, flawed)
}

// twisted reports whether the drawing's edges are out of line: a row of it
// ends at the seam.
func twisted(screen string) bool {
	g := []rune(screen)
	for i := range len(g) - 2 {
		if g[i] == '░' && g[i+1] == '│' && g[i+2] == ' ' {
			return true
		}
	}
	return false
}

// The screen never says what is wrong with a seam before it was told.
func TestTheSeamIsShownUnlabelled(t *testing.T) {
	r := workshop(t, 3, 2)
	r.onLeg(named(r), "s").atEdge().keys("2", "m", "l")
	r.shows("What do you see?", "nothing wrong").hides("To mend", "as it should look", "Close it")
}

func TestTrainingScreens(t *testing.T) {
	work := workshop(t, 3, 1).onLeg("common tern", "a").atEdge()
	for name, r := range map[string]*rig{
		"training-pliers":      work.keys("2", "m"),
		"training-pliers-look": workshop(t, 3, 1).onLeg("common tern", "a").atEdge().keys("2", "m", "l", "g"),
		"training-score":       workshop(t, 3, 1).onLeg("common tern", "a").atEdge().keys("2", "g", "l", "f").confirmedAndGone().keys("s"),
		"training-aftermath":   workshop(t, 3, 1).onLeg("common tern", "a").atEdge().keys("2", "g", "l", "f").confirmedAndGone(),
	} {
		golden(t, "80x24/"+name, r.screen().String())
	}
}

// The same seed and keys show the same screens; whatever the keys, the view
// stays whole and no record is complete without its confirmation.
func TestTrainingWithAnyKeys(t *testing.T) {
	set := setup(t)
	rapid.Check(t, func(rt *rapid.T) {
		seed, level := rapid.Uint64().Draw(rt, "seed"), rapid.IntRange(1, drill.Levels).Draw(rt, "level")
		keys := rapid.SliceOfN(rapid.SampledFrom([]rune("123+-gmphnsolfgostubcmeraid 0\n\b8265b9")), 0, 60).Draw(rt, "keys")
		play := func() string {
			scenario, err := drill.NewScenario(seed, level)
			require.NoError(rt, err)
			o := options()
			o.Trainer = scenario
			r := open(t, bench.State{Setup: set}, o).keys("Enter")
			r.onLeg(named(r), map[bool]string{true: "a", false: "s"}[level == 1])
			for _, k := range keys {
				switch k {
				case '\n':
					r.keys("Enter")
				case '\b':
					r.keys("Backspace")
				case '8', '6', '5', '9':
					r.keys("F" + string(k))
				default:
					r.keys(string(k))
				}
				for _, h := range r.s.Bench.Handlings {
					require.False(rt, h.Complete && len(bench.Blockers(h, set.Book)) > 0)
				}
			}
			return r.screen().String()
		}
		require.Equal(rt, play(), play())
	})
}

func BenchmarkTrainingFrame(b *testing.B) {
	r := workshop(b, 3, 2)
	r.onLeg(named(r), "s").keys("2", "m", "3", "m", "1", "m")
	g := grid.New(80, 24)
	rnd := rand.New(rand.NewPCG(1, 2))
	for b.Loop() {
		var s station.State
		s, _ = station.Update(r.s, station.Key{Moment: station.Moment{At: r.at.Add(time.Second)}, Code: station.CodeRune, Rune: []rune("123")[rnd.IntN(3)]})
		station.View(s, g)
	}
}
