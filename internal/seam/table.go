package seam

import (
	"fmt"
	"slices"
	"strings"

	"seamfit/internal/metrology"
)

// Table returns a judgement as text for a person, in lines of at most width
// columns where the words allow it. It ends with a line break.
func Table(j Judgement, width int) string {
	var b strings.Builder
	line := func(format string, args ...any) { fmt.Fprintf(&b, format+"\n", args...) }
	line("verdict   %s", j.says())
	line("perimeter %.3f mm; flush outer diameter %.3f mm, %s", j.PerimeterMM, j.OuterMM, j.OuterFrom())
	if k := metrology.CoverageFactor(level, float64(j.GapDOF)); j.PGapOverLimit != nil {
		line("gap       %.3f ± %.3f mm at mid-thickness (95 %%, k = %.2f)", j.GapMM, k*j.GapUMM, k)
	} else {
		line("gap       not stated: a riding edge reads as a gap")
	}
	line("overlap   probability %s (about 50 %% on a band closed flush)", metrology.Percent(j.POverlap))
	line("")
	line("%-26s %9s %9s %9s", "", "mm", "u in mm", "limit")
	for _, q := range []struct {
		name, limit, wrong string
		judged             *Judged
	}{
		{"gap as seen outside", "≤", "over", j.seen()},
		{"step at the seam", "≤", "over", &j.Riding},
		{"out of round", "≤", "over", &j.OutOfRound},
		{"height over the string's", "≤", "over", j.Offset},
		{"clearance at the narrowest", "≥", "under", j.Clearance},
	} {
		if q.judged != nil {
			line("%-26s %9.3f %9.3f   %s %.3f   P(%s) %s", q.name, q.judged.ValueMM, q.judged.UMM, q.limit, q.judged.LimitMM, q.wrong, metrology.Percent(q.judged.PWrong))
		}
	}
	line("")
	line("uncertainty of the gap, from")
	for _, c := range j.Budget {
		line("%-36s π × %.4f mm", c.Name, c.UMM)
	}
	line("")
	for _, note := range slices.Concat(j.Notes, cautions[:]) {
		for i, text := range metrology.Wrap(note, max(20, width-2)) {
			line("%s%s", [2]string{"! ", "  "}[min(i, 1)], text)
		}
	}
	return b.String()
}

// cautions hold for every judgement.
var cautions = [...]string{
	"what the eye sees wrong stands, whatever the widths say",
	"limits are bench settings; the banding office's rules come first",
}

// level is the coverage of stated intervals.
const level = 0.95

// seen returns the gap as seen outside, unless a step shows.
func (j Judgement) seen() *Judged {
	if j.PGapOverLimit == nil {
		return nil
	}
	return &j.Visible
}

func (j Judgement) says() string {
	switch {
	case j.Verdict == Step:
		return "step suspected: look for an overlap"
	case j.Verdict == Uncertain && j.Offset != nil && j.Offset.PWrong > 0.5:
		return "uncertain: the edges are out of line sideways"
	case j.Verdict == Uncertain && j.Clearance != nil && j.Clearance.PWrong > 0.5:
		return "uncertain: too little room for the leg"
	case j.Verdict == Uncertain:
		return "uncertain: too near the limit for this caliper; look again, or measure again"
	default:
		return string(j.Verdict)
	}
}

// OuterFrom says where the flush outer diameter comes from.
func (j Judgement) OuterFrom() string {
	switch {
	case j.Basis == Nominal:
		return "computed, inner + 2 × thickness"
	case j.Basis == Stated:
		return "as stated"
	case j.Bands == 1:
		return "measured on 1 band"
	default:
		return fmt.Sprintf("measured on %d bands", j.Bands)
	}
}
