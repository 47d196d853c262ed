// Package metrology holds the statistics of measuring: location and spread
// of repeated readings, distributions and their quantiles, combination of
// uncertainties, calibration lines, conformity to limits, repeatability
// studies, intervals for proportions, outlier tests and control charts.
//
// It is not a statistics library in general, it knows nothing of birds or
// bands, and it does no input or output: no files, no clock, no random
// source. Lengths that cross its border are length.Length; inside, and in
// results that are no lengths, it computes in float64, in whatever unit the
// caller's numbers have.
//
// Degrees of freedom are float64 with +Inf for "known exactly"; the type DOF
// writes that as null in JSON.
//
// Everything here is a function of its arguments or an immutable value, so
// it may be shared freely between goroutines.
package metrology

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
)

// The errors of this package's procedures; the text of the error that wraps
// one says which value is wrong.
var (
	// ErrTooFew: fewer values than the procedure needs.
	ErrTooFew = errors.New("too few values")
	// ErrNotFinite: a value is not a number or infinite.
	ErrNotFinite = errors.New("not a finite number")
	// ErrDomain: an argument lies outside what the formula is defined for.
	ErrDomain = errors.New("outside the formula's domain")
	// ErrDegenerate: the values are finite but leave the result undefined,
	// as a line through points with one and the same x.
	ErrDegenerate = errors.New("the data do not determine the result")
)

// DOF is a number of degrees of freedom; +Inf stands for a value known
// without estimation. In JSON, infinite is null.
type DOF float64

// Infinite returns the degrees of freedom of a value known exactly.
func Infinite() DOF { return DOF(math.Inf(1)) }

// MarshalJSON writes the number, or null when it is infinite. A DOF that is
// not a number is refused with ErrNotFinite.
func (d DOF) MarshalJSON() ([]byte, error) {
	switch v := float64(d); {
	case math.IsInf(v, 1):
		return []byte("null"), nil
	case math.IsNaN(v) || math.IsInf(v, -1):
		return nil, fmt.Errorf("degrees of freedom: %w", ErrNotFinite)
	default:
		return json.Marshal(v)
	}
}

// UnmarshalJSON reads what MarshalJSON writes; null is infinite.
func (d *DOF) UnmarshalJSON(data []byte) error {
	if string(data) == "null" {
		*d = Infinite()
		return nil
	}
	var v float64
	if err := json.Unmarshal(data, &v); err != nil {
		return fmt.Errorf("degrees of freedom: %w", err)
	}
	*d = DOF(v)
	return nil
}

// finite returns ErrNotFinite, naming the position, for the first value that
// is not a finite number.
func finite(what string, xs []float64) error {
	for i, x := range xs {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return fmt.Errorf("%s %d: %w", what, i+1, ErrNotFinite)
		}
	}
	return nil
}
