package metrology

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestSummariseRefuses(t *testing.T) {
	_, err := Summarise(nil)
	require.ErrorIs(t, err, ErrTooFew)
	for _, bad := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		_, err = Summarise([]float64{1, bad})
		require.ErrorIs(t, err, ErrNotFinite)
		_, err = Median([]float64{1, bad})
		require.ErrorIs(t, err, ErrNotFinite)
		_, _, err = RobustSpread([]float64{bad})
		require.ErrorIs(t, err, ErrNotFinite)
	}
	_, err = Summarise([]float64{1e200, -1e200})
	require.ErrorIs(t, err, ErrNotFinite, "the squares overflow")
	_, err = Median(nil)
	require.ErrorIs(t, err, ErrTooFew)
}

func TestSummaryOfOneAndOfEqualValues(t *testing.T) {
	s, err := Summarise([]float64{8.42})
	require.NoError(t, err)
	assert.Equal(t, Summary{N: 1, Mean: 8.42}, s)
	s, err = Summarise([]float64{0.1, 0.1, 0.1})
	require.NoError(t, err)
	assert.Zero(t, s.SD)
	assert.InDelta(t, 2, s.DOF(), 0)
}

func TestMedianAndRobustSpread(t *testing.T) {
	median, err := Median([]float64{3, 1, 2})
	require.NoError(t, err)
	assert.Equal(t, 2.0, median)
	median, err = Median([]float64{4, 1, 2, 3})
	require.NoError(t, err)
	assert.Equal(t, 2.5, median)
	// A wild value moves neither.
	median, sd, err := RobustSpread([]float64{1, 2, 3, 4, 1e9})
	require.NoError(t, err)
	assert.Equal(t, 3.0, median)
	assert.InDelta(t, 1.482602218505602, sd, 1e-15)
	assert.InDelta(t, madToSD, 1/NormalQuantile(0.75), 1e-14)
}

func TestShiftingScalingAndOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		xs := rapid.SliceOfN(rapid.Float64Range(-10, 10), 2, 30).Draw(t, "xs")
		shift := rapid.Float64Range(-1000, 1000).Draw(t, "shift")
		scale := rapid.Float64Range(0.01, 100).Draw(t, "scale")
		ys := make([]float64, len(xs))
		for i := range xs {
			ys[len(xs)-1-i] = shift + scale*xs[i]
		}
		a, err := Summarise(xs)
		require.NoError(t, err)
		b, err := Summarise(ys)
		require.NoError(t, err)
		assert.InDelta(t, shift+scale*a.Mean, b.Mean, 1e-11*(1+math.Abs(shift)))
		assert.InDelta(t, scale*a.SD, b.SD, 1e-9)
	})
}
