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
			"the readings disagree (range %.2f mm, expected within %.2f mm): take another", a.RangeMM, a.CriticalRangeMM)})
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

// inOrderOfHarm sorts warnings into the order in which they are shown.
func inOrderOfHarm(ws []Warning) []Warning {
	harm := [...]string{
		CodeNoMetal, CodeMisfit, CodeClosure, CodeSite, CodeYoung, CodeNoFit, CodeDisagree, CodeStop, CodeCross,
		CodeRange, CodeHistory, CodeAlike, CodeFeathers, CodeTall, CodeMetal, CodeSingle, CodeExtrapolated, CodeUnknownSize,
		CodeUnverified, CodeUncalibrated,
	}
	slices.SortStableFunc(ws, func(a, b Warning) int {
		return slices.Index(harm[:], a.Code) - slices.Index(harm[:], b.Code)
	})
	return ws
}
