package seam

import (
	"fmt"
	"math"

	"seamfit/internal/metrology"
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
// its limit (a band smaller round than flush) and for a step at the seam, and
// nothing else over its limit. Probabilities use Student's t with the effective degrees of freedom.
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
