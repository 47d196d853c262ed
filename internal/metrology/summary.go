package metrology

import (
	"fmt"
	"math"
	"slices"
)

// Summary is location and spread of n values.
type Summary struct {
	N    int
	Mean float64
	SD   float64 // with divisor n−1; 0 when n is 1
}

// DOF returns the degrees of freedom of SD, n−1.
func (s Summary) DOF() float64 { return float64(s.N - 1) }

// Summarise returns the mean and the sample standard deviation
//
//	x̄ = Σxᵢ/n,   s = √(Σ(xᵢ−x̄)² / (n−1))
//
// of one or more finite values, in their unit. It takes three passes: a
// compensated sum, a correction of the mean by the mean of the deviations,
// and squares of the deviations less what rounding of the mean left in them
// (Chan, Golub and LeVeque 1983, The American Statistician 37:242–247), so
// that many constant leading digits cost nothing beyond what the values
// themselves had already lost.
//
// It returns ErrTooFew for no values and ErrNotFinite.
func Summarise(xs []float64) (Summary, error) {
	if len(xs) == 0 {
		return Summary{}, fmt.Errorf("mean: %w", ErrTooFew)
	}
	if err := finite("value", xs); err != nil {
		return Summary{}, err
	}
	n := float64(len(xs))
	mean := sum(xs) / n
	var first accumulator
	for _, x := range xs {
		first.add(x - mean)
	}
	mean += first.total() / n

	var rest, squares accumulator
	for _, x := range xs {
		d := x - mean
		rest.add(d)
		squares.add(d * d)
	}
	s := Summary{N: len(xs), Mean: mean}
	if len(xs) > 1 {
		r := rest.total()
		s.SD = math.Sqrt(max(0, squares.total()-r*r/n) / (n - 1))
	}
	if math.IsInf(s.Mean, 0) || math.IsInf(s.SD, 0) || math.IsNaN(s.Mean) || math.IsNaN(s.SD) {
		return Summary{}, fmt.Errorf("mean or spread overflows: %w", ErrNotFinite)
	}
	return s, nil
}

// Median returns the middle value of one or more finite values, the mean of
// the two middle ones when their number is even. It returns ErrTooFew and
// ErrNotFinite.
func Median(xs []float64) (float64, error) {
	if len(xs) == 0 {
		return 0, fmt.Errorf("median: %w", ErrTooFew)
	}
	if err := finite("value", xs); err != nil {
		return 0, err
	}
	sorted := slices.Sorted(slices.Values(xs))
	half := len(sorted) / 2
	if len(sorted)%2 == 1 {
		return sorted[half], nil
	}
	// Halves first: the sum of two large values could overflow.
	return sorted[half-1]/2 + sorted[half]/2, nil
}

// madToSD makes the median absolute deviation of a normal distribution its
// standard deviation: 1/Φ⁻¹(3/4).
const madToSD = 1.482602218505602

// RobustSpread returns the median and 1.4826 times the median absolute
// deviation from it, which for normal values estimates the standard
// deviation and which up to half of the values can't upset. It returns
// ErrTooFew and ErrNotFinite.
func RobustSpread(xs []float64) (median, sd float64, err error) {
	median, err = Median(xs)
	if err != nil {
		return 0, 0, err
	}
	deviations := make([]float64, len(xs))
	for i, x := range xs {
		deviations[i] = math.Abs(x - median)
	}
	mad, err := Median(deviations)
	return median, madToSD * mad, err
}

// accumulator is a compensated sum (Neumaier's form of Kahan's): its error
// does not grow with the number of terms.
type accumulator struct{ s, c float64 }

func (a *accumulator) add(x float64) {
	t := a.s + x
	if math.Abs(a.s) >= math.Abs(x) {
		a.c += (a.s - t) + x
	} else {
		a.c += (x - t) + a.s
	}
	a.s = t
}

func (a *accumulator) total() float64 { return a.s + a.c }

func sum(xs []float64) float64 {
	var a accumulator
	for _, x := range xs {
		a.add(x)
	}
	return a.total()
}
