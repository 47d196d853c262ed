package seam

import (
	"fmt"
	"math"

	"seamfit/internal/metrology"
)

// Perimeter returns the perimeter of a convex outline from widths taken at
// equal angles over half a turn, in their unit:
//
//	P = π·w̄
//
// It is exact for a circle, and for any outline as the number of angles k
// grows (Cauchy 1841: π times the mean width over all directions): of the
// outline's ripples, only those with 2k, 4k, … waves round it are left in. It
// returns metrology.ErrTooFew for no width and metrology.ErrNotFinite.
func Perimeter(widths []float64) (float64, error) {
	s, err := metrology.Summarise(widths)
	if err != nil {
		return 0, fmt.Errorf("perimeter: %w", err)
	}
	return math.Pi * s.Mean, nil
}

// visible returns by what a gap at mid-thickness is multiplied to be the gap
// that is seen outside, on a band of outer diameter od and thickness t: both
// span the same angle.
func visible(od, t float64) float64 { return od / (od - t) }
