package metrology

import (
	"math"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/distuv"
)

// From manyDOF on, the expansion in 1/ν stands for the incomplete beta
// function in the body of the distribution, and from tooManyDOF on everywhere:
// the library's logarithms of gamma lose digits as ν grows, while the
// expansion's terms left out, of order (t⁴/4ν)⁵/5!, vanish.
const (
	manyDOF    = 1e4
	tooManyDOF = 1e6
	body       = 4
)

// nearZero is the |t| below which the middle of the distribution is computed
// instead of its tail.
const nearZero = 2

// StudentCDF returns P(T ≤ t) for Student's t with nu degrees of freedom;
// nu = +Inf is the standard normal distribution. For |t| < 2 it uses
//
//	P = ½ + ½·sign(t)·I(t²/(ν+t²); ½, ν/2)
//
// which keeps full precision near t = 0, where the usual form loses half the
// digits, and otherwise gonum's distribution. For many degrees of freedom it
// is the normal distribution with the terms in 1/ν to 1/ν⁴ (Fisher 1925,
// Metron 5(3):109–112). The tail P(T > t) is StudentCDF(−t, nu), without loss.
//
// Special cases: ±Inf give 0 and 1; NaN, or nu not above 0, gives NaN.
func StudentCDF(t, nu float64) float64 {
	switch {
	case math.IsNaN(t) || math.IsNaN(nu) || nu <= 0:
		return math.NaN()
	case math.IsInf(t, -1):
		return 0
	case math.IsInf(t, 1):
		return 1
	case math.IsInf(nu, 1):
		return NormalCDF(t)
	case nu > tooManyDOF || nu > manyDOF && math.Abs(t) < body:
		return clamp01(NormalCDF(t) - normalPDF(t)*studentExpansion(t, nu))
	case math.Abs(t) < nearZero:
		half := 0.5 * mathext.RegIncBeta(0.5, nu/2, t*t/(nu+t*t))
		if t < 0 {
			return 0.5 - half
		}
		return 0.5 + half
	default:
		return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: nu}.CDF(t)
	}
}

// studentExpansion is (Φ(t) − P(T ≤ t))/φ(t) to the fourth order in 1/ν.
func studentExpansion(t, nu float64) float64 {
	x := t * t
	first := x + 1
	second := ((3*x-7)*x-5)*x - 3
	third := ((((x-11)*x+14)*x+6)*x-3)*x - 15
	fourth := ((((((15*x-375)*x+2225)*x-2141)*x-939)*x-213)*x-915)*x + 945
	return t / nu * (first/4 + (second/96+(third/384+fourth/92160/nu)/nu)/nu)
}

// StudentQuantile returns the t with P(T ≤ t) = p for nu degrees of freedom;
// nu = +Inf is the standard normal distribution. For ν = 1 and 2 it is the
// closed form; else Newton steps on StudentCDF from a start by the expansion
// about the normal quantile (Abramowitz and Stegun 26.7.5), or far out in the
// tail from gonum's inverse.
//
// Special cases: p = 0 and 1 give −Inf and +Inf; p outside [0, 1], NaN, or
// nu not above 0, gives NaN.
func StudentQuantile(p, nu float64) float64 {
	switch {
	case math.IsNaN(p) || p < 0 || p > 1 || math.IsNaN(nu) || nu <= 0:
		return math.NaN()
	case p == 0:
		return math.Inf(-1)
	case p == 1:
		return math.Inf(1)
	case p == 0.5:
		return 0
	case p > 0.5:
		return -studentLower(1-p, nu)
	default:
		return studentLower(p, nu)
	}
}

// studentLower is the quantile for p below one half.
func studentLower(p, nu float64) float64 {
	switch {
	case math.IsInf(nu, 1):
		return NormalQuantile(p)
	case nu == 1:
		return -1 / math.Tan(math.Pi*p)
	case nu == 2:
		return (2*p - 1) / math.Sqrt(2*p*(1-p))
	}
	var t float64
	if nu >= 3 && p > 0.001 || nu > manyDOF {
		z := NormalQuantile(p)
		x := z * z
		t = z + z/nu*((x+1)/4+(((5*x+16)*x+3)/96+(((3*x+19)*x+17)*x-15)/384/nu)/nu)
	} else {
		t = distuv.StudentsT{Mu: 0, Sigma: 1, Nu: nu}.Quantile(p)
	}
	// A Newton step squares the error, so the step after one below 1e-8 is
	// not needed.
	for range 8 {
		density := studentPDF(t, nu)
		if density == 0 || math.IsInf(t, 0) {
			break
		}
		step := (StudentCDF(t, nu) - p) / density
		t -= step
		if math.Abs(step) <= 1e-8*math.Abs(t) {
			break
		}
	}
	return t
}

func studentPDF(t, nu float64) float64 {
	if nu > manyDOF {
		return normalPDF(t)
	}
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: nu}.Prob(t)
}

// NormalCDF returns Φ(z) = ½·erfc(−z/√2), precise in both tails.
func NormalCDF(z float64) float64 { return 0.5 * math.Erfc(-z/math.Sqrt2) }

// NormalQuantile returns the z with Φ(z) = p; p = 0 and 1 give −Inf and
// +Inf, p outside [0, 1] or NaN gives NaN.
func NormalQuantile(p float64) float64 {
	if math.IsNaN(p) || p < 0 || p > 1 {
		return math.NaN()
	}
	return distuv.UnitNormal.Quantile(p)
}

func normalPDF(z float64) float64 {
	return math.Exp(-z*z/2) / math.Sqrt(2*math.Pi)
}

// CoverageFactor returns k with U = k·u for a two-sided interval that covers
// the given level: the quantile t₍₁₊level₎/₂(ν) (JCGM 100:2008, G.3).
// Special cases are StudentQuantile's.
func CoverageFactor(level, nu float64) float64 {
	return StudentQuantile((1+level)/2, nu)
}

// FSurvival returns P(F > f) for the F distribution with d1 and d2 degrees of
// freedom, the significance of a variance ratio. Special cases: f ≤ 0 gives
// 1, +Inf gives 0; NaN or degrees of freedom not above 0 give NaN.
func FSurvival(f, d1, d2 float64) float64 {
	switch {
	case math.IsNaN(f) || math.IsNaN(d1) || math.IsNaN(d2) || d1 <= 0 || d2 <= 0:
		return math.NaN()
	case f <= 0:
		return 1
	case math.IsInf(f, 1):
		return 0
	}
	// Its own form of the tail: 1 − CDF would lose every digit of a small p.
	return mathext.RegIncBeta(d2/2, d1/2, d2/(d2+d1*f))
}

func clamp01(p float64) float64 { return min(max(p, 0), 1) }
