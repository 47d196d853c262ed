package fit

import (
	"fmt"
	"slices"
)

// readingWarnings are those that concern the readings themselves.
func readingWarnings(leg Leg, a Agreement) []Warning {
	var warnings []Warning
	if !a.OK {
		warnings = append(warnings, Warning{CodeDisagree, fmt.Sprintf(
			"the readings disagree (range %.2f mm, expected within %.3f mm): take another", a.RangeMM, a.CriticalRangeMM)})
	}
	if leg.N == 1 {
		warnings = append(warnings, Warning{CodeSingle, "one reading only: nothing shows that it repeats"})
	}
	if leg.Extrapolated {
		warnings = append(warnings, Warning{CodeExtrapolated, "outside the widths that the calibration's rods covered"})
	}
	if !leg.Calibrated {
		warnings = append(warnings, Warning{CodeUncalibrated, "uncalibrated: no correction, and the caliper's limit of error as uncertainty"})
	}
	return warnings
}

// WarningsFor returns the warnings of the result together with those that
// concern one of its sizes and that its place on the list does not tell already,
// in order of harm.
func (r Result) WarningsFor(size string) []Warning {
	all := slices.Clone(r.Warnings)
	for _, c := range r.Sizes {
		if c.Size != size {
			continue
		}
		for _, w := range c.Warnings {
			if w.Code == CodeTall || w.Code == CodeDiscontinued || w.Code == CodeClosure && !hasCode(all, CodeClosure) {
				all = append(all, Warning{w.Code, "size " + size + ": " + w.Text})
			}
		}
	}
	return inOrderOfHarm(all)
}

func hasCode(ws []Warning, code string) bool {
	return slices.ContainsFunc(ws, func(w Warning) bool { return w.Code == code })
}

// inOrderOfHarm sorts warnings into the order in which they are shown.
func inOrderOfHarm(ws []Warning) []Warning {
	harm := [...]string{
		CodeNoMetal, CodeMisfit, CodeClosure, CodeSite, CodeYoung, CodeNoFit, CodeDisagree, CodeStop, CodeCross,
		CodeRange, CodeHistory, CodeAlike, CodeFeathers, CodeTall, CodeMetal, CodeSingle, CodeExtrapolated, CodeUnknownSize,
		CodeUnverified, CodeUncalibrated, CodeDiscontinued,
	}
	slices.SortStableFunc(ws, func(a, b Warning) int {
		return slices.Index(harm[:], a.Code) - slices.Index(harm[:], b.Code)
	})
	return ws
}
