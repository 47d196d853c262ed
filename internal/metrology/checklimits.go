package metrology

import (
	"fmt"
	"math"
)

// CheckRules are what checks of a caliper on a rod are judged by. Lengths are
// in millimetres.
type CheckRules struct {
	// Fewest is the number of checks from which on their own history sets the
	// limits.
	Fewest int
	// Most is the largest error that passes whatever the history says; the
	// only limit while the history is short.
	Most float64
	// U is the standard uncertainty of one check from repeats and display. The
	// limits are never narrower than three of it: some equal checks would
	// leave none.
	U float64
}

// CheckLimits are the control limits of the next check of a rod.
type CheckLimits struct {
	Low, High float64 // of the error, in mm
	// History is the number of checks that the limits come from; 0 when they
	// are the fixed ones.
	History int
}

// Inside reports whether an error in millimetres passes.
func (l CheckLimits) Inside(e float64) bool {
	// A nanometre's rounding must not decide.
	const nanometre = 1e-6
	return e >= l.Low-nanometre/2 && e <= l.High+nanometre/2
}

// Limits returns the limits that the errors of earlier checks on the same rod,
// in order of time and in millimetres, set for the next one: centre ± the
// larger of three sigmas of NewIndividuals and 3·U, and never beyond ±Most. It
// returns ErrNotFinite, and ErrDomain for rules without sense.
func (r CheckRules) Limits(history []float64) (CheckLimits, error) {
	if !allFinite(r.Most, r.U) {
		return CheckLimits{}, fmt.Errorf("rules of a check: %w", ErrNotFinite)
	}
	if r.Fewest < 2 || r.Most <= 0 || r.U < 0 {
		return CheckLimits{}, fmt.Errorf("rules of a check with %d checks, limit %g, u %g: %w", r.Fewest, r.Most, r.U, ErrDomain)
	}
	if len(history) < r.Fewest {
		return CheckLimits{Low: -r.Most, High: r.Most}, finite("check", history)
	}
	chart, err := NewIndividuals(history)
	if err != nil {
		return CheckLimits{}, err
	}
	reach := 3 * math.Max(chart.Sigma, r.U)
	limits := CheckLimits{Low: max(chart.Centre-reach, -r.Most), High: min(chart.Centre+reach, r.Most), History: len(history)}
	if limits.Low > limits.High { // the history itself lies beyond ±Most
		limits.Low, limits.High = -r.Most, r.Most
	}
	return limits, nil
}

// Drifts reports whether checks, in order of time, wander slowly off where
// they began: a CUSUM with the usual k = 0.5 and h = 5 [practice] around the
// mean of the first Fewest of them, in units of the larger of their sigma and
// U. With no more checks than that, or no scatter and no U, there is nothing
// to say. It returns ErrNotFinite, and ErrDomain for rules without sense.
func (r CheckRules) Drifts(errors []float64) (bool, error) {
	if len(errors) <= r.Fewest || r.Fewest < 2 {
		return false, finite("check", errors)
	}
	chart, err := NewIndividuals(errors[:r.Fewest])
	if err != nil {
		return false, err
	}
	sigma := math.Max(chart.Sigma, r.U)
	if sigma == 0 {
		return false, nil
	}
	cusum, err := NewCUSUM(chart.Centre, sigma, 0.5, 5)
	if err != nil {
		return false, err
	}
	for _, e := range errors[r.Fewest:] {
		if cusum, err = cusum.Add(e); err != nil {
			return false, err
		}
	}
	return cusum.Signals(), nil
}
