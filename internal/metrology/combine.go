package metrology

import (
	"fmt"
	"math"
)

// Component is one line of an uncertainty budget: a standard uncertainty,
// already times its sensitivity, and the degrees of freedom behind it.
type Component struct {
	U   float64
	DOF float64 // +Inf when it was not estimated from repeats
}

// Combine returns the combined standard uncertainty of independent components
// and its effective degrees of freedom by Welch and Satterthwaite, truncated
// to a whole number as JCGM 100:2008 G.4.1 asks:
//
//	u = √Σuᵢ²,   ν = ⌊u⁴ / Σ(uᵢ⁴/νᵢ)⌋
//
// A component of 0 counts for nothing, whatever its degrees of freedom. With
// no component that has finite degrees of freedom ν is +Inf. ν is at least 1.
// It returns ErrNotFinite for a U that is no finite number, and ErrDomain for
// a negative U, or degrees of freedom not above 0 with a U above 0.
func Combine(parts []Component) (u, nu float64, err error) {
	// Scaled by the largest, so that fourth powers neither vanish nor overflow.
	largest := 0.0
	for i, p := range parts {
		switch {
		case math.IsNaN(p.U) || math.IsInf(p.U, 0):
			return 0, 0, fmt.Errorf("component %d: %w", i+1, ErrNotFinite)
		case p.U < 0:
			return 0, 0, fmt.Errorf("component %d: a negative uncertainty: %w", i+1, ErrDomain)
		case p.U > 0 && !(p.DOF > 0):
			return 0, 0, fmt.Errorf("component %d: degrees of freedom not above 0: %w", i+1, ErrDomain)
		}
		largest = max(largest, p.U)
	}
	if largest == 0 {
		return 0, math.Inf(1), nil
	}
	variance, denominator := 0.0, 0.0
	for _, p := range parts {
		if r := p.U / largest; r > 0 {
			variance += r * r
			denominator += r * r * r * r / p.DOF
		}
	}
	u = largest * math.Sqrt(variance)
	if denominator == 0 {
		return u, math.Inf(1), nil
	}
	return u, truncate(variance * variance / denominator), nil
}

// truncate rounds degrees of freedom down, but takes what is a whole number
// but for rounding of the arithmetic as that number: one component with
// ν = 9 must not come out as 8.
func truncate(nu float64) float64 {
	return max(1, math.Floor(nu*(1+1e-12)))
}

// Rectangular returns the standard uncertainty of a value known only to lie
// within ±half of the estimate: half/√3 (JCGM 100:2008, 4.3.7).
func Rectangular(half float64) float64 { return half / math.Sqrt(3) }

// Resolution returns the standard uncertainty of a display that steps by
// step: step/√12 (JCGM 100:2008, F.2.2.1).
func Resolution(step float64) float64 { return step / math.Sqrt(12) }

// Pooled returns the standard deviation common to several groups of repeats
// and its degrees of freedom, from each group's SD and degrees of freedom:
//
//	s = √(Σνᵢsᵢ²/Σνᵢ),   ν = Σνᵢ
//
// Groups without degrees of freedom (single readings) count for nothing. It
// returns ErrTooFew when no degrees of freedom are left, ErrNotFinite, and
// ErrDomain for negative values.
func Pooled(groups []Component) (sd, nu float64, err error) {
	var squares, dof accumulator
	for i, g := range groups {
		switch {
		case math.IsNaN(g.U) || math.IsInf(g.U, 0) || math.IsNaN(g.DOF) || math.IsInf(g.DOF, 0):
			return 0, 0, fmt.Errorf("group %d: %w", i+1, ErrNotFinite)
		case g.U < 0 || g.DOF < 0:
			return 0, 0, fmt.Errorf("group %d: negative: %w", i+1, ErrDomain)
		}
		squares.add(g.DOF * g.U * g.U)
		dof.add(g.DOF)
	}
	nu = dof.total()
	if nu == 0 {
		return 0, 0, fmt.Errorf("pooled spread: no group has two readings: %w", ErrTooFew)
	}
	return math.Sqrt(squares.total() / nu), nu, nil
}
