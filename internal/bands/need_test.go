package bands

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"
)

// Source: the binomial distribution of gonum, which is the sum of alike birds.
func TestNeedOfAlikeBirdsIsBinomial(t *testing.T) {
	for _, g := range []Expected{{200, 0.3}, {37, 0.05}, {500, 0.97}, {10, 1}, {12, 0}} {
		need, err := NeedOf([]Expected{{g.Birds / 2, g.Chance}, {g.Birds - g.Birds/2, g.Chance}})
		require.NoError(t, err)
		b := distuv.Binomial{N: float64(g.Birds), P: g.Chance}
		for k := range need {
			if g.Chance > 0 && g.Chance < 1 {
				assert.InDelta(t, b.Prob(float64(k)), need[k], 1e-12)
				assert.InDelta(t, 1-b.CDF(float64(k)), need.RunsOut(k), 1e-9)
			}
		}
		assert.InDelta(t, float64(g.Birds)*g.Chance, need.Mean(), 1e-9)
	}
}

func TestUnlikeBirdsAgreeWithEveryOutcomeCounted(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		chances := rapid.SliceOfN(rapid.Float64Range(0, 1), 0, 8).Draw(t, "chances")
		var groups []Expected
		for _, p := range chances {
			groups = append(groups, Expected{1, p})
		}
		need, err := NeedOf(groups)
		require.NoError(t, err)
		want := make([]float64, len(chances)+1)
		for outcome := range 1 << len(chances) {
			p, k := 1.0, 0
			for i, c := range chances {
				if outcome>>i&1 == 1 {
					p *= c
					k++
				} else {
					p *= 1 - c
				}
			}
			want[k] += p
		}
		for k := range need {
			require.InDelta(t, want[k], need[k], 1e-12)
		}
		risk := rapid.Float64Range(0, 1).Draw(t, "risk")
		carry := need.Carry(risk)
		require.LessOrEqual(t, need.RunsOut(carry), risk)
		if carry > 0 {
			require.Greater(t, need.RunsOut(carry-1), risk, "the fewest")
		}
	})
}

func TestWhatCanNotBeExpected(t *testing.T) {
	for _, g := range []Expected{{-1, 0.5}, {1, -0.1}, {1, 1.1}, {1, math.NaN()}, {maxBirds + 1, 0.5}} {
		_, err := NeedOf([]Expected{g})
		require.ErrorIs(t, err, ErrNoNeed)
	}
	need, err := NeedOf(nil)
	require.NoError(t, err)
	assert.Zero(t, need.Carry(0.01))
}
