package drill_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/bands"
	"seamfit/internal/bench"
	"seamfit/internal/catalogue"
	"seamfit/internal/drill"
	"seamfit/internal/fit"
	"seamfit/internal/length"
)

func state(t *testing.T) bench.State {
	t.Helper()
	book, err := catalogue.Embedded()
	require.NoError(t, err)
	patterns, err := bands.Embedded()
	require.NoError(t, err)
	pattern, _ := patterns.Named("federal")
	shift := drill.ThreeBirds().Shift()
	return bench.State{Shift: &shift, Setup: &bench.Setup{
		Book: book, Catalogue: "us-federal", Model: fit.DefaultModel(), Pattern: pattern, Readings: 3, AbsurdOver: 60 * length.Millimetre,
	}}
}

// measured is a bird of the script with its leg read as the script has it.
func measured(t *testing.T, script *drill.Script, n int, species string) (bench.Handling, bench.State) {
	t.Helper()
	s := state(t)
	var blockers []bench.Blocker
	s, _, blockers = bench.Apply(s, bench.OpenBird{ID: "b", Bird: bench.Bird{Species: species, Age: "adult", Leg: bench.LegRight}})
	require.Empty(t, blockers)
	for range 3 {
		s, _, blockers = bench.Apply(s, bench.TakeReading{
			Means: bench.MeansCaliper, Value: script.Leg(n), Unit: length.MM, Resolution: 10 * length.Micrometre,
		})
		require.Empty(t, blockers)
	}
	h, _ := s.ActiveHandling()
	return h, s
}

// Each bird of the run is what it is said to be by the bench's own verdicts.
func TestBirdsAreWhatTheyAreSaidToBe(t *testing.T) {
	script := drill.ThreeBirds()
	require.Equal(t, 3, script.Birds())
	for n, want := range []struct {
		species, best string
		near          string // a listed size that is borderline
	}{{"Sterna hirundo", "2", ""}, {"Charadrius melodus", "1A", "1B"}, {"Larus argentatus", "6", ""}} {
		h, s := measured(t, script, n+1, want.species)
		result, err := s.Fit(h)
		require.NoError(t, err)
		assert.Equal(t, want.best, result.Best, want.species)
		assert.Equal(t, want.best, result.Sizes[0].Size, "it stands first, so that key 1 takes it")
		for _, c := range result.Sizes {
			if c.Size == want.best {
				assert.Equal(t, fit.Fits, c.Verdict, want.species)
			}
			if c.Size == want.near {
				assert.Equal(t, fit.Borderline, c.Verdict)
				assert.Equal(t, fit.Tight, c.Side)
				assert.True(t, c.Recommended)
			}
		}
	}
}

func TestRunBeginsAgainWithOtherNumbers(t *testing.T) {
	script := drill.ThreeBirds()
	assert.Equal(t, script.Leg(1), script.Leg(4))
	assert.Equal(t, script.Leg(1), script.Leg(0), "a number out of range is the first bird's")
	_, s := measured(t, script, 4, "Sterna hirundo")
	s, _, blockers := bench.Apply(s, bench.ChooseSize{Size: "2", Metal: "aluminium"})
	require.Empty(t, blockers)
	h, _ := s.ActiveHandling()
	assert.Contains(t, script.Coach(4, h, s)[0], "1232-40011")
	assert.Contains(t, script.Coach(1, h, s)[0], "1232-40001")
}

func TestCoachSaysThatAnotherBirdWasTold(t *testing.T) {
	script, s := drill.ThreeBirds(), state(t)
	coach := func(b bench.Bird) []string { return script.Coach(1, bench.Handling{ID: "b", Bird: b}, s) }
	begun := coach(bench.Bird{Species: "Larus argentatus"})
	assert.Contains(t, begun[0], "species Herring Gull, and it is Common Tern (s)")
	assert.Contains(t, begun[1], "age a, then sex u", "the questions go on")
	assert.Contains(t, coach(bench.Bird{Species: "Sterna hirundo", Age: "juvenile"})[0], "age juvenile, and it is adult (a)")
	told := coach(bench.Bird{Species: "Sterna hirundo", Age: "adult", Sex: "male", Leg: bench.LegRight})
	require.Len(t, told, 1)
	assert.Contains(t, told[0], "Told wrongly: sex male, and it is not known (x). Go to the step bird with Shift+Tab")
	assert.NotContains(t, coach(bench.Bird{Species: "Sterna hirundo", Age: "adult", Leg: bench.LegRight})[0], "wrongly")
	assert.Contains(t, coach(bench.Bird{Species: "a duck", Leg: bench.LegRight})[0], "species a duck, and it is Common Tern (s); age not known, and it is adult (a)")
}

func TestCoachBetweenBirds(t *testing.T) {
	script, s := drill.ThreeBirds(), state(t)
	assert.Contains(t, script.Coach(1, bench.Handling{}, s)[0], "common tern")
	assert.Contains(t, script.Coach(2, bench.Handling{}, s)[0], "piping plover")
	assert.Contains(t, script.Coach(4, bench.Handling{}, s)[0], "last of the three birds")
	assert.True(t, script.Shift().Training)
}

// A newcomer who takes a number of their own is led on all the same.
func TestCoachTakesANumberThatIsNotItsOwn(t *testing.T) {
	script := drill.ThreeBirds()
	_, s := measured(t, script, 3, "Larus argentatus")
	for _, c := range []bench.Command{
		bench.ChooseSize{Size: "6", Metal: "stainless steel"},
		bench.GiveNumber{Number: "999-00001"},
	} {
		var blockers []bench.Blocker
		s, _, blockers = bench.Apply(s, c)
		require.Empty(t, blockers)
	}
	h, _ := s.ActiveHandling()
	assert.Contains(t, script.Coach(3, h, s)[0], "flush")
	s, _, _ = bench.Apply(s, bench.Look{})
	s, _, _ = bench.Apply(s, bench.Confirm{All: true, ReadBack: "002"})
	h, _ = s.ActiveHandling()
	assert.Contains(t, script.Coach(3, h, s)[0], "Those are not the digits")
}
