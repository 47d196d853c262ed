package seam

import (
	"fmt"
	"math"

	"seamfit/internal/catalogue"
	"seamfit/internal/metrology"
)

// Verdict is what the measurements say of a closed band.
type Verdict string

// The verdicts.
const (
	// Flush: nothing measured is wrong, at the risk that the bench has set.
	Flush Verdict = "flush"
	// Gap: the edges are more likely than not further apart than the limit.
	Gap Verdict = "gap"
	// Step: an edge may ride on the other; the widths then say nothing of a gap.
	Step Verdict = "step"
	// Uncertain: neither can be said, or something other than the gap is over
	// its limit.
	Uncertain Verdict = "uncertain"
)

// Judged is one quantity beside its limit: its value and standard uncertainty
// in millimetres, and the probability that it is on the wrong side.
type Judged struct {
	ValueMM, UMM float64
	LimitMM      float64
	PWrong       float64
}

// Judgement is what the measurements of a closed band come to; its JSON is
// that of the command "seamfit seam", and holds the unrounded numbers.
type Judgement struct {
	PerimeterMM float64 `json:"perimeter_mm"`
	// GapMM is the perimeter less π times the flush outer diameter: the gap at
	// mid-thickness, unless a step shows. GapUMM is its standard uncertainty.
	GapMM  float64 `json:"gap_mm"`
	GapUMM float64 `json:"gap_u_mm"`
	// PGapOverLimit is the probability that the gap seen outside is over its
	// limit; null when a step shows, because the widths don't tell then.
	PGapOverLimit *float64 `json:"p_gap_over_limit"`
	// POverlap is the larger of the probabilities that an edge rides (the
	// width through the seam more than t/2 over the others) and that the band
	// is smaller round than flush. The widths can't tell a zero gap from a
	// hair of overlap: for a band closed flush it is about one half.
	POverlap     float64  `json:"p_overlap"`
	OutOfRoundMM float64  `json:"out_of_round_mm"`
	OffsetMM     *float64 `json:"offset_mm"`    // null: no height measured
	ClearanceMM  *float64 `json:"clearance_mm"` // null: no leg width given
	Verdict      Verdict  `json:"verdict"`

	GapDOF metrology.DOF `json:"-"`
	Budget []Component   `json:"-"`
	// OuterMM is the flush outer diameter that was used, Basis where from, and
	// Bands on how many bands it was measured.
	OuterMM float64 `json:"-"`
	Basis   Basis   `json:"-"`
	Bands   int     `json:"-"`
	// Visible is the gap as seen outside, g·OD/(OD−t); while a step shows, no
	// probability is stated.
	Visible Judged `json:"-"`
	// PShort is the probability that the edges have passed each other by more
	// than the limit, from the band's being smaller round than flush.
	PShort float64 `json:"-"`
	// Riding is the width through the seam less the mean of the others; its
	// limit is half the thickness.
	Riding     Judged  `json:"-"`
	OutOfRound Judged  `json:"-"`
	Offset     *Judged `json:"-"` // height over the string's
	Clearance  *Judged `json:"-"` // limit: at least
	// StepShowsToMM is the overlap up to which the widths show a step, if the
	// first goes through the seam within SeamWithinDeg degrees.
	StepShowsToMM float64 `json:"-"`
	SeamWithinDeg float64 `json:"-"`
	// Findings are the catalogue's ids of what was measured wrong.
	Findings []string `json:"-"`
	// Notes say what limits the judgement.
	Notes []string `json:"-"`
}

// Judge judges a closed band. A step is looked for before any gap: with the
// first width w₁ through the seam,
//
//	step:  w₁ − mean(others) > t/2, or max w − min w over its limit
//	gap:   g = π·w̄ − π·OD, seen outside as g·OD/(OD−t)
//
// A gap verdict needs a probability above 0.5 that the seen gap is over its
// limit; flush needs one of at most the set risk, the same for an overlap over
// its limit (a band smaller round than flush), and nothing else over its
// limit. Probabilities use Student's t with the effective degrees of freedom.
// The order of the widths after the first does not matter.
//
// It returns an *InputError for values that can't belong to a closed band:
// fewer than two widths, widths not above twice the thickness, an outer
// diameter of another string (by name, or 15 % off the mean width), a height
// below the string's by more than twice its uncertainty, and for a caliper or
// limits without sense.
func Judge(c Closed, cal Caliper, l Limits) (Judgement, error) {
	for _, err := range []error{cal.check(), l.check(), c.check()} {
		if err != nil {
			return Judgement{}, err
		}
	}
	o, err := c.outline(cal)
	if err != nil {
		return Judgement{}, err
	}
	d, err := c.diameter(o, cal, l)
	if err != nil {
		return Judgement{}, err
	}
	t := c.Thickness.MM()
	if off := math.Abs(o.mean - d.value); !(off <= farthest*d.value) || d.value <= 2*t {
		return Judgement{}, refuse("measure the outer diameter on a flush band of the same string; a band that is this far open needs no caliper",
			"the mean width %.2f mm and the outer diameter %.2f mm are not of one closed band", o.mean, d.value)
	}
	j := Judgement{
		PerimeterMM: o.perimeter, GapMM: math.Pi * (o.mean - d.value), OutOfRoundMM: o.high - o.low,
		OuterMM: d.value, Basis: c.Outer.Basis, Bands: len(c.Outer.Diameters),
	}
	var nu float64
	if j.Budget, j.GapUMM, nu, err = c.budget(o, d, cal); err != nil {
		return Judgement{}, err
	}
	j.GapDOF = metrology.DOF(nu)
	if err := j.besides(c, o, cal, l); err != nil {
		return Judgement{}, err
	}
	times := visible(d.value, t)
	j.Visible = Judged{ValueMM: j.GapMM * times, UMM: j.GapUMM * times, LimitMM: l.Gap.MM()}
	over := exceeds(j.Visible.ValueMM, j.Visible.LimitMM, j.Visible.UMM, nu)
	j.PShort = exceeds(-j.Visible.ValueMM, l.Overlap.MM(), j.Visible.UMM, nu)
	j.POverlap = max(j.Riding.PWrong, exceeds(-j.GapMM, 0, j.GapUMM, nu))
	j.conclude(over, l.Risk)
	shows, aimed := stepShows(d.value, t, len(o.widths), l.OutOfRound.MM())
	j.StepShowsToMM, j.SeamWithinDeg = shows, aimed*180/math.Pi
	j.note(c, o.extrapolated || d.extrapolated)
	return j, j.finite()
}

// finite refuses what a calibration without sense would lead to.
func (j Judgement) finite() error {
	sum := j.PerimeterMM + j.GapMM + j.GapUMM + j.POverlap + j.Riding.PWrong + j.OutOfRound.PWrong
	for _, q := range []*Judged{j.Offset, j.Clearance} {
		if q != nil {
			sum += q.ValueMM + q.PWrong
		}
	}
	if math.IsNaN(sum) || math.IsInf(sum, 0) {
		return fmt.Errorf("the seam: %w; check the calibration in force", metrology.ErrNotFinite)
	}
	return nil
}

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

// conclude gives the verdict, a step before all else, and the findings. over
// is the probability that the gap seen outside is over its limit.
func (j *Judgement) conclude(over, risk float64) {
	rides := j.Riding.ValueMM > j.Riding.LimitMM
	uneven := j.OutOfRound.ValueMM > j.OutOfRound.LimitMM
	step := rides || uneven || j.PShort > 0.5
	if !step {
		j.PGapOverLimit, j.Visible.PWrong = &over, over
	}
	spiral := j.Offset != nil && j.Offset.PWrong > 0.5
	tight := j.Clearance != nil && j.Clearance.PWrong > 0.5
	switch {
	case step:
		j.Verdict = Step
	case over > 0.5:
		j.Verdict = Gap
	case over <= risk && j.PShort <= risk && !spiral && !tight:
		j.Verdict = Flush
	default:
		j.Verdict = Uncertain
	}
	for _, f := range []struct {
		id    string
		found bool
	}{
		{catalogue.Gap, j.Verdict == Gap},
		{catalogue.Overlap, rides || j.PShort > 0.5},
		{catalogue.Spiral, spiral},
		{catalogue.OutOfRound, uneven},
	} {
		if f.found {
			j.Findings = append(j.Findings, f.id)
		}
	}
}

// note writes down what limits the judgement.
func (j *Judgement) note(c Closed, extrapolated bool) {
	add := func(text string, args ...any) { j.Notes = append(j.Notes, fmt.Sprintf(text, args...)) }
	if j.Verdict == Step {
		add("step suspected: look for an overlap; a riding edge widens the band, so no gap is stated")
	}
	if j.PShort > 0.5 {
		add("the band is smaller round than flush: its edges have passed each other, or the outer diameter is another string's")
	}
	switch j.Basis {
	case Nominal:
		add("the outer diameter is computed, inner + 2 × thickness; it varies with the alloy: measure a flush band of the string")
	case Measured:
		if j.Bands == 1 {
			add("the outer diameter rests on one band; how much bands of the string differ is a bench setting")
		}
	case Stated:
	}
	if j.Offset != nil && j.Offset.ValueMM < 0 {
		add("the height reads below the string's by %.3f mm: taken as no offset", -j.Offset.ValueMM)
	}
	if j.Clearance != nil && j.Clearance.PWrong > 0.5 {
		add("too little room for the leg: the band may be tight")
	}
	if extrapolated {
		add("outside the widths that the calibration's rods covered")
	}
	add("an overlap shows as a step if the first width goes through the seam (within %.0f°), the edge rides by more than %.2f mm, and the overlap is under %.1f mm; no other overlap can be seen in the widths",
		j.SeamWithinDeg, c.Thickness.MM()/2, j.StepShowsToMM)
}
