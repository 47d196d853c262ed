package metrology

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestLinesRefuse(t *testing.T) {
	_, err := FitLine([]float64{1, 2}, []float64{1, 2}, nil, 0)
	require.ErrorIs(t, err, ErrTooFew)
	_, err = FitLine([]float64{1, 1, 1}, []float64{1, 2, 3}, nil, 0)
	require.ErrorIs(t, err, ErrDegenerate)
	_, err = FitLine([]float64{1, 2, 3}, []float64{1, 2}, nil, 0)
	require.ErrorIs(t, err, ErrDomain)
	_, err = FitLine([]float64{1, 2, math.NaN()}, []float64{1, 2, 3}, nil, 0)
	require.ErrorIs(t, err, ErrNotFinite)
	_, err = FitLine([]float64{1, 2, 3}, []float64{1, 2, math.Inf(1)}, nil, 0)
	require.ErrorIs(t, err, ErrNotFinite)
	_, err = FitLine([]float64{1, 2, 3}, []float64{1, 2, 3}, []float64{1, 0, 1}, 0)
	require.ErrorIs(t, err, ErrDomain)
	_, err = FitLine([]float64{1, 2, 3}, []float64{1, 2, 3}, nil, math.NaN())
	require.ErrorIs(t, err, ErrNotFinite)
	_, err = FitProportional([]float64{0, 0}, []float64{1, 2})
	require.ErrorIs(t, err, ErrDegenerate)
	_, err = FitProportional([]float64{1}, []float64{1})
	require.ErrorIs(t, err, ErrTooFew)
	_, err = FitLackOfFit([]float64{1, 2}, [][]float64{{1}})
	require.ErrorIs(t, err, ErrDomain)
	_, err = FitLackOfFit([]float64{1}, [][]float64{{1}})
	require.ErrorIs(t, err, ErrTooFew)
	_, err = FitLackOfFit([]float64{1, 2}, [][]float64{{1}, {}})
	require.ErrorIs(t, err, ErrDomain)
	_, err = FitLackOfFit([]float64{1, 1}, [][]float64{{1}, {2}})
	require.ErrorIs(t, err, ErrDegenerate)
}

// The sums of squares of lack of fit and pure error make up the line's.
func TestLackOfFitAddsUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := rapid.IntRange(3, 6).Draw(t, "groups")
		var xs, allX, allY []float64
		var groups [][]float64
		for i := range m {
			x := float64(i) + rapid.Float64Range(0, 0.5).Draw(t, "x")
			g := rapid.SliceOfN(rapid.Float64Range(-2, 2), 1, 4).Draw(t, "y")
			xs, groups = append(xs, x), append(groups, g)
			for _, y := range g {
				allX, allY = append(allX, x), append(allY, y)
			}
		}
		lack, err := FitLackOfFit(xs, groups)
		require.NoError(t, err)
		line, err := FitLine(allX, allY, nil, 0)
		require.NoError(t, err)
		assert.InDelta(t, line.SumOfSquares, lack.SSLine+lack.SSRepeats, 1e-9)
		assert.Equal(t, line.DOF, lack.DOFLine+lack.DOFPure)
	})
}

// A point with weight 2 counts as the same point twice.
func TestWeightsCountPoints(t *testing.T) {
	once, err := FitLine([]float64{1, 2, 3, 4}, []float64{1, 3, 2, 5}, []float64{1, 2, 1, 1}, 2)
	require.NoError(t, err)
	twice, err := FitLine([]float64{1, 2, 2, 3, 4}, []float64{1, 3, 3, 2, 5}, nil, 2)
	require.NoError(t, err)
	assert.InDelta(t, twice.Offset, once.Offset, 1e-12)
	assert.InDelta(t, twice.Slope, once.Slope, 1e-12)
}

// Pearson's data with York's weights: York et al. 2004, American Journal of
// Physics 72:367–375; standard errors and S/(n−2) from the same paper, with
// more digits from mpmath 1.2.1.
func TestPearsonYork(t *testing.T) {
	_, rows := table(t, "pearson_york.csv")
	var xs, ys, ux, uy []float64
	for _, row := range rows {
		xs, ys = append(xs, number(t, row[0])), append(ys, number(t, row[2]))
		ux, uy = append(ux, 1/math.Sqrt(number(t, row[1]))), append(uy, 1/math.Sqrt(number(t, row[3])))
	}
	line, err := FitYork(xs, ys, ux, uy)
	require.NoError(t, err)
	requireDigits(t, 13, -0.48053340744620, line.Slope, "slope")
	requireDigits(t, 13, 5.47991022403286, line.Intercept, "intercept")
	requireDigits(t, 11, 0.0579850090007744, line.SlopeSE, "SE of the slope")
	requireDigits(t, 11, 0.294970735493109, line.InterceptSE, "SE of the intercept")
	requireDigits(t, 11, 11.8663531940614/8, line.Goodness, "S/(n−2)")
	y, u := line.At(0)
	assert.Equal(t, []float64{line.Intercept, line.InterceptSE}, []float64{y, u})

	// The two variables change places: the slope turns over.
	turned, err := FitYork(ys, xs, uy, ux)
	require.NoError(t, err)
	requireDigits(t, 11, 1/line.Slope, turned.Slope, "turned")
}

func TestYorkRefuses(t *testing.T) {
	x, u := []float64{1, 2, 3}, []float64{1, 1, 1}
	_, err := FitYork(x, x, u, u[:2])
	require.ErrorIs(t, err, ErrDomain)
	_, err = FitYork(x, x, u, []float64{1, 0, 1})
	require.ErrorIs(t, err, ErrDomain)
	_, err = FitYork([]float64{1, 1, 1}, x, u, u)
	require.ErrorIs(t, err, ErrDegenerate)
	_, err = FitYork(x[:2], x[:2], u[:2], u[:2])
	require.ErrorIs(t, err, ErrTooFew)
}

// With x known far better than y York's line is the weighted least squares.
func TestYorkWithoutErrorInXIsLeastSquares(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	var xs, ys, ux, uy, w []float64
	for i := range 12 {
		xs = append(xs, float64(i))
		u := 0.1 + 0.2*rng.Float64()
		ys = append(ys, 2-0.3*float64(i)+u*rng.NormFloat64())
		ux, uy, w = append(ux, 1e-9), append(uy, u), append(w, 1/(u*u))
	}
	york, err := FitYork(xs, ys, ux, uy)
	require.NoError(t, err)
	line, err := FitLine(xs, ys, w, 0)
	require.NoError(t, err)
	assert.InDelta(t, line.Slope, york.Slope, 1e-12)
	assert.InDelta(t, line.Offset, york.Intercept, 1e-11)
}
