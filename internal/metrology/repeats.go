package metrology

import (
	"math"
	"slices"

	"seamfit/internal/length"
)

// Repeats is how repeated readings of one thing scatter: the SD of single
// readings in millimetres with its degrees of freedom, known beforehand, and
// the step of the display.
type Repeats struct {
	SD         Component
	Resolution length.Length
}

// Single returns the SD of a single reading with the rounding of the display.
func (r Repeats) Single() float64 { return math.Hypot(r.SD.U, Resolution(r.Resolution.MM())) }

// MeanU returns the standard uncertainty of the mean of n readings, s/√n, with
// the rounding of the display, which does not average out.
func (r Repeats) MeanU(n int) float64 {
	return math.Hypot(r.SD.U/math.Sqrt(float64(n)), Resolution(r.Resolution.MM()))
}

// Agree compares the range of two readings or more with the critical range
// q₀.₉₅(n, ν)·s of such readings (ISO 5725-6:1994, 5.2.2), which is never below
// one step: two readings that differ by it agree. Spread and limit are in
// millimetres.
func (r Repeats) Agree(values []length.Length) (spread, limit float64, ok bool) {
	if len(values) < 2 {
		return 0, 0, true
	}
	spread = (slices.Max(values) - slices.Min(values)).MM()
	q, err := CriticalRangeFactor(len(values), r.SD.DOF)
	if err != nil {
		return spread, math.Inf(1), true // no test is defined for so few degrees of freedom
	}
	limit = max(q*r.Single(), r.Resolution.MM())
	return spread, limit, spread <= limit
}
