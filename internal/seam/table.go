package seam

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"seamfit/internal/metrology"
)

// Table returns a judgement as text for a person, in lines of at most width
// columns where the words allow it. It ends with a line break.
func Table(j Judgement, width int) string {
	var b strings.Builder
	line := func(format string, args ...any) { fmt.Fprintf(&b, format+"\n", args...) }
	line("%-10s%s", "verdict", j.says())
	line("%-10s%.3f mm; flush outer diameter %.3f mm, %s", "perimeter", j.PerimeterMM, j.OuterMM, j.basis())
	if k := metrology.CoverageFactor(level, float64(j.GapDOF)); j.PGapOverLimit != nil {
		line("%-10s%.3f ± %.3f mm at mid-thickness (95 %%, k = %.2f)", "gap", j.GapMM, k*j.GapUMM, k)
		j.Visible.write(line, "", "seen outside", "at most")
	} else {
		line("%-10snot stated: a riding edge reads as a gap", "gap")
	}
	head := "budget"
	for _, c := range j.Budget {
		line("%-10s%-38s π × %.4f mm", head, c.Name, c.UMM)
		head = ""
	}
	line("%-10sprobability %s (about 50 %% on a band closed flush)", "overlap", percent(j.POverlap))
	j.Riding.write(line, "step", "at the seam", "at most")
	j.OutOfRound.write(line, "round", "between widths", "at most")
	if j.Offset != nil {
		j.Offset.write(line, "offset", "over the string", "at most")
	}
	if j.Clearance != nil {
		j.Clearance.write(line, "clearance", "at the narrowest", "at least")
	}
	line("")
	notes := append([]string{}, j.Notes...)
	notes = append(notes, "what the eye sees wrong stands, whatever the widths say",
		"limits are bench settings; the banding office's rules come first")
	for _, note := range notes {
		for i, text := range wrap(note, max(20, width-2)) {
			line("%s%s", [2]string{"! ", "  "}[min(i, 1)], text)
		}
	}
	return b.String()
}

// level is the coverage of stated intervals.
const level = 0.95

func (q Judged) write(line func(string, ...any), name, where, side string) {
	line("%-10s%.3f mm (u %.3f mm) %s; %s %.3f mm, broken with %s", name, q.ValueMM, q.UMM, where, side, q.LimitMM, percent(q.PWrong))
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

func (j Judgement) basis() string {
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

// percent writes a probability so that what is possible is never shown as
// impossible.
func percent(p float64) string {
	switch {
	case p > 0 && p < 0.001:
		return "< 0.1 %"
	case p > 0.999 && p < 1:
		return "> 99.9 %"
	default:
		return fmt.Sprintf("%.1f %%", 100*p)
	}
}

// wrap breaks text between words into lines of at most width columns.
func wrap(text string, width int) []string {
	var lines []string
	current := ""
	for _, word := range strings.Fields(text) {
		switch {
		case current == "":
			current = word
		case utf8.RuneCountInString(current)+1+utf8.RuneCountInString(word) <= width:
			current += " " + word
		default:
			lines, current = append(lines, current), word
		}
	}
	return append(lines, current)
}
