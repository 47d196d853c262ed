package metrology

import (
	"fmt"
	"math"
)

// meanRange is d₂ for ranges of two: the mean of |x₁−x₂|/σ, 2/√π.
const meanRange = 1.1283791670955126

// Individuals is a control chart of single values: centre and limits from the
// values' own history.
type Individuals struct {
	N      int     // values of the history
	Centre float64 // their mean
	Sigma  float64 // mean moving range / 1.128
	Lower  float64 // centre − 3·sigma
	Upper  float64 // centre + 3·sigma
}

// NewIndividuals returns the chart of a history in order of time: sigma is the
// mean of |xᵢ − xᵢ₋₁| divided by d₂ = 1.128, so that a slow drift widens the
// limits less than it would by the standard deviation (NIST/SEMATECH
// e-Handbook of Statistical Methods, 6.3.2.2). It returns ErrTooFew for fewer
// than two values and ErrNotFinite.
func NewIndividuals(history []float64) (Individuals, error) {
	if len(history) < 2 {
		return Individuals{}, fmt.Errorf("a control chart from %d values, 2 are needed: %w", len(history), ErrTooFew)
	}
	s, err := Summarise(history)
	if err != nil {
		return Individuals{}, err
	}
	var moving accumulator
	for i := 1; i < len(history); i++ {
		moving.add(math.Abs(history[i] - history[i-1]))
	}
	sigma := moving.total() / float64(len(history)-1) / meanRange
	return Individuals{s.N, s.Mean, sigma, s.Mean - 3*sigma, s.Mean + 3*sigma}, nil
}

// Inside reports whether a new value lies within the limits.
func (c Individuals) Inside(x float64) bool { return c.Lower <= x && x <= c.Upper }

// CUSUM is a two-sided cumulative sum chart in units of sigma:
//
//	C⁺ = max(0, C⁺ + z − k),   C⁻ = max(0, C⁻ − z − k),   z = (x − target)/sigma
//
// It signals when either exceeds h (Page 1954, Biometrika 41:100–115). The
// zero value is not usable; see NewCUSUM. A CUSUM is a value: Add returns the
// next one.
type CUSUM struct {
	Target, Sigma float64
	K, H          float64 // allowance and decision interval, in sigmas
	Up, Down      float64 // C⁺ and C⁻
	N             int     // values so far
}

// NewCUSUM returns a chart before its first value. The usual k = 0.5 and h = 5
// find a shift of one sigma after about ten values, with one false alarm in
// about 465 [practice]. It returns ErrNotFinite, and ErrDomain for sigma or h
// not above 0 or a negative k.
func NewCUSUM(target, sigma, k, h float64) (CUSUM, error) {
	if !allFinite(target, sigma, k, h) {
		return CUSUM{}, fmt.Errorf("a cumulative sum chart: %w", ErrNotFinite)
	}
	if sigma <= 0 || h <= 0 || k < 0 {
		return CUSUM{}, fmt.Errorf("a cumulative sum chart with sigma %g, k %g, h %g: %w", sigma, k, h, ErrDomain)
	}
	return CUSUM{Target: target, Sigma: sigma, K: k, H: h}, nil
}

// Add returns the chart after one more value. A value that is not finite is
// refused with ErrNotFinite and the chart returned unchanged.
func (c CUSUM) Add(x float64) (CUSUM, error) {
	if !allFinite(x) {
		return c, fmt.Errorf("a value of a cumulative sum chart: %w", ErrNotFinite)
	}
	z := (x - c.Target) / c.Sigma
	c.Up = max(0, c.Up+z-c.K)
	c.Down = max(0, c.Down-z-c.K)
	c.N++
	return c, nil
}

// Signals reports whether the process has left its target.
func (c CUSUM) Signals() bool { return c.Up > c.H || c.Down > c.H }
