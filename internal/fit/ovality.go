package fit

import "math"

// Oval is a leg's ovality, a part of its width, with its standard uncertainty.
type Oval struct {
	Ovality float64 `json:"ovality"`
	U       float64 `json:"u"`
}

// Ovality returns how far a leg is from round, (w̄ − cross)/w̄, and its
// standard uncertainty
//
//	√(u_cross² + (cross/w̄)²·u²) / w̄
//
// from both widths as if independent; what the caliper's calibration does to
// both alike makes the true one smaller. It is negative when the cross width
// is the wider one, which then is the leg width.
func Ovality(leg, cross Leg) (ovality, u float64) {
	ratio := cross.MeanMM / leg.MeanMM
	return 1 - ratio, math.Hypot(cross.UMM, ratio*leg.UMM) / leg.MeanMM
}
