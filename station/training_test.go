package station_test

import (
	"regexp"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/bands"
	"seamfit/internal/bench"
	"seamfit/internal/length"
	"seamfit/station"
)

// act is one thing that a newcomer does after reading the coach.
type act struct {
	coach string // what the screen must say before
	keys  []string
}

// The training run goes through by doing what the screen says, and nothing
// else.
func TestThreeBirdsByReadingTheScreen(t *testing.T) {
	r := training(t)
	r.noise = []length.Length{
		10_000, -10_000, 0, // the easy bird
		0, 10_000, 0, // the borderline one
		-10_000, 0, 10_000, // the one whose first band overlaps
	}
	confirm := func(number, tail string) []act {
		return []act{
			{"State each point", []string{"e", "r", "a", "i"}},
			{"On the metal you read " + number, []string{tail, "Enter"}},
			{"Let the bird go with F8", []string{"F8", "b"}},
			{"completes the record", []string{"F9"}},
		}
	}
	play := func(acts ...act) {
		for _, a := range acts {
			r.shows(a.coach).keys(a.keys...)
		}
	}
	play(
		act{"This is a training run", []string{"Enter"}},
		act{"common tern, adult, from the first net", []string{"F2"}},
		act{`Type "common tern"`, []string{"common tern", "Enter"}},
		act{"age a, then sex u, then the right leg, r", []string{"a", "u", "r"}},
		act{"The space bar squeezes it", []string{" "}},
		act{"squeeze again: space", []string{" ", " "}},
		act{"take it with 1, then a", []string{"1", "a"}},
		act{"1232-40001: type it", []string{"1232-40001", "Enter"}},
		act{"This look is flush. Key: f", []string{"f"}},
	)
	play(confirm("1232-40001", "001")...)
	require.True(t, r.bird().Done())
	play(
		act{"A piping plover", []string{"F2"}},
		act{`Type "piping"`, []string{"piping", "Enter"}},
		act{"age a, then sex f", []string{"a", "f", "r"}},
		act{"The space bar", []string{" ", " ", " "}},
		act{"tight end of size 1B", []string{"1", "a"}},
		act{"1231-77051: type it", []string{"1231-77051", "Enter"}},
		act{"That is a gap. Its key, then Enter", []string{"g", "Enter"}},
		act{"This look is flush. Key: f", []string{"f"}},
	)
	play(confirm("1231-77051", "051")...)
	assert.Equal(t, "1A", r.bird().Choice.Size)
	assert.Equal(t, "fits", r.bird().Choice.Verdict)
	play(
		act{"A herring gull", []string{"F2"}},
		act{`Type "herring"`, []string{"herring", "Enter"}},
		act{"age a, then sex u", []string{"a", "u", "r"}},
		act{"The space bar", []string{" ", " ", " "}},
		act{"Size 6 fits: 1", []string{"1", "Enter"}},
		act{"1236-56701: type it", []string{"1236-56701", "Enter"}},
		act{"That is an overlap. Its key, then Enter", []string{"o", "Enter"}},
		act{"The spreaders do not go in", []string{"F6", "overlap, spreaders do not go in", "Enter"}},
		act{"The next one on the tubing is 1236-56702", []string{"1236-56702", "Enter"}},
		act{"This look is flush. Key: f", []string{"f"}},
	)
	play(confirm("1236-56702", "702")...)
	r.shows("this is how every bird goes")

	last := r.bird()
	assert.True(t, last.Done())
	assert.Equal(t, "stainless steel", last.Choice.Metal)
	require.Len(t, last.Bands, 2)
	assert.Equal(t, bands.Destroyed, last.Bands[0].State)
	assert.Equal(t, "overlap, spreaders do not go in", last.Bands[0].Reason)
	assert.Equal(t, bands.OnBird, last.Bands[1].State)
	complete := 0
	for _, f := range r.saved {
		if _, ok := f.(bench.Completed); ok {
			complete++
		}
		if opened, ok := f.(bench.ShiftOpened); ok {
			assert.True(t, opened.Shift.Training)
		}
	}
	assert.Equal(t, 3, complete, "three records")
	r.keys("F2").shows("A common tern").keys("Ctrl+q", "y")
	assert.True(t, r.quit)
}

// A newcomer who tells another bird hears it at once, and mends it by doing
// what the screen says.
func TestTheCoachSaysThatAnotherBirdWasTold(t *testing.T) {
	r := training(t).keys("Enter", "F2", "herring", "Enter")
	r.shows("Told wrongly: species Herring Gull, and it is Common Tern (s). It can be told anew after the leg.", "age a, then sex u")
	r.keys("a", "u", "r").shows("Told wrongly: species Herring Gull", "Go to the step bird with Shift+Tab")
	r.keys("BackTab", "s", "common tern", "Enter").hides("Told wrongly").shows("The space bar squeezes it")
}

// The coach finds its place again after a restart, in the middle of the
// second bird.
func TestCoachGoesOnAfterARestart(t *testing.T) {
	r := training(t).keys("Enter", "F2", "common tern", "Enter", "a", "u", "r", " ", " ", " ", "1", "a", "1232-40001", "Enter", "f",
		"e", "r", "a", "i", "001", "Enter", "F8", "b", "F9", "F2", "piping", "Enter", "a", "f", "r", " ")
	o := options()
	o.Trainer, o.Earlier, o.Numbers = r.s.Options.Trainer, 2, map[string]int{r.bird().ID: 2}
	again := open(t, r.s.Bench, o)
	again.shows("TRAINING", "2 Piping Plover", "squeeze again: space").keys(" ", " ").shows("tight end of size 1B")
	assert.Equal(t, station.StepSize, again.s.Desk.Step)
}

// Whatever the newcomer does, the coach says something, and its lines have
// room on the least screen together with what they are about.
func TestCoachFitsTheScreen(t *testing.T) {
	r := training(t).keys("Enter")
	marks := regexp.MustCompile(`»`)
	for _, k := range []string{
		"F2", "common tern", "Enter", "a", "u", "r", " ", " ", " ", "1", "a", "1232-40001", "Enter", "g", "Enter", "f", "e", "r", "a", "i", "999", "Enter", "001", "Enter", "F8", "b", "Enter",
	} {
		r.keys(k)
		assert.NotEmpty(t, marks.FindString(r.text()), "after %q", k)
	}
	r.wait(time.Second)
}

// A coach that has shown a gap does not take "flush" for an answer, nor a size
// that is not the one for the leg.
func TestTheCoachObjectsToAGapThatIsToldAsFlush(t *testing.T) {
	first := []string{"Enter", "F2", "common tern", "Enter", "a", "u", "r", " ", " ", " ", "1", "a", "1232-40001", "Enter", "f", "e", "r", "a", "i", "001", "Enter", "F8", "b", "F9"}
	r := training(t).keys(first...).keys("F2", "piping", "Enter", "a", "f", "r", " ", " ", " ", "2", "a", "it was at hand", "Enter")
	r.shows("You took size 1B. Look at the ruler", "Shift+Tab goes back to the size")
	r.keys("BackTab", "1", "a").hides("You took size").keys("1231-77051", "Enter").shows("That is a gap. Its key")
	r.keys("f").shows("You told it as flush. Look again: The edges stand apart by a hair")
	r.keys("e", "r", "a", "i", "051", "Enter").shows("You told it as flush").hides("the seam is sound")
	r.keys("BackTab")
	for r.s.Desk.Step != station.StepSeam {
		r.keys("Tab")
	}
	r.keys("l", "g", "Enter").shows("The edges meet all round").keys("f").shows("State each point with its own key")
	r.keys("e", "r", "a", "i", "051", "Enter").shows("the seam is sound")
}
