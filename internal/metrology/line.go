package metrology

import (
	"fmt"
	"math"
)

// Line is a straight line y = Offset + Slope·(x − Pivot) with the covariance
// of its two parameters.
type Line struct {
	N            int
	Pivot        float64 // x₀, chosen by the caller
	Offset       float64 // y at the pivot
	Slope        float64
	OffsetSE     float64
	SlopeSE      float64
	Covariance   float64 // of offset and slope
	ResidualSD   float64 // √(Σwᵢrᵢ²/(n−2)), of unit weight
	DOF          float64 // n − 2
	SumOfSquares float64 // Σwᵢrᵢ²
}

// FitLine fits a straight line by least squares. Weights are relative
// (proportional to 1/variance of each y) and may be nil for equal ones; they
// are scaled to a mean of 1. About the weighted mean x̄, which keeps constant
// leading digits out of the sums,
//
//	slope = Sxy/Sxx,   y(x̄) = ȳ,   s² = Σw(y − ŷ)²/(n−2)
//	u²(slope) = s²/Sxx,   u²(y(x̄)) = s²/n,   the two uncorrelated
//
// and then moves both to the pivot x₀:
//
//	offset = ȳ + slope·(x₀ − x̄),   u²(offset) = s²/n + (x₀ − x̄)²·s²/Sxx,
//	cov = (x₀ − x̄)·s²/Sxx
//
// (JCGM 100:2008, H.3.2 and H.3.5). It returns ErrTooFew for fewer than three
// points, ErrDomain for slices of different length or weights not above 0,
// ErrNotFinite, and ErrDegenerate when all x are equal.
func FitLine(xs, ys, weights []float64, pivot float64) (Line, error) {
	if err := checkPoints(xs, ys, weights, 3); err != nil {
		return Line{}, err
	}
	if math.IsNaN(pivot) || math.IsInf(pivot, 0) {
		return Line{}, fmt.Errorf("pivot: %w", ErrNotFinite)
	}
	n := float64(len(xs))
	w := scaledWeights(weights, len(xs))
	xMean, yMean := weightedMean(xs, w), weightedMean(ys, w)
	var sxx, sxy accumulator
	for i := range xs {
		dx := xs[i] - xMean
		sxx.add(w[i] * dx * dx)
		sxy.add(w[i] * dx * (ys[i] - yMean))
	}
	if !(sxx.total() > 0) {
		return Line{}, fmt.Errorf("all x are equal: %w", ErrDegenerate)
	}
	slope := sxy.total() / sxx.total()
	residual := func(i int) float64 { return (ys[i] - yMean) - slope*(xs[i]-xMean) }
	// One step of refinement: the rounding of means and slope leaves a small
	// line in the residuals, which belongs to the parameters.
	var r0, r1 accumulator
	for i := range xs {
		r0.add(w[i] * residual(i))
		r1.add(w[i] * residual(i) * (xs[i] - xMean))
	}
	yMean += r0.total() / n
	slope += r1.total() / sxx.total()
	var squares accumulator
	for i := range xs {
		r := residual(i)
		squares.add(w[i] * r * r)
	}
	line := Line{N: len(xs), Pivot: pivot, Slope: slope, DOF: n - 2, SumOfSquares: squares.total()}
	line.Offset = yMean + slope*(pivot-xMean)
	variance := line.SumOfSquares / line.DOF
	line.ResidualSD = math.Sqrt(variance)
	line.SlopeSE = math.Sqrt(variance / sxx.total())
	line.OffsetSE = math.Hypot(math.Sqrt(variance/n), (pivot-xMean)*line.SlopeSE)
	line.Covariance = (pivot - xMean) * variance / sxx.total()
	if !allFinite(line.Offset, line.Slope, line.OffsetSE, line.SlopeSE, line.Covariance) {
		return Line{}, fmt.Errorf("the line overflows: %w", ErrNotFinite)
	}
	return line, nil
}

// At returns y at x and its standard uncertainty
//
//	u² = u²(offset) + (x−x₀)²·u²(slope) + 2(x−x₀)·cov
//
// (JCGM 100:2008, equation H.15).
func (l Line) At(x float64) (y, u float64) {
	d := x - l.Pivot
	variance := l.OffsetSE*l.OffsetSE + d*d*l.SlopeSE*l.SlopeSE + 2*d*l.Covariance
	return l.Offset + l.Slope*d, math.Sqrt(max(0, variance))
}

// Correlation returns the correlation of offset and slope; 0 when either is
// known without uncertainty.
func (l Line) Correlation() float64 {
	product := l.OffsetSE * l.SlopeSE
	if product == 0 {
		return 0
	}
	return min(max(l.Covariance/product, -1), 1)
}

// Proportional is a line through the origin, y = Slope·x.
type Proportional struct {
	N          int
	Slope      float64
	SlopeSE    float64
	ResidualSD float64
	DOF        float64 // n − 1
}

// FitProportional fits a line through the origin by least squares:
//
//	slope = Σxy/Σx²,   s² = Σ(y − slope·x)²/(n−1),   u²(slope) = s²/Σx²
//
// It returns ErrTooFew for fewer than two points, ErrDomain, ErrNotFinite, and
// ErrDegenerate when all x are 0.
func FitProportional(xs, ys []float64) (Proportional, error) {
	if err := checkPoints(xs, ys, nil, 2); err != nil {
		return Proportional{}, err
	}
	var sxx, sxy, squares, left accumulator
	for i := range xs {
		sxx.add(xs[i] * xs[i])
		sxy.add(xs[i] * ys[i])
	}
	if !(sxx.total() > 0) {
		return Proportional{}, fmt.Errorf("all x are 0: %w", ErrDegenerate)
	}
	slope := sxy.total() / sxx.total()
	for i := range xs {
		left.add((ys[i] - slope*xs[i]) * xs[i])
	}
	slope += left.total() / sxx.total()
	for i := range xs {
		r := ys[i] - slope*xs[i]
		squares.add(r * r)
	}
	p := Proportional{N: len(xs), Slope: slope, DOF: float64(len(xs) - 1)}
	p.ResidualSD = math.Sqrt(squares.total() / p.DOF)
	p.SlopeSE = p.ResidualSD / math.Sqrt(sxx.total())
	if !allFinite(p.Slope, p.SlopeSE, p.ResidualSD) {
		return Proportional{}, fmt.Errorf("the line overflows: %w", ErrNotFinite)
	}
	return p, nil
}

func checkPoints(xs, ys, weights []float64, least int) error {
	if len(xs) != len(ys) || weights != nil && len(weights) != len(xs) {
		return fmt.Errorf("%d x, %d y and %d weights: %w", len(xs), len(ys), len(weights), ErrDomain)
	}
	if len(xs) < least {
		return fmt.Errorf("a line through %d points, %d are needed: %w", len(xs), least, ErrTooFew)
	}
	if err := finite("x", xs); err != nil {
		return err
	}
	if err := finite("y", ys); err != nil {
		return err
	}
	for i, w := range weights {
		if math.IsInf(w, 0) || !(w > 0) {
			return fmt.Errorf("weight %d is %g: %w", i+1, w, ErrDomain)
		}
	}
	return nil
}

// scaledWeights returns weights with a mean of 1.
func scaledWeights(weights []float64, n int) []float64 {
	w := make([]float64, n)
	mean := 1.0
	if weights != nil {
		mean = sum(weights) / float64(n)
	}
	for i := range w {
		w[i] = 1
		if weights != nil {
			w[i] = weights[i] / mean
		}
	}
	return w
}

// weightedMean is Σwx/Σw for weights with a mean of 1, corrected once for what
// rounding left.
func weightedMean(xs, w []float64) float64 {
	n := float64(len(xs))
	var a accumulator
	for i, x := range xs {
		a.add(w[i] * x)
	}
	mean := a.total() / n
	var rest accumulator
	for i, x := range xs {
		rest.add(w[i] * (x - mean))
	}
	return mean + rest.total()/n
}

func allFinite(xs ...float64) bool {
	for _, x := range xs {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return false
		}
	}
	return true
}
