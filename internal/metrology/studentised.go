package metrology

import (
	"fmt"
	"math"
)

// StudentisedRangeCDF returns P(R/s ≤ q) for the range R of n independent
// normal values and an independent estimate s of their standard deviation
// with nu degrees of freedom (+Inf: the standard deviation itself):
//
//	P(q; n, ∞) = n ∫ φ(z) [Φ(z) − Φ(z−q)]ⁿ⁻¹ dz
//	P(q; n, ν) = ∫ f_ν(s) P(q·s; n, ∞) ds,   s = χ_ν/√ν
//
// (Harter 1960, Annals of Mathematical Statistics 31:1122–1147). Both
// integrals are taken by the trapezoidal rule, the outer one in ln s: for
// these smooth integrands that die out at both ends its error falls
// exponentially with the step, and the steps here leave about 1e-13.
//
// Special cases: q ≤ 0 gives 0, +Inf gives 1; n below 2, nu below 1, or NaN
// gives NaN.
func StudentisedRangeCDF(q float64, n int, nu float64) float64 {
	switch {
	case math.IsNaN(q) || math.IsNaN(nu) || n < 2 || nu < 1:
		return math.NaN()
	case q <= 0:
		return 0
	case math.IsInf(q, 1):
		return 1
	case math.IsInf(nu, 1) || nu > 1e8:
		return rangeCDF(q, n)
	}
	logC := logChiConstant(nu / 2)
	step := min(0.125, 0.5/math.Sqrt(2*nu))
	term := func(x float64) float64 {
		// −ν(e^{2x}−1)/2 + νx, written so that large ν does not cancel.
		density := math.Exp(logC + nu*(x-math.Expm1(2*x)/2))
		if density == 0 {
			return 0
		}
		return density * rangeCDF(q*math.Exp(x), n)
	}
	total := term(0)
	for _, side := range []float64{-1, 1} {
		for k := 1; k < 4096; k++ {
			t := term(side * step * float64(k))
			total += t
			if t < 1e-18*total {
				break
			}
		}
	}
	return clamp01(total * step)
}

// logChiConstant is ln(2·aᵃ·e⁻ᵃ/Γ(a)), the constant in the density of ln s for
// ν = 2a degrees of freedom. For large a Stirling's series avoids the
// difference of two large logarithms; the first term left out is below 1e-15.
func logChiConstant(a float64) float64 {
	if a > 50 {
		series := 1/(12*a) - 1/(360*a*a*a) + 1/(1260*a*a*a*a*a)
		return math.Ln2 + 0.5*math.Log(a/(2*math.Pi)) - series
	}
	lg, _ := math.Lgamma(a)
	return math.Ln2 + a*math.Log(a) - a - lg
}

// rangeCDF is the distribution of the range of n standard normal values.
func rangeCDF(q float64, n int) float64 {
	const step, reach = 0.25, 36 // z from −9 to 9
	power := float64(n - 1)
	total := 0.0
	for k := -reach; k <= reach; k++ {
		z := step * float64(k)
		if inside := normalBetween(z-q, z); inside > 0 {
			total += normalPDF(z) * math.Pow(inside, power)
		}
	}
	return clamp01(float64(n) * total * step)
}

// normalBetween is Φ(b) − Φ(a) for a < b, taken in the tail that keeps the
// digits.
func normalBetween(a, b float64) float64 {
	if a > 0 {
		return NormalCDF(-a) - NormalCDF(-b)
	}
	return NormalCDF(b) - NormalCDF(a)
}

// StudentisedRangeQuantile returns the q with StudentisedRangeCDF(q, n, nu)
// equal to p. For n = 2 it is √2·t₍₁₊p₎/₂(ν) exactly. It returns ErrDomain
// for p outside (0, 1), n below 2, or nu below 1.
func StudentisedRangeQuantile(p float64, n int, nu float64) (float64, error) {
	if !(p > 0 && p < 1) || n < 2 || !(nu >= 1) {
		return 0, fmt.Errorf("studentised range of %d values with %g degrees of freedom at %g: %w", n, nu, p, ErrDomain)
	}
	if n == 2 {
		return math.Sqrt2 * StudentQuantile((1+p)/2, nu), nil
	}
	// The range of n values is at least that of two.
	low := math.Sqrt2 * StudentQuantile((1+p)/2, nu)
	return increasingRoot(func(q float64) float64 { return StudentisedRangeCDF(q, n, nu) - p }, low, low*1.5)
}

// CriticalRangeFactor returns q₀.₉₅(n, ν), by which the repeatability SD is
// multiplied to give the range that n readings exceed once in twenty times
// (ISO 5725-6:1994, 4.1.4: for ν = ∞ and n = 2 … 6 its f(n) is 2.8, 3.3,
// 3.6, 3.9, 4.0). It returns ErrDomain for n below 2 or nu below 1.
func CriticalRangeFactor(n int, nu float64) (float64, error) {
	if q, covered := expanded95(n, nu); covered {
		return q, nil
	}
	return StudentisedRangeQuantile(0.95, n, nu)
}
