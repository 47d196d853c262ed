package fit

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"seamfit/internal/metrology"
)

// Table returns a result as text for a person, with the ruler, in lines of at
// most width columns where the words allow it. It ends with a line break.
// What came from files is stripped of control characters.
func Table(r Result, m Model, width int) string {
	var b strings.Builder
	line := func(format string, args ...any) { fmt.Fprintf(&b, format+"\n", args...) }
	state := "uncalibrated"
	if r.Leg.Calibrated {
		state = "calibrated"
	}
	line("leg       %.3f ± %.3f mm  (%s, %s)", r.Leg.MeanMM, r.Leg.ExpandedMM, readings(r.Leg.N), state)
	line("          95 %% interval, k = %.2f, %s degrees of freedom", r.Leg.CoverageFactor, dofText(r.Leg.DOF))
	for i, c := range r.Leg.Components {
		head := ""
		if i == 0 {
			head = "budget"
		}
		line("%-9s %-34s %.4f mm  %s", head, c.Name, c.UMM, dofText(c.DOF))
	}
	line("%-9s %-34s %.4f mm  %s", "", "together", r.Leg.UMM, dofText(r.Leg.DOF))
	line("covers    %s", r.Leg.Covers)
	if r.Leg.N > 1 {
		word := "agree"
		if !r.Agreement.OK {
			word = "DISAGREE"
		}
		line("range     %.3f mm, at most %.3f mm expected (s_r %.3f mm, %s): %s",
			r.Agreement.RangeMM, r.Agreement.CriticalRangeMM, r.Agreement.SRMM, r.Agreement.Source, word)
	}
	if r.Oval != nil {
		line("oval      %.1f ± %.1f %% (k = 2)", 100*r.Oval.Ovality, 200*r.Oval.U)
	}
	if len(r.Sizes) > 0 {
		b.WriteString("\n" + Ruler(r, m, width) + "\n")
		writeSizes(line, r, width)
	}
	if len(r.Warnings) > 0 {
		line("")
	}
	for _, w := range r.Warnings {
		for i, text := range metrology.Wrap(clean(w.Text), max(20, width-2)) {
			line("%s%s", [2]string{"! ", "  "}[min(i, 1)], text)
		}
	}
	return b.String()
}

// writeSizes writes the ranked sizes: in full those that matter, in one line
// each verdict's others.
func writeSizes(line func(string, ...any), r Result, width int) {
	line("  %-9s %9s %8s %8s %8s %8s %8s  %s", "size", "inner mm", "play", "tight", "fit", "loose", "slips", "verdict")
	others := map[Verdict][]string{}
	for _, c := range r.Sizes {
		if !c.Recommended && c.beside() {
			others[c.Verdict] = append(others[c.Verdict], clean(c.Size))
			continue
		}
		line("%s", c.text(r.Best))
		for _, w := range c.Warnings {
			line("      %s", clean(w.Text))
		}
	}
	for _, v := range []Verdict{Tight, Loose, Slips, Unjudged} {
		if len(others[v]) == 0 {
			continue
		}
		for i, text := range metrology.Wrap(fmt.Sprintf("%s: %s", v, strings.Join(others[v], ", ")), max(20, width-4)) {
			line("%s%s", [2]string{"  ", "    "}[min(i, 1)], text)
		}
	}
}

// beside reports whether a size is beside the point, and its name alone is
// enough.
func (c Candidate) beside() bool {
	switch c.Verdict {
	case Tight, Loose, Unjudged:
		return true
	case Slips:
		return c.PLoose > moreThanEven
	default:
		return false
	}
}

// text is one size's line: ">" marks the best, "*" the office's list.
func (c Candidate) text(best string) string {
	mark := [2]byte{' ', ' '}
	if c.Size == best {
		mark[0] = '>'
	}
	if c.Recommended {
		mark[1] = '*'
	}
	verdict := string(c.Verdict)
	if c.Side != "" {
		verdict += ", " + string(c.Side) + " side"
	}
	if c.Verdict == Unjudged {
		return fmt.Sprintf("%s%-9s %9s %8s %8s %8s %8s %8s  %s", mark, clean(c.Size), "–", "–", "–", "–", "–", "–", verdict)
	}
	slips := "–"
	if c.PSlips != nil {
		slips = metrology.Percent(*c.PSlips)
	}
	return fmt.Sprintf("%s%-9s %9.3f %8s %8s %8s %8s %8s  %s", mark, clean(c.Size), c.InnerMM,
		fmt.Sprintf("%.1f %%", 100*c.Play), metrology.Percent(c.PTight), metrology.Percent(c.PFit), metrology.Percent(c.PLoose), slips, verdict)
}

func dofText(d metrology.DOF) string {
	if d == metrology.Infinite() {
		return "infinite"
	}
	return fmt.Sprintf("%.0f", float64(d))
}

func readings(n int) string {
	if n == 1 {
		return "1 reading"
	}
	return fmt.Sprintf("%d readings", n)
}

// clean replaces what could steer a terminal.
func clean(s string) string {
	return strings.Map(func(r rune) rune {
		if !unicode.IsPrint(r) || r == utf8.RuneError {
			return '?'
		}
		return r
	}, s)
}
