package fit

import (
	"math"

	"seamfit/internal/length"
	"seamfit/internal/metrology"
)

// Verdict is what play says of one size for one leg.
type Verdict string

// The verdicts.
const (
	Fits       Verdict = "fits"
	Tight      Verdict = "tight"
	Loose      Verdict = "loose"
	Slips      Verdict = "slips"
	Borderline Verdict = "borderline"
	// Unjudged: the band is not round, or its inner diameter is not published,
	// and the formulas for play do not hold.
	Unjudged Verdict = "unjudged"
)

// The probabilities at which verdicts change (guarded acceptance, JCGM
// 106:2012, 8.3.2; stricter on the side that cripples).
const (
	acceptTight  = 0.01
	acceptLoose  = 0.05
	acceptSlips  = 0.05
	moreThanEven = 0.5
)

// Chances are the probabilities of one size for one leg. Tight, Fit and Loose
// add up to 1.
type Chances struct {
	Play              float64 // (inner − leg)/leg at the best estimate
	Tight, Fit, Loose float64
	Slips             *float64 // nil when no stop was measured
}

// Judge returns the probabilities for a round band of inner diameter inner,
// known with standard uncertainty uInner (0: as good as exact), both in
// millimetres. With T the distribution function of Student's t with the leg's
// degrees of freedom, w̄ and u the leg's, and limits of play 6 % and 60 %,
//
//	P(tight) = T((1.06·w̄ − ID) / √(u_ID² + 1.06²u²))
//	P(loose) = T((ID − 1.60·w̄) / √(u_ID² + 1.60²u²))
//
// which for u_ID = 0 are 1 − T((ID/1.06 − w̄)/u) and T((ID/1.60 − w̄)/u).
// P(slips) is P(J < ID) for the stop J that the band passes more easily: two
// stops measured with one caliper err together, so the larger probability is
// nearer the truth than the two combined as if independent. The stops may be
// nil.
func (m Model) Judge(leg Leg, inner, uInner float64, upper, lower *Leg) Chances {
	tight, loose := 1+m.MinPlay, 1+m.MaxPlay
	c := Chances{
		Play:  (inner - leg.MeanMM) / leg.MeanMM,
		Tight: below(tight*leg.MeanMM-inner, math.Hypot(uInner, tight*leg.UMM), leg.DOF),
		Loose: below(inner-loose*leg.MeanMM, math.Hypot(uInner, loose*leg.UMM), leg.DOF),
	}
	c.Fit = max(0, 1-c.Tight-c.Loose)
	for _, stop := range []*Leg{upper, lower} {
		if stop == nil {
			continue
		}
		p := below(inner-stop.MeanMM, math.Hypot(uInner, stop.UMM), stop.DOF)
		if c.Slips == nil || p > *c.Slips {
			c.Slips = &p
		}
	}
	return c
}

// below is T(difference/u), the probability that a quantity lies below a limit
// from which its estimate is difference away; without uncertainty it is 0
// or 1, and 0 on the limit itself, which is no trespass.
func below(difference, u float64, dof metrology.DOF) float64 {
	if u == 0 {
		if difference > 0 {
			return 1
		}
		return 0
	}
	return metrology.StudentCDF(difference/u, float64(dof))
}

// Verdict returns what the probabilities amount to, and for a borderline size
// the side, Tight or Loose, on which it may be wrong: of both, the one that
// cripples.
func (c Chances) Verdict() (verdict, side Verdict) {
	switch {
	case c.Slips != nil && *c.Slips >= acceptSlips:
		return Slips, ""
	case c.Tight > moreThanEven:
		return Tight, ""
	case c.Loose > moreThanEven:
		return Loose, ""
	case c.Tight <= acceptTight && c.Loose <= acceptLoose:
		return Fits, ""
	case c.Tight > acceptTight:
		return Borderline, Tight
	default:
		return Borderline, Loose
	}
}

// fromTarget is |ln((1+play)/(1+target))|, how far a size is from the play
// aimed at; twice too loose is as far as half as loose.
func (m Model) fromTarget(play float64) float64 {
	return math.Abs(math.Log((1 + play) / (1 + m.TargetPlay)))
}

// Window returns the leg widths in millimetres for which a round band of inner
// diameter inner has a play within the limits: inner/1.60 to inner/1.06.
func (m Model) Window(inner length.Length) (low, high float64) {
	return inner.MM() / (1 + m.MaxPlay), inner.MM() / (1 + m.MinPlay)
}
