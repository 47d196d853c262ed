package metrology

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// JCGM 100:2008 H.5, voltage standard over ten days of five observations, from
// the published day means and standard deviations: s(X̄) = 57 µV, pooled
// s = 85 µV, F = 2.25 (H.5.2.2, H.5.2.3).
func TestZenerH5(t *testing.T) {
	_, rows := table(t, "gum_h5_zener.csv")
	var means []float64
	var days []Component
	for _, row := range rows {
		means = append(means, number(t, row[1])*1e6)
		days = append(days, Component{number(t, row[2]), number(t, row[3]) - 1})
	}
	s, err := Summarise(means)
	require.NoError(t, err)
	assert.Equal(t, "10.000097", fmt.Sprintf("%.6f", s.Mean/1e6))
	assert.Equal(t, "57", fmt.Sprintf("%.0f", s.SD))
	pooled, nu, err := Pooled(days)
	require.NoError(t, err)
	assert.Equal(t, "85", fmt.Sprintf("%.0f", pooled))
	assert.Equal(t, 40.0, nu)
	between := 5 * s.SD * s.SD
	assert.Equal(t, "128", fmt.Sprintf("%.0f", math.Sqrt(between)))
	assert.InDelta(t, 2.25, between/(pooled*pooled), 0.02)
	// F(9, 40): 2.12 at 5 % and 2.45 at 2.5 % (H.5.2.3), so p lies between.
	p := FSurvival(between/(pooled*pooled), 9, 40)
	assert.Greater(t, p, 0.025)
	assert.Less(t, p, 0.05)
	assert.InDelta(t, 0.05, FSurvival(2.12, 9, 40), 0.0015)
	assert.InDelta(t, 0.025, FSurvival(2.45, 9, 40), 0.0005)
}

// For two measurements of each item √MS within is √(Σd²/2N).
func TestTechnicalErrorOfPairs(t *testing.T) {
	pairs := [][]float64{{8.42, 8.45}, {7.9, 7.86}, {9.01, 9.03}, {8.2, 8.2}}
	a, err := AnalyseOneWay(pairs)
	require.NoError(t, err)
	squares := 0.03*0.03 + 0.04*0.04 + 0.02*0.02
	assert.InDelta(t, math.Sqrt(squares/8), a.TechnicalError(), 1e-12)
	assert.InDelta(t, 2, a.MeanPerCell, 1e-12)
	assert.Greater(t, a.Repeatability(), 0.99)
}

func TestOneWayRefuses(t *testing.T) {
	_, err := AnalyseOneWay([][]float64{{1, 2}})
	require.ErrorIs(t, err, ErrTooFew)
	_, err = AnalyseOneWay([][]float64{{1}, {2}})
	require.ErrorIs(t, err, ErrTooFew)
	_, err = AnalyseOneWay([][]float64{{1, 2}, {}})
	require.ErrorIs(t, err, ErrDomain)
	_, err = AnalyseOneWay([][]float64{{1, 2}, {math.NaN()}})
	require.ErrorIs(t, err, ErrNotFinite)
	a, err := AnalyseOneWay([][]float64{{1, 1}, {1, 1}})
	require.NoError(t, err)
	assert.Zero(t, a.F)
	assert.Zero(t, a.Repeatability())
}

func TestCrossedRefuses(t *testing.T) {
	for _, bad := range [][][][]float64{
		nil, {{{1, 2}}}, {{}, {}}, {{{}}, {{}}}, {{{1}}, {{2}}},
	} {
		_, err := AnalyseCrossed(bad)
		require.ErrorIs(t, err, ErrTooFew)
	}
	_, err := AnalyseCrossed([][][]float64{{{1, 2}, {1, 2}}, {{1, 2}}})
	require.ErrorIs(t, err, ErrDomain)
	_, err = AnalyseCrossed([][][]float64{{{1, 2}}, {{1}}})
	require.ErrorIs(t, err, ErrDomain)
	_, err = AnalyseCrossed([][][]float64{{{1, 2}}, {{1, math.NaN()}}})
	require.ErrorIs(t, err, ErrNotFinite)
}

func drawStudy(t *rapid.T) [][][]float64 {
	p, o := rapid.IntRange(2, 5).Draw(t, "items"), rapid.IntRange(1, 4).Draw(t, "banders")
	k := rapid.IntRange(2, 3).Draw(t, "trials")
	values := make([][][]float64, p)
	for i := range values {
		values[i] = make([][]float64, o)
		for j := range values[i] {
			for range k {
				values[i][j] = append(values[i][j], float64(rapid.IntRange(700, 900).Draw(t, "value"))/100)
			}
		}
	}
	return values
}

// The sums of squares make up the total, whatever is added to all values, and
// grow with the square of the scale.
func TestCrossedAddsUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		values := drawStudy(t)
		c, err := AnalyseCrossed(values)
		require.NoError(t, err)
		assert.InDelta(t, c.SSTotal, c.SSItem+c.SSBander+c.SSInteraction+c.SSRepeat, 1e-9)
		assert.Equal(t, c.DFTotal, c.DFItem+c.DFBander+c.DFInteraction+c.DFRepeat)
		s := c.Components()
		assert.InDelta(t, s.Gauge*s.Gauge, s.Repeatability*s.Repeatability+s.Reproducibility*s.Reproducibility, 1e-9)
		assert.InDelta(t, s.Total*s.Total, s.Gauge*s.Gauge+s.Item*s.Item, 1e-9)

		for i := range values {
			for j := range values[i] {
				for k := range values[i][j] {
					values[i][j][k] = 1000 + 3*values[i][j][k]
				}
			}
		}
		moved, err := AnalyseCrossed(values)
		require.NoError(t, err)
		assert.InDelta(t, 9*c.SSItem, moved.SSItem, 1e-7)
		assert.InDelta(t, 9*c.SSInteraction, moved.SSInteraction, 1e-7)
		assert.InDelta(t, 1000+3*c.CellMeans[0][0], moved.CellMeans[0][0], 1e-9)
	})
}

// Shrout and Fleiss 1979, table 4: .17 .29 .71 and .44 .62 .91. The intervals
// are computed from the same formulas with scipy 1.10.1.
func TestShroutFleiss(t *testing.T) {
	_, rows := table(t, "shrout_fleiss_1979.csv")
	var values [][]float64
	for _, row := range rows {
		var judges []float64
		for _, cell := range row[1:] {
			judges = append(judges, number(t, cell))
		}
		values = append(values, judges)
	}
	got, err := IntraclassCorrelations(values, 0.95)
	require.NoError(t, err)
	for i, want := range []struct{ single, average, low, high, lowMean, highMean float64 }{
		{0.165742, 0.442797, -0.13293232487475096, 0.7225600623281211, -0.8844421552381196, 0.9124154203407756},
		{0.289764, 0.620051, 0.018786513374712044, 0.7610843696489529, 0.07113681530250347, 0.9272320401677219},
		{0.714841, 0.909316, 0.34246476503392614, 0.9458582599553597, 0.6756747138163055, 0.9858916781690623},
	} {
		single, average := got.Single[i], got.Average[i]
		assert.InDelta(t, want.single, single.Value, 5e-7)
		assert.InDelta(t, want.average, average.Value, 5e-7)
		require.True(t, single.Bounded && average.Bounded)
		assert.InDelta(t, want.low, single.Interval.Low, 1e-8)
		assert.InDelta(t, want.high, single.Interval.High, 1e-8)
		assert.InDelta(t, want.lowMean, average.Interval.Low, 1e-8)
		assert.InDelta(t, want.highMean, average.Interval.High, 1e-8)
	}
}

func TestIntraclassCorrelationsAtTheEdge(t *testing.T) {
	perfect, err := IntraclassCorrelations([][]float64{{1, 1}, {2, 2}, {4, 4}}, 0.95)
	require.NoError(t, err)
	assert.Equal(t, 1.0, perfect.Single[0].Value)
	assert.False(t, perfect.Single[0].Bounded, "no scatter, no interval")
	opposed, err := IntraclassCorrelations([][]float64{{5, 5.2}, {5.2, 5}}, 0.95)
	require.NoError(t, err)
	assert.Equal(t, -1.0, opposed.Single[0].Value, "−1/(k−1), the least there is")
	assert.True(t, math.IsNaN(opposed.Average[0].Value), "items that are all alike leave that of means undefined")
	_, err = IntraclassCorrelations([][]float64{{1, 1}, {1, 1}}, 0.95)
	require.ErrorIs(t, err, ErrDegenerate)
	_, err = IntraclassCorrelations([][]float64{{1, 1}, {1, 2}}, 1)
	require.ErrorIs(t, err, ErrDomain)
	_, err = IntraclassCorrelations([][]float64{{1}, {2}}, 0.95)
	require.ErrorIs(t, err, ErrTooFew)
	_, err = IntraclassCorrelations([][]float64{{1, 2}, {2}}, 0.95)
	require.ErrorIs(t, err, ErrDomain)
}
