package seam

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"seamfit/internal/metrology"
)

func perimeter(t require.TestingT, widths []float64) float64 {
	p, err := Perimeter(widths)
	require.NoError(t, err)
	return p
}

// Cauchy 1841: the perimeter of a convex outline is π times its mean width,
// which for a circle is its diameter.
func TestCirclesAreExact(t *testing.T) {
	for _, d := range []float64{2.997, 11.4, 31.7754} {
		for _, k := range []int{1, 2, 3, 4, 7} {
			widths := make([]float64, k)
			for i := range widths {
				widths[i] = d
			}
			assert.InDelta(t, math.Pi*d, perimeter(t, widths), 1e-14*d)
		}
	}
	_, err := Perimeter(nil)
	require.ErrorIs(t, err, metrology.ErrTooFew)
	_, err = Perimeter([]float64{1, math.NaN()})
	require.ErrorIs(t, err, metrology.ErrNotFinite)
}

// ellipseByAGM is 4a·E(e) by the arithmetic-geometric mean (DLMF 19.8.6 with
// 19.9.9: the perimeter in terms of E).
func ellipseByAGM(a, b float64) float64 {
	x, y := a, b
	sum, power := (a*a-b*b)/2, 0.5
	for range 12 {
		c := (x - y) / 2
		x, y = (x+y)/2, math.Sqrt(x*y)
		power *= 2
		sum += power * c * c
	}
	return 2 * math.Pi / x * (a*a - sum)
}

// ellipseBySeries is the same by a series in h = ((a−b)/(a+b))²:
// π(a+b)·Σ (½ over n)² hⁿ.
func ellipseBySeries(a, b float64) float64 {
	ratio := (a - b) / (a + b)
	h := ratio * ratio
	sum, term, coefficient := 0.0, 1.0, 1.0
	for n := range 60 {
		sum += coefficient * coefficient * term
		coefficient *= (0.5 - float64(n)) / float64(n+1)
		term *= h
	}
	return math.Pi * (a + b) * sum
}

// ellipseWidths are k widths of an ellipse at equal angles, the first at the
// angle off from the long axis.
func ellipseWidths(a, b float64, k int, off float64) []float64 {
	widths := make([]float64, k)
	for i := range widths {
		sin, cos := math.Sincos(off + math.Pi*float64(i)/float64(k))
		widths[i] = 2 * math.Hypot(a*cos, b*sin)
	}
	return widths
}

// worstError is the largest relative error of the perimeter from k widths,
// however the ellipse lies.
func worstError(t require.TestingT, a, b float64, k int) float64 {
	exact, worst := ellipseByAGM(a, b), 0.0
	for i := range 360 {
		p := perimeter(t, ellipseWidths(a, b, k, math.Pi*float64(i)/360))
		worst = max(worst, math.Abs(p/exact-1))
	}
	return worst
}

// Source: complete elliptic integral of the second kind, DLMF 19.9; for
// a = 2, b = 1 the perimeter is 9.688448220547675.
func TestEllipses(t *testing.T) {
	const published = 9.688448220547675
	assert.InDelta(t, published, ellipseByAGM(2, 1), 1e-14)
	assert.InDelta(t, published, ellipseBySeries(2, 1), 1e-14)
	// Many angles come to the published figure: the widths' mean is the integral.
	assert.InDelta(t, published, perimeter(t, ellipseWidths(2, 1, 40, 0.3)), 1e-14)

	for _, aspect := range []float64{1.02, 1.05, 1.1, 1.3, 2} {
		require.InEpsilon(t, ellipseBySeries(aspect, 1), ellipseByAGM(aspect, 1), 1e-14)
		two, three, four := worstError(t, aspect, 1, 2), worstError(t, aspect, 1, 3), worstError(t, aspect, 1, 4)
		t.Logf("long over short axis %.2f: error with 2 widths %.1e, 3 widths %.1e, 4 widths %.1e", aspect, two, three, four)
		// One width more shrinks it by about half of (a−b)/(a+b).
		shrinks := 0.7 * (aspect - 1) / (aspect + 1)
		assert.Less(t, three, two*shrinks, "aspect %g", aspect)
		assert.Less(t, four, three*shrinks, "aspect %g", aspect)
	}
	// A band that is 0.25 mm out of round at 11.4 mm: 3 widths are a thousand
	// times better than any caliper.
	assert.Less(t, worstError(t, 5.7625, 5.6375, 2)*35.8, 0.003)
	assert.Less(t, worstError(t, 5.7625, 5.6375, 3)*35.8, 1e-5)
}

func TestAnEllipsesPerimeterLiesBetweenItsCircles(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := rapid.Float64Range(1, 15).Draw(t, "short half axis")
		a := b * rapid.Float64Range(1, 1.3).Draw(t, "aspect")
		k := rapid.IntRange(2, 8).Draw(t, "widths")
		off := rapid.Float64Range(0, math.Pi).Draw(t, "off")
		p := perimeter(t, ellipseWidths(a, b, k, off))
		require.GreaterOrEqual(t, p, 2*math.Pi*b*(1-1e-12))
		require.LessOrEqual(t, p, 2*math.Pi*a*(1+1e-12))
		require.InEpsilon(t, ellipseByAGM(a, b), p, 0.01)
	})
}
