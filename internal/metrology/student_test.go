package metrology

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// JCGM 100:2008 table G.2, every entry as printed.
func TestCoverageFactorsAreTheGuidesTableG2(t *testing.T) {
	header, rows := table(t, "gum_g2_student_t.csv")
	require.Len(t, rows, 28)
	for _, row := range rows {
		nu := number(t, row[0])
		for i, cell := range row[1:] {
			level := number(t, header[i+1]) / 100
			decimals := 2
			if math.IsInf(nu, 1) {
				decimals = 3
			}
			// The table's fractions 68.27, 95.45 and 99.73 % stand for k = 1, 2, 3.
			for k, name := range map[float64]string{1: "68.27", 2: "95.45", 3: "99.73"} {
				if header[i+1] == name {
					level = math.Erf(k / math.Sqrt2)
				}
			}
			assert.Equal(t, cell, fmt.Sprintf("%.*f", decimals, CoverageFactor(level, nu)),
				"ν = %s, p = %s %%", row[0], header[i+1])
		}
	}
}

// Values to 20 digits from mpmath 1.2.1 (regularised incomplete beta function
// at 30 digits), in testdata/reference/student_t_cdf.csv.
func TestStudentCDFAgainstHighPrecision(t *testing.T) {
	_, rows := table(t, "student_t_cdf.csv")
	for _, row := range rows {
		x, nu, want := number(t, row[0]), number(t, row[1]), number(t, row[2])
		least := 10.0
		if x < -4 && nu > 1000 {
			least = 9 // tails of 1e-15, where the library's logarithms of gamma tell
		}
		requireDigits(t, least, want, StudentCDF(x, nu), fmt.Sprintf("P(T ≤ %g), ν = %g", x, nu))
	}
}

func TestStudentSpecialCases(t *testing.T) {
	inf, nan := math.Inf(1), math.NaN()
	assert.Zero(t, StudentCDF(-inf, 3))
	assert.Equal(t, 1.0, StudentCDF(inf, 3))
	assert.Equal(t, 0.5, StudentCDF(0, 3))
	assert.Equal(t, NormalCDF(1.5), StudentCDF(1.5, inf))
	for _, v := range []float64{StudentCDF(nan, 3), StudentCDF(1, 0), StudentCDF(1, -1), StudentCDF(1, nan), StudentQuantile(-0.1, 3), StudentQuantile(1.1, 3), StudentQuantile(nan, 3), StudentQuantile(0.3, 0), NormalQuantile(2), FSurvival(nan, 1, 1), FSurvival(1, 0, 1)} {
		assert.True(t, math.IsNaN(v))
	}
	assert.Equal(t, -inf, StudentQuantile(0, 3))
	assert.Equal(t, inf, StudentQuantile(1, 3))
	assert.Zero(t, StudentQuantile(0.5, 3))
	assert.Equal(t, 1.0, FSurvival(0, 2, 3))
	assert.Zero(t, FSurvival(inf, 2, 3))
}

// F with 1 and ν degrees of freedom is the square of t with ν.
func TestFIsTheSquareOfT(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.Float64Range(0.01, 30).Draw(t, "t")
		nu := rapid.Float64Range(1, 200).Draw(t, "nu")
		assert.InEpsilon(t, 2*StudentCDF(-x, nu), FSurvival(x*x, 1, nu), 1e-10)
	})
}

func TestStudentQuantileInvertsTheCDF(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		nu := rapid.OneOf(
			rapid.Float64Range(1, 40),
			rapid.Float64Range(40, 1e7),
			rapid.Just(math.Inf(1)),
		).Draw(t, "nu")
		p := rapid.Float64Range(1e-6, 0.5).Draw(t, "p")
		q := StudentQuantile(p, nu)
		if p < 0.4999 {
			assert.InEpsilon(t, p, StudentCDF(q, nu), 1e-9)
		}
		assert.InDelta(t, -q, StudentQuantile(1-p, nu), 1e-9*(1+math.Abs(q)))
	})
}

func TestStudentCDFRises(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		nu := rapid.Float64Range(1, 2e5).Draw(t, "nu")
		a := rapid.Float64Range(-40, 40).Draw(t, "a")
		b := a + rapid.Float64Range(1e-6, 5).Draw(t, "step")
		assert.LessOrEqual(t, StudentCDF(a, nu), StudentCDF(b, nu)+1e-14)
		assert.InDelta(t, 1, StudentCDF(a, nu)+StudentCDF(-a, nu), 1e-13)
	})
}

func BenchmarkStudentCDF(b *testing.B) {
	for b.Loop() {
		StudentCDF(-2.3, 16)
	}
}

func BenchmarkCoverageFactor(b *testing.B) {
	for b.Loop() {
		CoverageFactor(0.95, 16)
	}
}
