package metrology

import (
	"fmt"
	"math"
)

// increasingRoot returns the x ≥ 0 at which the increasing function f crosses
// zero, from a first guess of a bracket, which it widens as needed. It takes
// Ridders' steps, which keep the bracket and converge quadratically. It
// returns ErrDegenerate when no crossing is found within 2²⁰⁰ of the guess or
// f is not a number.
func increasingRoot(f func(float64) float64, low, high float64) (float64, error) {
	fl, fh := f(low), f(high)
	for i := 0; fl > 0; i++ {
		if i == 200 {
			return 0, fmt.Errorf("no crossing below %g: %w", low, ErrDegenerate)
		}
		high, fh = low, fl
		low /= 2
		fl = f(low)
	}
	for i := 0; fh < 0; i++ {
		if i == 200 {
			return 0, fmt.Errorf("no crossing above %g: %w", high, ErrDegenerate)
		}
		low, fl = high, fh
		high *= 2
		fh = f(high)
	}
	return ridders(f, low, fl, high, fh)
}

// ridders finds the zero of f between low and high, where f has the opposite
// signs fl ≤ 0 ≤ fh (Ridders 1979, IEEE Transactions on Circuits and Systems
// 26:979–980).
func ridders(f func(float64) float64, low, fl, high, fh float64) (float64, error) {
	if fl == 0 {
		return low, nil
	}
	if fh == 0 {
		return high, nil
	}
	last := math.Inf(1)
	for range 200 {
		mid := low + (high-low)/2
		fm := f(mid)
		if math.IsNaN(fm) || math.IsNaN(fl) || math.IsNaN(fh) {
			return 0, fmt.Errorf("root between %g and %g: %w", low, high, ErrDegenerate)
		}
		x := mid
		if scale := math.Sqrt(fm*fm - fl*fh); scale > 0 {
			// f rises, so the step goes against the sign at the middle.
			x = mid - (mid-low)*fm/scale
		}
		fx := f(x)
		if fx == 0 || fm == 0 && x == mid {
			return x, nil
		}
		if math.Abs(x-last) <= 4e-16*math.Abs(x) {
			return x, nil
		}
		last = x
		for _, point := range [2][2]float64{{mid, fm}, {x, fx}} {
			if point[0] <= low || point[0] >= high {
				continue
			}
			if point[1] <= 0 {
				low, fl = point[0], point[1]
			} else {
				high, fh = point[0], point[1]
			}
		}
		if high-low <= 4e-16*math.Abs(high) {
			return x, nil
		}
	}
	return last, nil
}
