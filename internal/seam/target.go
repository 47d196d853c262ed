package seam

import "math"

// Scheme is what the bench target asks for. All of it is bench settings.
type Scheme struct {
	// Unskilled and Skilled are the parts of closings that fail at first look,
	// 0 < Skilled < Unskilled < 1 (p0 and p1).
	Unskilled, Skilled float64
	// Risk is the probability, at most, that an unskilled hand meets the
	// target within this many closings; and that a skilled one who has met it
	// is told within as many that it has lapsed.
	Risk   float64
	Within int
	// LapseDays is the pause between closings after which the target has to be
	// met anew; 0: never.
	LapseDays int
}

// DefaultScheme returns the scheme of a bench that has set none, all bench
// settings: unskilled hands fail every other closing, skilled ones one in ten;
// 5 % risk within 50 closings; a lapse after 180 days.
func DefaultScheme() Scheme {
	return Scheme{Unskilled: 0.5, Skilled: 0.1, Risk: 0.05, Within: 50, LapseDays: 180}
}

// Target is a scheme with its two charts: one that looks out for skill, and
// one that looks out for its loss.
type Target struct {
	scheme     Scheme
	meet, lose cusum
}

// Bounds of a scheme: rarer events, and more closings, no bench has.
const (
	rarest     = 0.001
	mostWithin = 500
)

// NewTarget computes the charts of a scheme. The weights of the one that looks
// out for skill are ln((1−p1)/(1−p0)) for a flush closing and ln(p1/p0) for a
// failed one; h is the smallest value of S with
//
//	P(S ≥ h within the set closings | p0) ≤ risk
//
// exact by Markov chain. The chart of loss has the same weights with the
// opposite sign and its h from P(signal | p1). It returns an *InputError for a
// scheme without sense, or that no run of closings can meet.
func NewTarget(s Scheme) (Target, error) {
	const mend = "set skilled < unskilled as parts of closings that fail (0.1, 0.5), a risk of 0.05, and 50 closings"
	switch {
	case !(s.Skilled >= rarest && s.Skilled < s.Unskilled && s.Unskilled <= 1-rarest):
		return Target{}, refuse(mend, "the failure rates of the bench target are %g and %g", s.Skilled, s.Unskilled)
	case !(s.Risk >= rarest && s.Risk < 0.5):
		return Target{}, refuse(mend, "the risk of the bench target is %g", s.Risk)
	case s.Within < 1 || s.Within > mostWithin:
		return Target{}, refuse(mend, "the bench target's number of closings is %d", s.Within)
	case s.LapseDays < 0:
		return Target{}, refuse("set it to 0 for never, or to a number of days", "the bench target lapses after %d days", s.LapseDays)
	}
	t := Target{scheme: s}
	var err error
	if t.meet, err = newCUSUM(1-s.Unskilled, 1-s.Skilled, s.Risk, s.Within); err != nil {
		return Target{}, refuse(mend, "the bench target can't be met: %v", err)
	}
	if t.lose, err = newCUSUM(s.Skilled, s.Unskilled, s.Risk, s.Within); err != nil {
		return Target{}, refuse(mend, "the loss of the bench target can't be seen: %v", err)
	}
	return t, nil
}

// Scheme returns what the target was made from.
func (t Target) Scheme() Scheme { return t.scheme }

// Weights returns what a flush closing adds to the score and what a failed one
// takes from it (a negative number), and the score h that meets the target.
func (t Target) Weights() (success, failure, h float64) {
	return t.meet.up, -t.meet.down, t.meet.h
}

// Chance returns the probability that a hand which fails this part of its
// closings meets the target within n of them. It is NaN for a rate outside 0
// to 1, and 0 for n below 1; n counts as 500 at most.
func (t Target) Chance(failureRate float64, n int) float64 {
	return reach(t.meet, 1-failureRate, n)
}

// LapseChance returns the probability that a hand which fails this part of its
// closings is told within n of them that the target has lapsed. Special cases
// are Chance's.
func (t Target) LapseChance(failureRate float64, n int) float64 {
	return reach(t.lose, failureRate, n)
}

func reach(c cusum, q float64, n int) float64 {
	switch {
	case math.IsNaN(q) || q < 0 || q > 1:
		return math.NaN()
	case n < 1:
		return 0
	}
	n = min(n, mostWithin)
	return c.reached(q, n)[n-1]
}
