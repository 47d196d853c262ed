package drill_test

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/bench"
	"seamfit/internal/drill"
	"seamfit/internal/fit"
	"seamfit/internal/length"
	"seamfit/internal/seam"
)

func scenario(t *testing.T, seed uint64, level int) *drill.Scenario {
	t.Helper()
	s, err := drill.NewScenario(seed, level)
	require.NoError(t, err)
	return s
}

// trained is a bird of the first level with its band taken.
type trained struct {
	t *testing.T
	*drill.Scenario
	state bench.State
	now   time.Time
	done  []seam.Handiwork
}

func newTrained(t *testing.T) *trained {
	t.Helper()
	r := &trained{t: t, Scenario: scenario(t, 11, 1), state: state(t), now: time.Date(2031, 5, 17, 6, 40, 0, 0, time.UTC)}
	shift := r.Shift()
	r.state.Shift = &shift
	r.do(bench.OpenBird{When: r.when(), ID: "b", Bird: bench.Bird{Species: "Sterna hirundo", Age: "adult", Sex: "female", Leg: bench.LegRight}})
	for range 3 {
		r.do(bench.TakeReading{When: r.when(), Means: bench.MeansCaliper, Value: r.Leg(1), Unit: length.MM, Resolution: 10 * length.Micrometre})
	}
	r.do(bench.ChooseSize{When: r.when(), Size: "2", Metal: "aluminium"})
	r.band("1232-40001")
	return r
}

func (r *trained) when() bench.When {
	r.now = r.now.Add(time.Second)
	return bench.When{At: r.now, By: "Mira Tolland"}
}

func (r *trained) do(c bench.Command) {
	r.t.Helper()
	var blockers []bench.Blocker
	r.state, _, blockers = bench.Apply(r.state, c)
	require.Empty(r.t, blockers)
}

func (r *trained) bird() bench.Handling {
	h, ok := r.state.Handling("b")
	require.True(r.t, ok)
	return h
}

func (r *trained) band(number string) {
	r.do(bench.GiveNumber{When: r.when(), Number: number})
	band, _ := r.bird().CurrentBand()
	r.done = append(r.done, seam.Handiwork{Handling: "b", Band: band.ID})
}

// work does acts and tells a look.
func (r *trained) work(acts string, findings ...string) {
	r.done[len(r.done)-1].Acts += acts + string(seam.LookKey)
	r.do(bench.Look{When: r.when(), Findings: findings})
}

// goes confirms what can be confirmed, and lets the bird go.
func (r *trained) goes(fate bench.Fate, reason string) []string {
	if closing, ok := r.bird().LastClosing(); ok && closing.Flush() {
		band, _ := r.bird().CurrentBand()
		r.do(bench.Confirm{When: r.when(), All: true, ReadBack: band.Number[len(band.Number)-3:]})
	}
	r.do(bench.LeaveHand{When: r.when()})
	r.do(bench.TellFate{When: r.when(), Fate: fate, Reason: reason})
	if len(bench.Blockers(r.bird(), r.state.Setup.Book)) == 0 {
		r.do(bench.Complete{When: r.when()})
	}
	return r.Score(r.state, map[int]bench.Handling{1: r.bird()}, r.done)
}

// good is how an aluminium band is closed: the pliers at 1 mm, until the edges
// meet, turned, and once more.
const good = "--------++2m3m"

func TestScenarioIsWhatItIsSaidToBe(t *testing.T) {
	for level := 1; level <= drill.Levels; level++ {
		for seed := range uint64(40) {
			a, b := scenario(t, seed, level), scenario(t, seed, level)
			require.Equal(t, a, b)
			for bird := 1; bird <= a.Birds(); bird++ {
				story := a.Coach(bird, bench.Handling{}, bench.State{})[0]
				require.Contains(t, story, "F2 as soon as it is in the hand")
				// The best size is one that fits by the bench's own verdict.
				s := state(t)
				result, err := fit.Fit([]fit.Width{{Value: a.Leg(bird)}, {Value: a.Leg(bird)}, {Value: a.Leg(bird)}}, fit.Question{Catalogue: s.Catalogue()}, s.Setup.Model)
				require.NoError(t, err)
				for _, c := range result.Sizes {
					if c.Size == result.Best {
						require.Equal(t, fit.Fits, c.Verdict, "level %d, seed %d, bird %d", level, seed, bird)
					}
				}
			}
			require.Equal(t, level == 1, a.Hints())
			require.True(t, a.Shift().Training)
		}
	}
	for _, level := range []int{-1, 0, drill.Levels + 1} {
		_, err := drill.NewScenario(1, level)
		require.ErrorIs(t, err, drill.ErrLevel)
	}
	assert.NotEqual(t, scenario(t, 1, 3), scenario(t, 2, 3))
}

func TestScoreOfABirdThatWentWell(t *testing.T) {
	r := newTrained(t)
	r.work(good)
	lines := r.goes(bench.FateBanded, "")
	assert.Contains(t, lines[1], "size 25 of 25, seam 40 of 40, record 25 of 25, time 10 of 10: 100")
	assert.Contains(t, lines[len(lines)-1], "no licence")
	assert.Empty(t, r.After(r.state, 1, r.bird(), r.done))
}

func TestScoreTellsWhatTheBirdWears(t *testing.T) {
	r := newTrained(t)
	assert.Empty(t, r.After(r.state, 1, r.bird(), r.done), "nothing is told while it is in the hand")
	r.work("--------++2h") // all one's strength, and called flush
	lines := r.goes(bench.FateBanded, "")
	assert.Contains(t, lines[1], "seam 0 of 40")
	assert.Contains(t, lines[2], "wears a band with an overlap: the edge inside rubs the leg")
	assert.Contains(t, lines[len(lines)-1], "Practise: seeing an overlap")
	assert.Equal(t, lines[2:3], r.After(r.state, 1, r.bird(), r.done))
}

func TestScoreCountsFalseAlarmsAndClosings(t *testing.T) {
	r := newTrained(t)
	r.work(good, "gap") // there is none
	r.work("", "gap")
	r.work("", "gap")
	r.work("")
	lines := r.goes(bench.FateBanded, "")
	assert.Contains(t, lines[1], "seam 27 of 40", "40, less 3 for each of three alarms, less 4 for a fourth closing")
	assert.Contains(t, lines[len(lines)-1], "telling flush from a gap")
}

// A band that can't be mended comes off, and the bird goes unbanded: that is
// no failure.
func TestScoreOfABirdLetGoUnbanded(t *testing.T) {
	r := newTrained(t)
	r.work("--------++2h", "overlap")
	r.do(bench.Remove{When: r.when(), Reason: "spreaders do not go in"})
	lines := r.goes(bench.FateUnbanded, "for its own good")
	assert.Contains(t, lines[1], "seam 40 of 40, record 25 of 25")
}

// What was told of the bird and is not so is named in the score, at every level;
// the coach of level 1 says it at once.
func TestTellingAnotherBird(t *testing.T) {
	for level := 1; level <= drill.Levels; level++ {
		r := &trained{t: t, Scenario: scenario(t, 11, level), state: state(t), now: time.Date(2031, 5, 17, 6, 40, 0, 0, time.UTC)}
		shift := r.Shift()
		r.state.Shift = &shift
		r.do(bench.OpenBird{When: r.when(), ID: "b", Bird: bench.Bird{Species: "Sterna paradisaea"}})
		coach := strings.Join(r.Coach(1, r.bird(), r.state), " ")
		if level == 1 {
			assert.Contains(t, coach, "Told wrongly: species Arctic Tern, and it is Common Tern (s). It can be told anew after the leg.")
			assert.Contains(t, coach, "You see: age a, sex f", "the questions go on")
		} else {
			assert.NotContains(t, coach, "Told wrongly", "no hints")
		}
		r.do(bench.DescribeBird{When: r.when(), Bird: bench.Bird{Species: "Sterna paradisaea", Age: "nestling", Leg: bench.LegRight}})
		score := strings.Join(r.goes(bench.FateUnbanded, "too young"), " ")
		assert.Contains(t, score, "its species was told as Arctic Tern, and is ")
		assert.Contains(t, score, "its age was told as nestling, and is ")
		assert.Contains(t, score, "telling the bird as it is: species")
		assert.Contains(t, score, "record 10 of 25", "25, less 5 for each of three")
	}
}

func TestScoreOfWhatWasNotDone(t *testing.T) {
	r := newTrained(t)
	assert.Contains(t, r.Score(r.state, nil, nil)[0], "nothing to score")
	r.work("--------++2g", "gap")
	r.now = r.now.Add(11 * time.Minute)
	lines := r.goes(bench.FateUnconfirmed, "it struggled")
	assert.Contains(t, lines[1], "seam 0 of 40, record 12 of 25, time 0 of 10")
	assert.Contains(t, lines[len(lines)-1], "a shorter time in the hand")
}

func TestWorkNeedsABand(t *testing.T) {
	r := newTrained(t)
	_, err := r.Work(r.state, 1, bench.Handling{}, "m")
	require.Error(t, err)
	now, err := r.Work(r.state, 1, r.bird(), "")
	require.NoError(t, err)
	assert.Positive(t, now.Sight.GapMM, "it stands open")
	turned, err := r.Work(r.state, 1, r.bird(), "1x")
	require.NoError(t, err)
	assert.Equal(t, -1, turned.Pliers.Turn)
	assert.Equal(t, now.Sight, turned.Sight, "turning the pliers, and keys of no tool, do nothing to the band")
	for _, tool := range r.Tools() {
		_, err := r.Work(r.state, 1, r.bird(), string(tool.Key))
		require.NoError(t, err)
	}
}

// A run is known again by its shift, so that it can be taken up where it was
// left.
func TestARunIsKnownByItsShift(t *testing.T) {
	s, err := drill.NewScenario(7, 2)
	require.NoError(t, err)
	again, ok := drill.RunOf(s.Shift())
	require.True(t, ok)
	assert.Equal(t, s, again)
	for _, shift := range []bench.Shift{{}, {Permit: s.Shift().Permit}, {Permit: "TRAINING level 9 seed 7", Training: true}, drill.ThreeBirds().Shift()} {
		_, ok := drill.RunOf(shift)
		assert.False(t, ok, shift.Permit)
	}
}
