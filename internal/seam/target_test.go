package seam

import (
	"math"
	"math/bits"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func defaultTarget(t require.TestingT) Target {
	target, err := NewTarget(DefaultScheme())
	require.NoError(t, err)
	return target
}

// Source: Biau et al. 2008, Br J Surg 95:925, weights from the likelihood ratio:
// success ln((1−p1)/(1−p0)), failure ln(p1/p0).
func TestWeightsAreTheLikelihoodRatios(t *testing.T) {
	for _, rates := range [][2]float64{{0.5, 0.1}, {0.3, 0.05}, {0.4, 0.2}} {
		p0, p1 := rates[0], rates[1]
		target, err := NewTarget(Scheme{Unskilled: p0, Skilled: p1, Risk: 0.05, Within: 50})
		require.NoError(t, err)
		success, failure, h := target.Weights()
		assert.InDelta(t, math.Log((1-p1)/(1-p0)), success, 1e-12)
		assert.InDelta(t, math.Log(p1/p0), failure, 1e-12)
		assert.Positive(t, h)
		assert.LessOrEqual(t, target.Chance(p0, 50), 0.05)
		assert.LessOrEqual(t, target.LapseChance(p1, 50), 0.05)
		t.Logf("p0 %g, p1 %g: flush %+.4f, failed %+.4f, h %.4f; unskilled meets it within 50: %.4f; skilled within 20, 30, 50: %.2f, %.2f, %.2f; skilled is told of a lapse within 50: %.4f, unskilled within 10: %.2f",
			p0, p1, success, failure, h, target.Chance(p0, 50), target.Chance(p1, 20), target.Chance(p1, 30), target.Chance(p1, 50),
			target.LapseChance(p1, 50), target.LapseChance(p0, 10))
	}
}

// sums runs S = max(0, S + W) over outcomes in the plainest way, and returns the
// largest S.
func sums(success, failure float64, outcomes func(i int) bool, n int) float64 {
	s, largest := 0.0, 0.0
	for i := range n {
		if outcomes(i) {
			s += success
		} else {
			s = max(0, s+failure)
		}
		largest = max(largest, s)
	}
	return largest
}

// All 2¹⁴ courses that 14 closings can take, each with its probability: the
// chain's is their sum, and no smaller score is as rare.
func TestTheChainIsExactAndHIsTheSmallest(t *testing.T) {
	const n = 14
	for _, s := range []Scheme{
		{Unskilled: 0.5, Skilled: 0.1, Risk: 0.05, Within: n},
		{Unskilled: 0.4, Skilled: 0.25, Risk: 0.1, Within: n},
		{Unskilled: 0.7, Skilled: 0.3, Risk: 0.02, Within: n},
	} {
		target, err := NewTarget(s)
		require.NoError(t, err)
		success, failure, h := target.Weights()
		reaches := func(h, rate float64) float64 {
			total := 0.0
			for course := range uint(1) << n {
				if sums(success, failure, func(i int) bool { return course>>i&1 == 1 }, n) >= h-1e-7 {
					flush := bits.OnesCount(course)
					total += math.Pow(1-rate, float64(flush)) * math.Pow(rate, float64(n-flush))
				}
			}
			return total
		}
		for _, rate := range []float64{s.Unskilled, s.Skilled, 0.05, 0.9} {
			assert.InDelta(t, reaches(h, rate), target.Chance(rate, n), 1e-12, "%+v at %g", s, rate)
		}
		assert.LessOrEqual(t, target.Chance(s.Unskilled, n), s.Risk)
		// The next score below h is not rare enough.
		below := 0.0
		for course := range uint(1) << n {
			s := 0.0
			for i := range n {
				if course>>i&1 == 1 {
					s += success
				} else {
					s = max(0, s+failure)
				}
				if s < h-1e-7 {
					below = max(below, s)
				}
			}
		}
		assert.Greater(t, reaches(below, s.Unskilled), s.Risk, "%+v: %g would do", s, below)
	}
}

// With a failure that always takes the score back to 0 the target is a run of
// flush closings. Of the 2¹⁰ courses of ten tosses 112 have a run of five (the
// complement of the pentanacci numbers: 912 have none).
func TestRunsOfFlushClosings(t *testing.T) {
	c := cusum{up: 1, down: 100, h: 5}
	assert.InDelta(t, 112./1024, c.reached(0.5, 10)[9], 1e-15)
	assert.InDelta(t, 1./32, c.reached(0.5, 10)[4], 1e-15)
	assert.Zero(t, c.reached(0.5, 10)[3])

	// Courses without a run of five: a(n) = Σ of the five before.
	without := []float64{1, 2, 4, 8, 16}
	for n := 5; n <= 50; n++ {
		next := 0.0
		for _, a := range without[n-5:] {
			next += a
		}
		if n == 5 {
			next = 31
		}
		without = append(without, next)
	}
	for _, n := range []int{7, 20, 50} {
		assert.InDelta(t, 1-without[n]/math.Pow(2, float64(n)), c.reached(0.5, n)[n-1], 1e-12, "%d", n)
	}
}

// Run lengths against a direct simulation of closings.
func TestRunLengthsAgainstSimulation(t *testing.T) {
	const trials = 15_000
	target := defaultTarget(t)
	success, failure, h := target.Weights()
	r := rand.New(rand.NewPCG(2008, 925))
	for _, rate := range []float64{0.5, 0.35, 0.2, 0.1, 0.03} {
		const most = 120
		var metBy [most + 1]int
		total, expected := 0.0, 0.0
		for range trials {
			s, n := 0.0, 0
			for n < most && s < h-1e-7 {
				n++
				if r.Float64() < rate {
					s = max(0, s+failure)
				} else {
					s += success
				}
			}
			total += float64(n)
			if s >= h-1e-7 {
				metBy[n]++
			}
		}
		met, chances := 0, target.meet.reached(1-rate, most)
		for n := 1; n <= most; n++ {
			met += metBy[n]
			p := chances[n-1]
			se := math.Sqrt(p*(1-p)/trials) + 1e-9
			if n == 10 || n == 20 || n == 50 || n == most {
				assert.InDelta(t, p, float64(met)/trials, 4*se, "rate %g, within %d", rate, n)
			}
			expected++ // the closing is made if the target was not met before it
			if n > 1 {
				expected -= chances[n-2]
			}
		}
		assert.InDelta(t, expected, total/trials, 0.6, "mean number of closings, of 120 at most, at rate %g", rate)
		t.Logf("failing %2.0f %%: %5.1f closings on average (of %d at most), simulated %5.1f; within 50: %.4f", 100*rate, expected, most, total/trials, target.Chance(rate, 50))
	}
}

func TestSchemesWithoutSenseAreRefused(t *testing.T) {
	for name, change := range map[string]func(*Scheme){
		"skilled fails more":    func(s *Scheme) { s.Skilled = 0.6 },
		"no failures at all":    func(s *Scheme) { s.Skilled = 0 },
		"always fails":          func(s *Scheme) { s.Unskilled = 1 },
		"not a number":          func(s *Scheme) { s.Unskilled = math.NaN() },
		"no risk":               func(s *Scheme) { s.Risk = 0 },
		"risk not a number":     func(s *Scheme) { s.Risk = math.NaN() },
		"no closings":           func(s *Scheme) { s.Within = 0 },
		"too many closings":     func(s *Scheme) { s.Within = 10_000 },
		"lapses before it":      func(s *Scheme) { s.LapseDays = -1 },
		"rarer than all flush":  func(s *Scheme) { s.Within, s.Risk = 3, 0.1 },
		"rarer than all failed": func(s *Scheme) { s.Within, s.Unskilled, s.Skilled, s.Risk = 2, 0.9, 0.4, 0.1 },
	} {
		s := DefaultScheme()
		change(&s)
		_, err := NewTarget(s)
		var refused *InputError
		require.ErrorAs(t, err, &refused, name)
		assert.NotEmpty(t, refused.Mend, name)
	}
	target := defaultTarget(t)
	assert.Equal(t, DefaultScheme(), target.Scheme())
	assert.True(t, math.IsNaN(target.Chance(math.NaN(), 5)))
	assert.True(t, math.IsNaN(target.Chance(1.5, 5)))
	assert.Zero(t, target.Chance(0, 0))
	assert.InDelta(t, 1, target.Chance(0, 500), 1e-12, "who never fails meets it")
	assert.Equal(t, target.Chance(0.4, 500), target.Chance(0.4, 5000))
}

var firstDay = time.Date(2031, 4, 2, 9, 0, 0, 0, time.UTC)

// course writes closings an hour apart: f flush, x failed, F and X by the
// trainer's blind look against the bander's own.
func course(text string) []Attempt {
	var attempts []Attempt
	for i, c := range text {
		a := Attempt{At: firstDay.Add(time.Duration(i) * time.Hour)}
		switch c {
		case 'f':
			a.Flush = true
		case 'F':
			a.Blind = BlindFlush
		case 'X':
			a.Flush, a.Blind = true, BlindDefect
		}
		attempts = append(attempts, a)
	}
	return attempts
}

func standing(t require.TestingT, attempts []Attempt, after time.Duration) Standing {
	now := firstDay
	if n := len(attempts); n > 0 {
		now = attempts[n-1].At
	}
	s, err := defaultTarget(t).Standing(attempts, now.Add(after))
	require.NoError(t, err)
	return s
}

func repeat(c string, n int) string {
	text := ""
	for range n {
		text += c
	}
	return text
}

func TestStanding(t *testing.T) {
	success, _, h := defaultTarget(t).Weights()
	needed := int(math.Ceil(h/success - 1e-9))
	t.Logf("%d flush closings in a row meet the target", needed)

	none := standing(t, nil, 0)
	assert.Equal(t, KeepPractising, none.Readiness)
	assert.InDelta(t, 1, none.Flush.High-none.Flush.Low, 0)
	assert.InDelta(t, h, none.Needed, 0)

	nearly := standing(t, course(repeat("f", needed-1)), 0)
	assert.Equal(t, KeepPractising, nearly.Readiness)
	assert.InDelta(t, float64(needed-1)*success, nearly.Score, 1e-12)
	assert.True(t, nearly.MetAt.IsZero())

	run := course(repeat("f", needed))
	met := standing(t, run, 0)
	assert.Equal(t, TargetMet, met.Readiness)
	assert.Equal(t, run[needed-1].At, met.MetAt)
	assert.Equal(t, needed, met.Successes)
	assert.Len(t, met.Scores, needed)
	assert.GreaterOrEqual(t, met.Score, h-1e-9)

	// One failure does not take it away, a row of them does, and why is said.
	assert.Equal(t, TargetMet, standing(t, course(repeat("f", needed)+"x"), 0).Readiness)
	lost := standing(t, course(repeat("f", needed)+"xxxxx"), 0)
	assert.Equal(t, KeepPractising, lost.Readiness)
	assert.Equal(t, Decline, lost.Lapse)
	assert.Equal(t, run[needed-1].At, lost.MetAt)
	// It has to be met anew, from nothing.
	again := standing(t, course(repeat("f", needed)+"xxxxx"+repeat("f", needed-1)), 0)
	assert.Equal(t, KeepPractising, again.Readiness)
	again = standing(t, course(repeat("f", needed)+"xxxxx"+repeat("f", needed)), 0)
	assert.Equal(t, TargetMet, again.Readiness)
	assert.Equal(t, NoLapse, again.Lapse)
}

func TestTheBlindLookCounts(t *testing.T) {
	assert.Equal(t, standing(t, course("ffxff"), 0), standing(t, course("fFXfF"), 0))
	for text, want := range map[string]bool{"f": true, "x": false, "F": true, "X": false} {
		assert.Equal(t, want, course(text)[0].Success(), text)
	}
}

func TestThePauseLapses(t *testing.T) {
	const day = 24 * time.Hour
	run := course(repeat("f", 20))
	assert.Equal(t, TargetMet, standing(t, run, 180*day).Readiness)
	late := standing(t, run, 180*day+time.Second)
	assert.Equal(t, KeepPractising, late.Readiness)
	assert.Equal(t, Paused, late.Lapse)
	assert.Zero(t, late.Score)

	// A closing after the pause does not bring it back.
	resumed := append(run, Attempt{At: run[19].At.Add(200 * day), Flush: true})
	s := standing(t, resumed, 0)
	assert.Equal(t, KeepPractising, s.Readiness)
	assert.Equal(t, Paused, s.Lapse)
	success, _, _ := defaultTarget(t).Weights()
	assert.InDelta(t, success, s.Score, 1e-12)

	// Nor do points gathered before a pause count after it.
	half := append(course("fffff"), Attempt{At: firstDay.Add(300 * day), Flush: true})
	assert.InDelta(t, success, standing(t, half, 0).Score, 1e-12)

	// A clock that ran backwards is no pause, and order is as given.
	back := course(repeat("f", 20))
	back[19].At = back[19].At.Add(-400 * day)
	assert.Equal(t, TargetMet, standing(t, back, 0).Readiness)

	scheme := DefaultScheme()
	scheme.LapseDays = 0
	never, err := NewTarget(scheme)
	require.NoError(t, err)
	s, err = never.Standing(run, firstDay.Add(9000*day))
	require.NoError(t, err)
	assert.Equal(t, TargetMet, s.Readiness)
}

// Source: Newcombe 1998, Statistics in Medicine 17:857–872, table I: Wilson's
// interval of 81 in 263, 15 in 148, 0 in 20 and 1 in 29.
func TestTheIntervalIsWilsons(t *testing.T) {
	for _, c := range []struct {
		x, n      int
		low, high float64
	}{{81, 263, .2553, .3662}, {15, 148, .0624, .1605}, {0, 20, 0, .1611}, {1, 29, .0061, .1718}} {
		s := standing(t, course(repeat("f", c.x)+repeat("x", c.n-c.x)), 0)
		assert.Equal(t, c.x, s.Successes)
		assert.Equal(t, c.n, s.Closings)
		assert.InDelta(t, c.low, s.Flush.Low, 5e-5)
		assert.InDelta(t, c.high, s.Flush.High, 5e-5)
	}
}

func TestStandingsHold(t *testing.T) {
	target := defaultTarget(t)
	_, _, h := target.Weights()
	rapid.Check(t, func(t *rapid.T) {
		outcomes := rapid.SliceOfN(rapid.Bool(), 0, 120).Draw(t, "outcomes")
		attempts := make([]Attempt, len(outcomes))
		at := firstDay
		for i, o := range outcomes {
			at = at.Add(time.Duration(rapid.IntRange(-100, 4000).Draw(t, "hours")) * time.Hour)
			attempts[i] = Attempt{At: at, Flush: o}
		}
		s, err := target.Standing(attempts, at)
		require.NoError(t, err)
		require.Len(t, s.Scores, len(outcomes))
		for _, score := range s.Scores {
			require.GreaterOrEqual(t, score, 0.0)
			require.Less(t, score, h+1)
		}
		require.LessOrEqual(t, s.Flush.Low, s.Flush.High)
		require.Equal(t, s.Readiness == TargetMet, s.Readiness != KeepPractising)
		if s.Readiness == TargetMet {
			require.False(t, s.MetAt.IsZero())
			require.Equal(t, NoLapse, s.Lapse)
		}
		if s.Lapse != NoLapse {
			require.False(t, s.MetAt.IsZero(), "only what was met can lapse")
		}
		// Without pauses the score is the plain sum until it is met.
		if s.MetAt.IsZero() {
			plain, reset := 0.0, 0
			for i := range attempts {
				if i > 0 && target.paused(attempts[i-1].At, attempts[i].At) {
					reset = i
				}
			}
			success, failure, _ := target.Weights()
			for _, o := range outcomes[reset:] {
				if o {
					plain += success
				} else {
					plain = max(0, plain+failure)
				}
			}
			require.InDelta(t, plain, s.Score, 1e-9)
		}
	})
}

// Over all orders of the same outcomes the trend averages 0 with variance 1:
// that is what its variance claims. And it is the correlation times √(n−1).
func TestTheTrendsVariance(t *testing.T) {
	const n = 12
	for _, flush := range []int{1, 3, 6, 11} {
		sum, squares, count := 0.0, 0.0, 0.0
		for order := range uint(1) << n {
			if bits.OnesCount(order) != flush {
				continue
			}
			outcomes := make([]bool, n)
			for i := range outcomes {
				outcomes[i] = order>>i&1 == 1
			}
			z := trendZ(outcomes)
			sum, squares, count = sum+z, squares+z*z, count+1
		}
		assert.InDelta(t, 0, sum/count, 1e-12)
		assert.InDelta(t, 1, squares/count, 1e-12)
	}
}

func TestTrends(t *testing.T) {
	for text, want := range map[string]Direction{
		"":                            TooFew,
		"xxffff":                      TooFew,
		"xxxxxxxfxfxffffffff":         Improving,
		"ffffffffxfxfxxxxxxx":         Worsening,
		"fxfxfxfxfxfxfxfx":            NoTrend,
		"ffffffffffff":                NoTrend,
		"xxxxxxxxxxxx":                NoTrend,
		"fffffxfffffffffxffffffffffx": NoTrend,
	} {
		trend := standing(t, course(text), 0).Trend
		assert.Equal(t, want, trend.Direction, text)
		assert.False(t, math.IsNaN(trend.Z) || math.IsNaN(trend.P), text)
		assert.True(t, trend.P >= 0 && trend.P <= 0.5, text)
	}
}

func BenchmarkNewTarget(b *testing.B) {
	for b.Loop() {
		if _, err := NewTarget(DefaultScheme()); err != nil {
			b.Fatal(err)
		}
	}
}
