package metrology

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mathext"
)

// ICC is an intraclass correlation with its two-sided interval, which is
// missing where the residual scatter is 0.
type ICC struct {
	Value    float64
	Interval Interval
	Bounded  bool // Interval means something
}

// ICCs are the intraclass correlations of Shrout and Fleiss 1979 (Psychological
// Bulletin 86:420–428): of a single measurement and of the mean of k banders.
// Case 1 takes each item's banders as drawn anew, case 2 the banders as a
// sample of all banders, case 3 the banders as all there are.
type ICCs struct {
	Single  [3]ICC
	Average [3]ICC
}

// IntraclassCorrelations returns the correlations of values[item][bander], one
// value a cell, with intervals at the given level. With mean squares BMS
// (items), WMS (within items), JMS (banders) and EMS (residual) of n items and
// k banders:
//
//	ICC(1) = (BMS − WMS)/(BMS + (k−1)WMS)
//	ICC(2) = (BMS − EMS)/(BMS + (k−1)EMS + k(JMS − EMS)/n)
//	ICC(3) = (BMS − EMS)/(BMS + (k−1)EMS)
//
// and for means of k (BMS − WMS)/BMS, (BMS − EMS)/(BMS + (JMS − EMS)/n),
// (BMS − EMS)/BMS. Intervals of cases 1 and 3 follow from F exactly, that of
// case 2 from Satterthwaite's degrees of freedom.
//
// It returns ErrTooFew for fewer than two items or banders, ErrDomain for a
// ragged table or a level outside (0, 1), ErrNotFinite, and ErrDegenerate when
// the values leave all of single measurements undefined. One that they leave
// undefined, as they do that of means where the items are all alike, is NaN.
func IntraclassCorrelations(values [][]float64, level float64) (ICCs, error) {
	if !(level > 0 && level < 1) {
		return ICCs{}, fmt.Errorf("level %g: %w", level, ErrDomain)
	}
	cells := make([][][]float64, len(values))
	for i := range values {
		cells[i] = make([][]float64, len(values[i]))
		for j, x := range values[i] {
			cells[i][j] = []float64{x}
		}
	}
	c, err := AnalyseCrossed(cells)
	if err != nil {
		return ICCs{}, err
	}
	s := squares{n: float64(c.Items), k: float64(c.Banders), alpha: 1 - level}
	s.b, s.j, s.e = c.SSItem/c.DFItem, c.SSBander/c.DFBander, c.SSInteraction/c.DFInteraction
	s.w, _ = c.Within()
	single := [3]float64{
		(s.b - s.w) / (s.b + (s.k-1)*s.w),
		(s.b - s.e) / (s.b + (s.k-1)*s.e + s.k*(s.j-s.e)/s.n),
		(s.b - s.e) / (s.b + (s.k-1)*s.e),
	}
	average := [3]float64{(s.b - s.w) / s.b, (s.b - s.e) / (s.b + (s.j-s.e)/s.n), (s.b - s.e) / s.b}
	var out ICCs
	for i, interval := range []func() (Interval, Interval){s.case1, s.case2, s.case3} {
		one, mean := interval()
		out.Single[i], out.Average[i] = bounded(single[i], one), bounded(average[i], mean)
	}
	if !slices.ContainsFunc(single[:], func(v float64) bool { return allFinite(v) }) {
		return ICCs{}, fmt.Errorf("intraclass correlation: %w", ErrDegenerate)
	}
	return out, nil
}

func bounded(value float64, i Interval) ICC {
	if math.IsInf(value, 0) {
		value = math.NaN()
	}
	if !allFinite(value, i.Low, i.High) {
		return ICC{Value: value}
	}
	return ICC{value, i, true}
}

// squares are the mean squares between items, between banders, of the
// residual, and within items.
type squares struct{ n, k, b, j, e, w, alpha float64 }

// case1 returns the intervals of ICC(1) for one and for the mean of k.
func (s squares) case1() (single, average Interval) {
	return s.fromF(s.b/s.w, s.n-1, s.n*(s.k-1))
}

// case3 returns the intervals of ICC(3).
func (s squares) case3() (single, average Interval) {
	return s.fromF(s.b/s.e, s.n-1, (s.n-1)*(s.k-1))
}

func (s squares) fromF(f, d1, d2 float64) (single, average Interval) {
	low := f / fQuantile(1-s.alpha/2, d1, d2)
	high := f * fQuantile(1-s.alpha/2, d2, d1)
	return Interval{(low - 1) / (low + s.k - 1), (high - 1) / (high + s.k - 1)},
		Interval{1 - 1/low, 1 - 1/high}
}

// case2 returns the intervals of ICC(2); those of the mean follow from the
// single one's ends by the Spearman–Brown formula.
func (s squares) case2() (single, average Interval) {
	rho := (s.b - s.e) / (s.b + (s.k-1)*s.e + s.k*(s.j-s.e)/s.n)
	fj := s.j / s.e
	top := s.k*rho*fj + s.n*(1+(s.k-1)*rho) - s.k*rho
	rest := s.n*(1+(s.k-1)*rho) - s.k*rho
	nu := (s.k - 1) * (s.n - 1) * top * top / ((s.n-1)*s.k*s.k*rho*rho*fj*fj + rest*rest)
	f1 := fQuantile(1-s.alpha/2, s.n-1, nu)
	f2 := fQuantile(1-s.alpha/2, nu, s.n-1)
	bottom := s.k*s.j + (s.k*s.n-s.k-s.n)*s.e
	single = Interval{
		s.n * (s.b - f1*s.e) / (f1*bottom + s.n*s.b),
		s.n * (f2*s.b - s.e) / (bottom + s.n*f2*s.b),
	}
	mean := func(r float64) float64 { return s.k * r / (1 + (s.k-1)*r) }
	return single, Interval{mean(single.Low), mean(single.High)}
}

// fQuantile is the p quantile of F with d1 and d2 degrees of freedom.
func fQuantile(p, d1, d2 float64) float64 {
	if !(d1 > 0) || !(d2 > 0) || math.IsInf(d1, 0) || math.IsInf(d2, 0) {
		return math.NaN()
	}
	// By the tail: y = d2/(d2 + d1·F) has a beta distribution.
	y := mathext.InvRegIncBeta(d2/2, d1/2, 1-p)
	return d2 * (1 - y) / (d1 * y)
}
