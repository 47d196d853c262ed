package metrology

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// ISO 5725-6:1994 table 1, f(n) for n = 2 … 6 [memory], and the 95 % points of
// the range that they are rounded from.
func TestCriticalRangeFactors(t *testing.T) {
	points := []string{"2.77", "3.31", "3.63", "3.86", "4.03"}
	factors := []string{"2.8", "3.3", "3.6", "3.9", "4.0"}
	for i := range points {
		q, err := CriticalRangeFactor(i+2, inf)
		require.NoError(t, err)
		assert.Equal(t, points[i], fmt.Sprintf("%.2f", q))
		assert.Equal(t, factors[i], fmt.Sprintf("%.1f", q))
	}
}

// Quantiles and probabilities from scipy 1.10.1, stats.studentized_range, in
// testdata/reference/studentised_range.csv.
func TestStudentisedRangeAgainstAnotherLibrary(t *testing.T) {
	_, rows := table(t, "studentised_range.csv")
	for _, row := range rows {
		n, nu := int(number(t, row[0])), number(t, row[1])
		q, err := StudentisedRangeQuantile(0.95, n, nu)
		require.NoError(t, err)
		requireDigits(t, 8, number(t, row[2]), q, fmt.Sprintf("q₀.₉₅(%d, %g)", n, nu))
		requireDigits(t, 8, number(t, row[3]), StudentisedRangeCDF(3, n, nu), fmt.Sprintf("P(3; %d, %g)", n, nu))
	}
}

// For two values the range is √2 times the magnitude of a t: exact by another
// road, so it shows the precision of the integration itself.
func TestStudentisedRangeOfTwoIsT(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		nu := rapid.OneOf(rapid.Float64Range(1, 200), rapid.Float64Range(200, 1e7), rapid.Just(inf)).Draw(t, "nu")
		q := rapid.Float64Range(0.05, 12).Draw(t, "q")
		want := 1 - 2*StudentCDF(-q/math.Sqrt2, nu)
		assert.InDelta(t, want, StudentisedRangeCDF(q, 2, nu), 1e-10)
	})
}

func TestStudentisedRangeQuantileInverts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 12).Draw(t, "n")
		nu := rapid.OneOf(rapid.Float64Range(1, 100), rapid.Just(inf)).Draw(t, "nu")
		p := rapid.Float64Range(0.01, 0.99).Draw(t, "p")
		q, err := StudentisedRangeQuantile(p, n, nu)
		require.NoError(t, err)
		assert.InDelta(t, p, StudentisedRangeCDF(q, n, nu), 1e-10)
		more, err := StudentisedRangeQuantile(p, n+1, nu)
		require.NoError(t, err)
		assert.Greater(t, more, q, "more values range wider")
	})
}

// The quick road to q₀.₉₅ is the integral's value.
func TestCriticalRangeExpansionIsTheIntegral(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(3, 10).Draw(t, "n")
		nu := rapid.OneOf(rapid.Float64Range(10, 60), rapid.Float64Range(60, 1e6), rapid.Just(inf)).Draw(t, "nu")
		want, err := StudentisedRangeQuantile(0.95, n, nu)
		require.NoError(t, err)
		got, err := CriticalRangeFactor(n, nu)
		require.NoError(t, err)
		assert.InDelta(t, want, got, 1e-10)
	})
	_, covered := expanded95(11, inf)
	assert.False(t, covered)
	_, covered = expanded95(3, 9.5)
	assert.False(t, covered)
}

func TestStudentisedRangeRefuses(t *testing.T) {
	for _, c := range []struct {
		p  float64
		n  int
		nu float64
	}{{0, 3, 5}, {1, 3, 5}, {math.NaN(), 3, 5}, {0.95, 1, 5}, {0.95, 3, 0.5}, {0.95, 3, math.NaN()}} {
		_, err := StudentisedRangeQuantile(c.p, c.n, c.nu)
		require.ErrorIs(t, err, ErrDomain)
	}
	assert.True(t, math.IsNaN(StudentisedRangeCDF(1, 1, 5)))
	assert.True(t, math.IsNaN(StudentisedRangeCDF(math.NaN(), 3, 5)))
	assert.Zero(t, StudentisedRangeCDF(-1, 3, 5))
	assert.Equal(t, 1.0, StudentisedRangeCDF(inf, 3, 5))
}

func BenchmarkCriticalRangeFactor(b *testing.B) {
	for _, nu := range []float64{inf, 20} {
		b.Run(fmt.Sprintf("nu=%g", nu), func(b *testing.B) {
			for b.Loop() {
				_, _ = CriticalRangeFactor(3, nu)
			}
		})
	}
}
