package seam

import (
	"math"

	"seamfit/internal/metrology"
)

// besides judges what is compared with limits beside the gap.
func (j *Judgement) besides(c Closed, o outline, cal Caliper, l Limits) error {
	nu, s := cal.dof(), cal.RepeatabilitySD
	k := float64(len(o.widths))
	step := metrology.Resolution(o.resolution)
	t := c.Thickness.MM()

	// The errors of the caliper are common to widths that are nearly the same.
	u := math.Hypot(s*math.Sqrt(1+1/(k-1)), math.Sqrt2*step)
	riding := o.first - o.others
	j.Riding = Judged{riding, u, t / 2, exceeds(riding, t/2, u, nu)}

	// Taken as two readings chosen beforehand: the extremes of more are
	// further apart, so the probability errs on the side of suspicion.
	u = math.Sqrt2 * math.Hypot(s, step)
	limit := l.OutOfRound.MM()
	j.OutOfRound = Judged{j.OutOfRoundMM, u, limit, exceeds(j.OutOfRoundMM, limit, u, nu)}

	if c.Height.Value > 0 {
		if err := j.offset(c, cal, l); err != nil {
			return err
		}
	}
	if c.Leg.Value > 0 {
		j.clearance(c, o, cal, l)
	}
	return nil
}

// offset is the band's height less its string's, both single readings.
func (j *Judgement) offset(c Closed, cal Caliper, l Limits) error {
	a, b := c.Height.Value.MM(), c.StringHeight.Value.MM()
	fromA, _ := cal.correction(a)
	fromB, _ := cal.correction(b)
	value := (c.Height.Value - c.StringHeight.Value).MM() + fromA - fromB
	u := math.Sqrt2 * cal.RepeatabilitySD
	u = math.Hypot(u, metrology.Resolution(c.Height.Resolution.MM()))
	u = math.Hypot(u, metrology.Resolution(c.StringHeight.Resolution.MM()))
	for _, part := range cal.between(a, b) {
		u = math.Hypot(u, part.UMM)
	}
	if value < -2*u {
		return refuse("measure both again across the rims; if they stay so, the string's height is another string's",
			"the height %v is below the string's %v, and no band is lower than its string", c.Height.Value, c.StringHeight.Value)
	}
	limit := l.Offset.MM()
	j.OffsetMM = &value
	j.Offset = &Judged{value, u, limit, exceeds(value, limit, u, cal.dof())}
	return nil
}

// clearance is the smallest width less twice the thickness less the leg.
func (j *Judgement) clearance(c Closed, o outline, cal Caliper, l Limits) {
	leg := c.Leg.Value.MM()
	correction, _ := cal.correction(leg)
	value := o.low - 2*c.Thickness.MM() - leg - correction
	u := math.Hypot(cal.RepeatabilitySD, metrology.Resolution(o.resolution))
	u = math.Hypot(u, 2*l.ThicknessU.MM())
	if c.LegU > 0 {
		u = math.Hypot(u, c.LegU.MM())
	} else {
		u = math.Hypot(u, math.Hypot(cal.RepeatabilitySD, metrology.Resolution(c.Leg.Resolution.MM())))
	}
	for _, part := range cal.between(o.lowRead, leg) {
		u = math.Hypot(u, part.UMM)
	}
	limit := l.Clearance.MM()
	j.ClearanceMM = &value
	j.Clearance = &Judged{value, u, limit, exceeds(-value, -limit, u, cal.dof())}
}
