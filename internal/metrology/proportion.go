package metrology

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mathext"
)

// Interval is a range of values, both ends included.
type Interval struct {
	Low  float64 `json:"low"`
	High float64 `json:"high"`
}

// Percent writes a probability with one decimal, so that what is possible is
// never shown as impossible, nor what is likely as certain: "<0.1 %" below 0.001
// and ">99.9 %" above 0.999.
func Percent(p float64) string {
	switch {
	case p < 0.001:
		return "<0.1 %"
	case p > 0.999:
		return ">99.9 %"
	default:
		return fmt.Sprintf("%.1f %%", 100*p)
	}
}

// Wilson returns the score interval of a proportion of which x of n trials
// show the property, at the given two-sided level, without continuity
// correction:
//
//	(p + z²/2n ± z√(p(1−p)/n + z²/4n²)) / (1 + z²/n),   p = x/n
//
// (Wilson 1927; Newcombe 1998, Statistics in Medicine 17:857–872, method 3).
// It returns ErrDomain for n below 1, x outside 0 … n, or a level outside
// (0, 1).
func Wilson(x, n int, level float64) (Interval, error) {
	if err := checkProportion(x, n, level); err != nil {
		return Interval{}, err
	}
	z := NormalQuantile((1 + level) / 2)
	nf := float64(n)
	p := float64(x) / nf
	middle := p + z*z/(2*nf)
	half := z * math.Sqrt(p*(1-p)/nf+z*z/(4*nf*nf))
	scale := 1 + z*z/nf
	i := Interval{max(0, (middle-half)/scale), min(1, (middle+half)/scale)}
	// Exactly 0 and 1 where the formula says so, free of rounding.
	if x == 0 {
		i.Low = 0
	}
	if x == n {
		i.High = 1
	}
	return i, nil
}

// ClopperPearson returns the exact interval of a proportion: the values that
// two one-sided binomial tests at (1−level)/2 each do not reject, quantiles of
// the beta distribution
//
//	low = B⁻¹(α/2; x, n−x+1),   high = B⁻¹(1−α/2; x+1, n−x)
//
// (Clopper and Pearson 1934; Newcombe 1998, method 5). Its errors are
// Wilson's.
func ClopperPearson(x, n int, level float64) (Interval, error) {
	if err := checkProportion(x, n, level); err != nil {
		return Interval{}, err
	}
	tail := (1 - level) / 2
	i := Interval{0, 1}
	if x > 0 {
		i.Low = mathext.InvRegIncBeta(float64(x), float64(n-x+1), tail)
	}
	if x < n {
		// By the mirrored distribution, which keeps the digits of a small tail.
		i.High = 1 - mathext.InvRegIncBeta(float64(n-x), float64(x+1), tail)
	}
	return i, nil
}

func checkProportion(x, n int, level float64) error {
	if n < 1 || x < 0 || x > n || !(level > 0 && level < 1) {
		return fmt.Errorf("a proportion of %d in %d at level %g: %w", x, n, level, ErrDomain)
	}
	return nil
}
