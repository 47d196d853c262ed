package metrology

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Limits are the tolerance or acceptance limits of a quantity; −Inf or +Inf
// leaves a side open.
type Limits struct{ Low, High float64 }

// check returns ErrDomain for limits that are out of order or NaN.
func (l Limits) check(what string) error {
	if math.IsNaN(l.Low) || math.IsNaN(l.High) || l.Low >= l.High {
		return fmt.Errorf("%s from %g to %g: %w", what, l.Low, l.High, ErrDomain)
	}
	return nil
}

// ConformityProbability returns the probability that a quantity estimated as y
// with standard uncertainty u and nu degrees of freedom (+Inf: normal) lies
// within limits:
//
//	p = T((T_U − y)/u) − T((T_L − y)/u)
//
// (JCGM 106:2012, 7.2 to 7.4). With u = 0 it is 1 inside or on a limit and 0
// outside. It returns ErrDomain for a negative u, nu not above 0, or limits
// out of order, and ErrNotFinite.
func ConformityProbability(y, u, nu float64, limits Limits) (float64, error) {
	if err := limits.check("limits"); err != nil {
		return 0, err
	}
	switch {
	case !allFinite(y, u):
		return 0, fmt.Errorf("a quantity %g with uncertainty %g: %w", y, u, ErrNotFinite)
	case u < 0 || !(nu > 0):
		return 0, fmt.Errorf("uncertainty %g with %g degrees of freedom: %w", u, nu, ErrDomain)
	case u == 0:
		if limits.Low <= y && y <= limits.High {
			return 1, nil
		}
		return 0, nil
	}
	// One less both tails, so that a probability near 1 keeps its digits.
	below := StudentCDF((limits.Low-y)/u, nu)
	above := StudentCDF((y-limits.High)/u, nu)
	return clamp01(1 - below - above), nil
}

// GuardBand returns the width w by which acceptance limits are moved inwards
// for the specific risk of accepting a single item, one limit at a time, to be
// at most risk: w = t₁₋risk(ν)·u (JCGM 106:2012, 8.3.2; w = 2u with a normal
// distribution leaves 2.3 %). It returns ErrDomain for a risk outside (0, 0.5],
// a negative u or nu not above 0.
func GuardBand(u, nu, risk float64) (float64, error) {
	if !(risk > 0 && risk <= 0.5) || !(u >= 0) || math.IsInf(u, 0) || !(nu > 0) {
		return 0, fmt.Errorf("a guard band for uncertainty %g with %g degrees of freedom and risk %g: %w", u, nu, risk, ErrDomain)
	}
	return StudentQuantile(1-risk, nu) * u, nil
}

// Prior is the distribution of a quantity over the items of a process, before
// one of them is measured.
type Prior interface {
	Prob(x float64) float64     // density
	CDF(x float64) float64      // probability of at most x
	Quantile(p float64) float64 // inverse of CDF
}

// NormalPrior returns a normal distribution of items. It returns ErrDomain for
// a standard deviation not above 0, and ErrNotFinite.
func NormalPrior(mean, sd float64) (Prior, error) {
	if !allFinite(mean, sd) {
		return nil, fmt.Errorf("a normal distribution (%g, %g): %w", mean, sd, ErrNotFinite)
	}
	if sd <= 0 {
		return nil, fmt.Errorf("a normal distribution with standard deviation %g: %w", sd, ErrDomain)
	}
	return distuv.Normal{Mu: mean, Sigma: sd}, nil
}

// GammaPrior returns a gamma distribution of items, with mean shape/rate. It
// returns ErrDomain for parameters not above 0, and ErrNotFinite.
func GammaPrior(shape, rate float64) (Prior, error) {
	if !allFinite(shape, rate) {
		return nil, fmt.Errorf("a gamma distribution (%g, %g): %w", shape, rate, ErrNotFinite)
	}
	if shape <= 0 || rate <= 0 {
		return nil, fmt.Errorf("a gamma distribution with shape %g and rate %g: %w", shape, rate, ErrDomain)
	}
	return distuv.Gamma{Alpha: shape, Beta: rate}, nil
}

// Risks are the global risks of a decision rule over a process.
type Risks struct {
	Nonconforming float64 // share of items outside the tolerance
	Consumer      float64 // an item is outside and accepted
	Producer      float64 // an item is inside and rejected
}

// GlobalRisks returns the risks of accepting what measures within acceptance,
// for items distributed as prior, measured with normal error of standard
// uncertainty u, and conforming within tolerance (JCGM 106:2012, 9.5):
//
//	R_C = ∫_outside g(η)·P(accepted | η) dη,   R_P = ∫_inside g(η)·P(rejected | η) dη
//
// The integrals run over the prior's quantiles from 1e-15 to 1−1e-15, in
// panels that end where the integrand bends. It returns ErrDomain for limits
// out of order or u not above 0.
func GlobalRisks(prior Prior, u float64, tolerance, acceptance Limits) (Risks, error) {
	if err := tolerance.check("tolerance"); err != nil {
		return Risks{}, err
	}
	if err := acceptance.check("acceptance"); err != nil {
		return Risks{}, err
	}
	if !(u > 0) || math.IsInf(u, 0) {
		return Risks{}, fmt.Errorf("uncertainty %g: %w", u, ErrDomain)
	}
	accepted := func(x float64) float64 {
		return normalBetween((acceptance.Low-x)/u, (acceptance.High-x)/u)
	}
	rejected := func(x float64) float64 {
		return NormalCDF((acceptance.Low-x)/u) + NormalCDF((x-acceptance.High)/u)
	}
	low, high := prior.Quantile(1e-15), prior.Quantile(1-1e-15)
	bends := []float64{acceptance.Low, acceptance.High}
	over := func(from, to float64, p func(float64) float64) float64 {
		from, to = max(from, low), min(to, high)
		if from >= to {
			return 0
		}
		return integrate(func(x float64) float64 { return prior.Prob(x) * p(x) }, from, to, u, bends)
	}
	return Risks{
		Nonconforming: clamp01(prior.CDF(tolerance.Low) + 1 - prior.CDF(tolerance.High)),
		Consumer:      over(math.Inf(-1), tolerance.Low, accepted) + over(tolerance.High, math.Inf(1), accepted),
		Producer:      over(tolerance.Low, tolerance.High, rejected),
	}, nil
}

// AcceptanceLimit returns the upper acceptance limit at which the consumer's
// risk with one upper tolerance limit is the given one (JCGM 106:2012,
// 9.5.4). Its errors are GlobalRisks', ErrDomain for a risk outside (0, 1),
// and ErrDegenerate when no limit within 40·u of the tolerance's gives it.
func AcceptanceLimit(prior Prior, u, tolerance, risk float64) (float64, error) {
	if !(risk > 0 && risk < 1) {
		return 0, fmt.Errorf("risk %g: %w", risk, ErrDomain)
	}
	excess := func(limit float64) float64 {
		r, err := GlobalRisks(prior, u, Limits{math.Inf(-1), tolerance}, Limits{math.Inf(-1), limit})
		if err != nil {
			return math.NaN()
		}
		return r.Consumer - risk
	}
	low, high := tolerance-40*u, tolerance+40*u
	fl, fh := excess(low), excess(high)
	if math.IsNaN(fl) || math.IsNaN(fh) {
		_, err := GlobalRisks(prior, u, Limits{math.Inf(-1), tolerance}, Limits{math.Inf(-1), tolerance})
		return 0, err
	}
	if fl > 0 || fh < 0 {
		return 0, fmt.Errorf("no acceptance limit gives a consumer's risk of %g: %w", risk, ErrDegenerate)
	}
	return ridders(excess, low, fl, high, fh)
}
