package metrology

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// NIST/SEMATECH e-Handbook 6.3.2.2, flow rates of ten batches [memory]: mean
// 50.81, mean moving range 1.8778, limits 45.8159 and 55.8041.
func TestIndividualsChart(t *testing.T) {
	chart, err := NewIndividuals([]float64{49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1})
	require.NoError(t, err)
	assert.InDelta(t, 50.81, chart.Centre, 1e-9)
	assert.InDelta(t, 1.8778, chart.Sigma*meanRange, 5e-5)
	// The handbook rounds d₂ to 1.128.
	assert.InDelta(t, 55.8041, chart.Upper, 2e-3)
	assert.InDelta(t, 45.8159, chart.Lower, 2e-3)
	assert.True(t, chart.Inside(53.6))
	assert.False(t, chart.Inside(55.9))
	assert.False(t, chart.Inside(45.7))
	assert.InDelta(t, meanRange, 2/math.Sqrt(math.Pi), 1e-15)
}

// Montgomery, Introduction to Statistical Quality Control, table 9.2 [memory]:
// target 10, sigma 1, k ½, h 5; the upper sum passes 5 at the 29th value, at
// 5.28.
func TestCUSUMChart(t *testing.T) {
	values := []float64{
		9.45, 7.99, 9.29, 11.66, 12.16, 10.18, 8.04, 11.46, 9.20, 10.34, 9.03, 11.47, 10.51, 9.40, 10.08,
		9.37, 10.62, 10.31, 8.52, 10.84, 10.90, 9.33, 12.29, 11.50, 10.60, 11.08, 10.38, 11.62, 11.31, 10.52,
	}
	chart, err := NewCUSUM(10, 1, 0.5, 5)
	require.NoError(t, err)
	for i, x := range values[:29] {
		require.False(t, chart.Signals(), "before value %d", i+1)
		chart, err = chart.Add(x)
		require.NoError(t, err)
	}
	assert.True(t, chart.Signals())
	assert.InDelta(t, 5.28, chart.Up, 1e-9)
	assert.Equal(t, 29, chart.N)
}

// In control, k = ½ and h = 5 signal falsely about once in 465 values
// [practice]; the mean run length of seeded runs lies near it.
func TestCUSUMRunLength(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 10))
	const runs = 600
	total := 0
	for range runs {
		chart, err := NewCUSUM(0, 1, 0.5, 5)
		require.NoError(t, err)
		for !chart.Signals() {
			chart, err = chart.Add(rng.NormFloat64())
			require.NoError(t, err)
		}
		total += chart.N
	}
	assert.InDelta(t, 465, float64(total)/runs, 4*465/math.Sqrt(runs))
}

func TestChartsRefuse(t *testing.T) {
	_, err := NewIndividuals([]float64{1})
	require.ErrorIs(t, err, ErrTooFew)
	_, err = NewIndividuals([]float64{1, math.NaN()})
	require.ErrorIs(t, err, ErrNotFinite)
	for _, bad := range [][4]float64{{0, 0, 0.5, 5}, {0, 1, -1, 5}, {0, 1, 0.5, 0}} {
		_, err = NewCUSUM(bad[0], bad[1], bad[2], bad[3])
		require.ErrorIs(t, err, ErrDomain)
	}
	_, err = NewCUSUM(math.NaN(), 1, 0.5, 5)
	require.ErrorIs(t, err, ErrNotFinite)
	chart, err := NewCUSUM(0, 1, 0.5, 5)
	require.NoError(t, err)
	same, err := chart.Add(math.NaN())
	require.ErrorIs(t, err, ErrNotFinite)
	assert.Equal(t, chart, same)
}
