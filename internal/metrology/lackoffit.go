package metrology

import (
	"fmt"
	"math"
)

// LackOfFit compares how far group means lie off a straight line with how far
// repeats scatter within their groups.
type LackOfFit struct {
	Groups, N int
	SSLine    float64 // Σnᵢ(ȳᵢ − ŷᵢ)², the means about the line
	DOFLine   float64 // m − 2
	SSRepeats float64 // ΣΣ(yᵢⱼ − ȳᵢ)², pure error
	DOFPure   float64 // N − m
	F         float64 // 0 when it can't be formed; see Testable
	P         float64 // P(F' ≥ F) if the line holds
}

// Testable reports whether F and P mean something: there are three groups or
// more, repeats within them, and the repeats scatter.
func (l LackOfFit) Testable() bool {
	return l.DOFLine > 0 && l.DOFPure > 0 && l.SSRepeats > 0
}

// Repeatability returns the SD of single values within groups, √(SS/(N−m)),
// and false when no group has two values.
func (l LackOfFit) Repeatability() (float64, bool) {
	if l.DOFPure <= 0 {
		return 0, false
	}
	return math.Sqrt(l.SSRepeats / l.DOFPure), true
}

// FitLackOfFit takes groups of values y, each at one x, and returns
//
//	F = [SS_line/(m−2)] / [SS_repeats/(N−m)]
//
// for m groups of N values in all, against a line fitted to the values with
// equal weights (Draper and Smith 1998, Applied Regression Analysis, 2.1). It
// returns ErrDomain for slices of different length or an empty group,
// ErrTooFew for fewer than two groups, ErrNotFinite, and ErrDegenerate when
// all x are equal.
func FitLackOfFit(xs []float64, groups [][]float64) (LackOfFit, error) {
	if len(xs) != len(groups) {
		return LackOfFit{}, fmt.Errorf("%d x for %d groups: %w", len(xs), len(groups), ErrDomain)
	}
	if len(groups) < 2 {
		return LackOfFit{}, fmt.Errorf("lack of fit of %d groups: %w", len(groups), ErrTooFew)
	}
	means, counts := make([]float64, len(groups)), make([]float64, len(groups))
	l := LackOfFit{Groups: len(groups)}
	var pure accumulator
	for i, g := range groups {
		if len(g) == 0 {
			return LackOfFit{}, fmt.Errorf("group %d is empty: %w", i+1, ErrDomain)
		}
		s, err := Summarise(g)
		if err != nil {
			return LackOfFit{}, fmt.Errorf("group %d: %w", i+1, err)
		}
		means[i], counts[i] = s.Mean, float64(s.N)
		pure.add(s.SD * s.SD * s.DOF())
		l.N += s.N
	}
	l.SSRepeats = pure.total()
	l.DOFLine, l.DOFPure = float64(l.Groups-2), float64(l.N-l.Groups)
	if l.Groups == 2 {
		// Two means lie on a line; only whether their x differ is to be seen.
		if xs[0] == xs[1] {
			return LackOfFit{}, fmt.Errorf("all x are equal: %w", ErrDegenerate)
		}
		return l, finite("x", xs)
	}
	line, err := FitLine(xs, means, counts, 0)
	if err != nil {
		return LackOfFit{}, err
	}
	// FitLine scales the weights to a mean of 1; the sum of squares wants nᵢ.
	l.SSLine = line.SumOfSquares * float64(l.N) / float64(l.Groups)
	if l.Testable() {
		l.F = (l.SSLine / l.DOFLine) / (l.SSRepeats / l.DOFPure)
		l.P = FSurvival(l.F, l.DOFLine, l.DOFPure)
	}
	return l, nil
}
