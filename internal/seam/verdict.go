package seam

import (
	"fmt"

	"seamfit/internal/catalogue"
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
	case over <= risk && j.PShort <= risk && j.Riding.PWrong <= risk && !spiral && !tight:
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
