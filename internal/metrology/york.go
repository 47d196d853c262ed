package metrology

import (
	"fmt"
	"math"
)

// YorkLine is a straight line y = Intercept + Slope·x through points that are
// uncertain in both variables.
type YorkLine struct {
	N           int
	Intercept   float64
	Slope       float64
	InterceptSE float64
	SlopeSE     float64
	Covariance  float64 // of intercept and slope
	// Goodness is S/(n−2), near 1 when the stated uncertainties explain the
	// scatter; above it, they are too small.
	Goodness float64
}

// At returns y at x and its standard uncertainty.
func (l YorkLine) At(x float64) (y, u float64) {
	variance := l.InterceptSE*l.InterceptSE + x*x*l.SlopeSE*l.SlopeSE + 2*x*l.Covariance
	return l.Intercept + l.Slope*x, math.Sqrt(max(0, variance))
}

// FitYork fits a straight line by least squares to points whose x and y have
// standard uncertainties ux and uy, all uncorrelated (York, Evensen, Martínez
// and De Basabe Delgado 2004, American Journal of Physics 72:367–375). With
// ωₓ = 1/ux², ω_y = 1/uy² and the slope b it iterates
//
//	W = ωₓω_y/(ωₓ + b²ω_y),   U = x − x̄,   V = y − ȳ,
//	β = W(U/ω_y + bV/ωₓ),   b = ΣWβV/ΣWβU
//
// The standard uncertainties follow from the stated ones, at the adjusted
// points; the scatter does not enter them (see Goodness). It returns ErrTooFew
// for fewer than three points, ErrDomain for slices of different length or
// uncertainties not above 0, ErrNotFinite, and ErrDegenerate when all x are
// equal or the iteration does not settle.
func FitYork(xs, ys, ux, uy []float64) (YorkLine, error) {
	if len(ux) != len(xs) || len(uy) != len(xs) {
		return YorkLine{}, fmt.Errorf("%d points with %d and %d uncertainties: %w", len(xs), len(ux), len(uy), ErrDomain)
	}
	wx, wy := make([]float64, len(ux)), make([]float64, len(uy))
	for i := range ux {
		if !(ux[i] > 0) || !(uy[i] > 0) || math.IsInf(ux[i], 0) || math.IsInf(uy[i], 0) {
			return YorkLine{}, fmt.Errorf("point %d: uncertainties %g and %g: %w", i+1, ux[i], uy[i], ErrDomain)
		}
		wx[i], wy[i] = 1/(ux[i]*ux[i]), 1/(uy[i]*uy[i])
	}
	start, err := FitLine(xs, ys, wy, 0)
	if err != nil {
		return YorkLine{}, err
	}
	y := yorkFit{xs: xs, ys: ys, wx: wx, wy: wy}
	b := start.Slope
	for range 200 {
		next := y.step(b)
		if !allFinite(next) {
			break
		}
		if math.Abs(next-b) <= 1e-15*math.Abs(next) {
			return y.line(next), nil
		}
		b = next
	}
	// The last digit may alternate for ever; that is settled enough.
	if next := y.step(b); allFinite(next) && math.Abs(next-b) <= 1e-12*math.Abs(next) {
		return y.line(next), nil
	}
	return YorkLine{}, fmt.Errorf("a line with errors in both variables: %w", ErrDegenerate)
}

type yorkFit struct{ xs, ys, wx, wy []float64 }

// parts returns, for slope b, each point's weight, and the weighted means.
func (f yorkFit) parts(b float64) (w []float64, xMean, yMean float64) {
	w = make([]float64, len(f.xs))
	var sw, sx, sy accumulator
	for i := range w {
		w[i] = f.wx[i] * f.wy[i] / (f.wx[i] + b*b*f.wy[i])
		sw.add(w[i])
		sx.add(w[i] * f.xs[i])
		sy.add(w[i] * f.ys[i])
	}
	return w, sx.total() / sw.total(), sy.total() / sw.total()
}

func (f yorkFit) beta(i int, b, w, u, v float64) float64 {
	return w * (u/f.wy[i] + b*v/f.wx[i])
}

func (f yorkFit) step(b float64) float64 {
	w, xMean, yMean := f.parts(b)
	var top, bottom accumulator
	for i := range w {
		u, v := f.xs[i]-xMean, f.ys[i]-yMean
		beta := f.beta(i, b, w[i], u, v)
		top.add(w[i] * beta * v)
		bottom.add(w[i] * beta * u)
	}
	return top.total() / bottom.total()
}

func (f yorkFit) line(b float64) YorkLine {
	w, xMean, yMean := f.parts(b)
	l := YorkLine{N: len(w), Slope: b, Intercept: yMean - b*xMean}
	var sw, swx, s accumulator
	adjusted := make([]float64, len(w))
	for i := range w {
		adjusted[i] = xMean + f.beta(i, b, w[i], f.xs[i]-xMean, f.ys[i]-yMean)
		sw.add(w[i])
		swx.add(w[i] * adjusted[i])
		r := f.ys[i] - b*f.xs[i] - l.Intercept
		s.add(w[i] * r * r)
	}
	centre := swx.total() / sw.total()
	var suu accumulator
	for i := range w {
		d := adjusted[i] - centre
		suu.add(w[i] * d * d)
	}
	l.SlopeSE = 1 / math.Sqrt(suu.total())
	l.InterceptSE = math.Sqrt(1/sw.total() + centre*centre/suu.total())
	l.Covariance = -centre / suu.total()
	l.Goodness = s.total() / float64(len(w)-2)
	return l
}
