package metrology

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"seamfit/internal/length"
)

// ISO 5725-6: the critical range of two results is 2.8·s_r [memory], the 95 %
// point of the studentised range 2.77; of three 3.3 [memory], 3.31.
func TestReadingsAgreeWithinTheCriticalRange(t *testing.T) {
	r := Repeats{SD: Component{U: 0.1, DOF: math.Inf(1)}}
	_, limit, ok := r.Agree([]length.Length{millimetre, millimetre + 277_000})
	assert.True(t, ok)
	assert.InDelta(t, 0.277, limit, 5e-4)
	_, _, ok = r.Agree([]length.Length{millimetre, millimetre + 278_000})
	assert.False(t, ok)
	_, limit, _ = r.Agree([]length.Length{millimetre, millimetre, millimetre})
	assert.InDelta(t, 0.331, limit, 5e-4)
	fine := Repeats{SD: Component{U: 0.0001, DOF: 5}, Resolution: 10_000}
	_, _, ok = fine.Agree([]length.Length{millimetre, millimetre + 10_000})
	assert.True(t, ok, "two readings that differ by one step agree")
	_, _, ok = r.Agree(nil)
	assert.True(t, ok)
	assert.InDelta(t, 0.1/math.Sqrt(4), r.MeanU(4), 1e-12)
}

// NIST/SEMATECH e-Handbook 6.3.2.2, flow rates of ten batches [memory]: limits
// 45.8159 and 55.8041, about 50.81.
func TestTheLimitsOfACheckAreThoseOfTheChart(t *testing.T) {
	history := []float64{49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1}
	limits, err := CheckRules{Fewest: 10, Most: 1000}.Limits(history)
	require.NoError(t, err)
	assert.InDelta(t, 45.8159, limits.Low, 2e-3) // the handbook rounds d₂ to 1.128
	assert.InDelta(t, 55.8041, limits.High, 2e-3)
	assert.Equal(t, 10, limits.History)

	short, err := CheckRules{Fewest: 11, Most: 0.03}.Limits(history)
	require.NoError(t, err)
	assert.Equal(t, CheckLimits{Low: -0.03, High: 0.03}, short)
	capped, err := CheckRules{Fewest: 2, Most: 0.02, U: 0.01}.Limits([]float64{0, 0, 0})
	require.NoError(t, err)
	assert.Equal(t, CheckLimits{Low: -0.02, High: 0.02, History: 3}, capped)
	floor, err := CheckRules{Fewest: 2, Most: 1, U: 0.01}.Limits([]float64{0, 0, 0})
	require.NoError(t, err)
	assert.InDelta(t, 0.03, floor.High, 1e-12, "equal checks leave room for a repeat")
	beyond, err := CheckRules{Fewest: 2, Most: 0.02}.Limits([]float64{1, 1, 1})
	require.NoError(t, err)
	assert.False(t, beyond.Inside(1), "a history that lies beyond the limit is no excuse")

	for _, rules := range []CheckRules{{Fewest: 1, Most: 1}, {Fewest: 2}, {Fewest: 2, Most: 1, U: -1}} {
		_, err := rules.Limits(history)
		require.ErrorIs(t, err, ErrDomain)
	}
	_, err = CheckRules{Fewest: 2, Most: math.NaN()}.Limits(history)
	require.ErrorIs(t, err, ErrNotFinite)
	_, err = CheckRules{Fewest: 2, Most: 1}.Limits([]float64{1, math.NaN()})
	require.ErrorIs(t, err, ErrNotFinite)
}

func TestLimitsNeverPassTheLargestError(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rules := CheckRules{Fewest: 3, Most: rapid.Float64Range(0.001, 1).Draw(t, "most"), U: rapid.Float64Range(0, 1).Draw(t, "u")}
		limits, err := rules.Limits(rapid.SliceOfN(rapid.Float64Range(-1, 1), 0, 30).Draw(t, "history"))
		require.NoError(t, err)
		assert.LessOrEqual(t, limits.High, rules.Most)
		assert.GreaterOrEqual(t, limits.Low, -rules.Most)
		assert.Less(t, limits.Low, limits.High)
	})
}

// A shift of two sigmas is found within some checks; without one, false alarms
// are rare (about one in 465 values [practice], more often here, since the
// centre is only known from eight checks).
func TestASlowDriftIsFound(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 12))
	rules := CheckRules{Fewest: 8, Most: 1, U: 0.005}
	found, falsely := 0, 0
	const runs = 300
	for range runs {
		var steady, drifting []float64
		for i := range 20 {
			e := 0.005 * rng.NormFloat64()
			steady = append(steady, e)
			drifting = append(drifting, e+0.002*max(0, float64(i-7)))
		}
		for errors, count := range map[*[]float64]*int{&steady: &falsely, &drifting: &found} {
			drifts, err := rules.Drifts(*errors)
			require.NoError(t, err)
			if drifts {
				*count++
			}
		}
	}
	assert.Greater(t, found, runs*9/10)
	assert.Less(t, falsely, runs/10)
	short, err := rules.Drifts([]float64{0, 1})
	require.NoError(t, err)
	assert.False(t, short)
	flat, err := CheckRules{Fewest: 2, Most: 1}.Drifts([]float64{0, 0, 1})
	require.NoError(t, err)
	assert.False(t, flat, "without any scatter there is no unit to count in")
	_, err = rules.Drifts([]float64{math.NaN()})
	require.ErrorIs(t, err, ErrNotFinite)
}

func TestACheckOutOfLimitsStandsUntilItIsAnswered(t *testing.T) {
	at := func(hour int) time.Time { return time.Date(2026, 5, 17, hour, 0, 0, 0, time.UTC) }
	bad := Check{ID: "2", Rod: "R-8", At: at(2), Error: 50_000}
	good := Check{ID: "1", Rod: "R-8", At: at(1), Error: 10_000, InLimits: true}
	checks := Checks{bad, good}
	assert.Equal(t, []Check{bad}, checks.Open(time.Time{}))
	assert.Equal(t, []float64{0.01}, checks.History("R-8", time.Time{}), "a check out of limits sets none")
	assert.Empty(t, checks.History("R-4", time.Time{}))
	assert.Empty(t, checks.Open(at(3)), "a later calibration ends it")
	assert.Empty(t, checks.History("R-8", at(2)), "and begins a new history")
	answer := bad
	answer.ID, answer.At, answer.Reason, answer.Answers = "3", at(3), "spare is broken", "2"
	assert.Empty(t, append(Checks{answer}, checks...).Open(time.Time{}))
	again := good
	again.ID, again.At = "4", at(4)
	assert.Empty(t, append(Checks{again}, checks...).Open(time.Time{}), "so does a check in limits")
	other := again
	other.Rod = "R-4"
	assert.Len(t, append(Checks{other}, checks...).Open(time.Time{}), 1, "on the same rod")
	reasoned := bad
	reasoned.Reason = "known"
	assert.Empty(t, Checks{reasoned}.Open(time.Time{}))
	assert.Contains(t, bad.Words(), "the check on rod R-8 of 2026-05-17 02:00 reads +0.0500 mm off, outside the limits")
}
