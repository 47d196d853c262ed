package metrology

import (
	"fmt"
	"math"
)

// Outlier is the result of Grubbs' test: which value lies farthest from the
// mean, and whether that is farther than chance explains.
type Outlier struct {
	Index    int     // of the farthest value
	G        float64 // |x − x̄|/s of it
	Critical float64
	Outlying bool
}

// Grubbs tests, two-sided at the given significance, whether the value
// farthest from the mean is one that does not belong (Grubbs 1950, Annals of
// Mathematical Statistics 21:27–58). A value that is told to be outlying is
// not thereby wrong, and never to be dropped without a reason of its own.
//
// It returns ErrTooFew for fewer than three values, ErrNotFinite, ErrDomain
// for a significance outside (0, 1), and ErrDegenerate when all are equal.
func Grubbs(xs []float64, significance float64) (Outlier, error) {
	if len(xs) < 3 {
		return Outlier{}, fmt.Errorf("an outlier among %d values, 3 are needed: %w", len(xs), ErrTooFew)
	}
	s, err := Summarise(xs)
	if err != nil {
		return Outlier{}, err
	}
	if s.SD == 0 {
		return Outlier{}, fmt.Errorf("all values are equal: %w", ErrDegenerate)
	}
	critical, err := GrubbsCritical(len(xs), significance, true)
	if err != nil {
		return Outlier{}, err
	}
	o := Outlier{Critical: critical}
	for i, x := range xs {
		if g := math.Abs(x-s.Mean) / s.SD; g > o.G {
			o.G, o.Index = g, i
		}
	}
	o.Outlying = o.G > critical
	return o, nil
}

// GrubbsCritical returns the value that Grubbs' G of n normal values exceeds
// with the given probability at most, for the larger deviation on either side
// or on one side chosen beforehand:
//
//	G = (n−1)/√n · √(t²/(n−2+t²)),   t = t₁₋α/(2n)(n−2), one-sided t₁₋α/n(n−2)
//
// It returns ErrTooFew for n below 3 and ErrDomain for a significance outside
// (0, 1).
func GrubbsCritical(n int, significance float64, twoSided bool) (float64, error) {
	if n < 3 {
		return 0, fmt.Errorf("an outlier among %d values, 3 are needed: %w", n, ErrTooFew)
	}
	if !(significance > 0 && significance < 1) {
		return 0, fmt.Errorf("significance %g: %w", significance, ErrDomain)
	}
	nf := float64(n)
	tail := significance / nf
	if twoSided {
		tail /= 2
	}
	t := StudentQuantile(tail, nf-2)
	return (nf - 1) / math.Sqrt(nf) * math.Sqrt(t*t/(nf-2+t*t)), nil
}
