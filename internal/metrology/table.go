package metrology

import (
	"fmt"
	"math"
	"strings"
	"time"
)

// Table writes a calibration as text of at most columns width, 60 at least:
// the line, the verdict on each rod, the corrections asked for, the plot of
// the residuals, what was set aside, and the warnings.
func (r Record) Table(columns int) string {
	var b strings.Builder
	c := r.Result
	line := func(name, format string, args ...any) {
		fmt.Fprintf(&b, "%-12s %s\n", name, fmt.Sprintf(format, args...))
	}
	if r.Caliper != "" {
		line("caliper", "%s, %s%s", r.Caliper, r.At.Format("2006-01-02 15:04"), by(r.By))
		line("", "%s", r.validity())
		line("temperature", "%s", r.Conditions.Temperatures)
	}
	line("readings", "%d on %d rods, %s", c.N, len(c.Rods), c.Method)
	line("correction", "%+.5f mm %+.6f x (reading - %g mm)", c.OffsetMM, c.Slope, c.PivotMM)
	line("", "s(offset) %.5f mm, s(slope) %.6f, correlation %+.3f", c.OffsetSEMM, c.SlopeSE, c.Correlation)
	line("residuals", "SD %.5f mm, %g degrees of freedom", c.ResidualSDMM, c.DOF)
	if c.RepeatabilityMM != nil {
		line("repeats", "SD within rods %.5f mm", *c.RepeatabilityMM)
	}
	if c.LackOfFit.P != nil {
		line("line", "lack of fit F = %.3f, p = %.3f", *c.LackOfFit.F, *c.LackOfFit.P)
	}
	b.WriteByte('\n')
	b.WriteString(r.rodTable())
	for _, at := range c.Asked {
		note := ""
		if at.Extrapolated {
			note = "  extrapolated"
		}
		fmt.Fprintf(&b, "at %.3f mm: correction %+.5f mm, u %.5f mm%s\n", at.ReadingMM, at.CorrectionMM, at.UMM, note)
	}
	b.WriteByte('\n')
	b.WriteString(c.ResidualPlot(columns))
	for _, reading := range r.Readings {
		if reading.SetAside != "" {
			fmt.Fprintf(&b, "set aside: %.4f mm on the rod of %.4f mm: %s\n", reading.Reading.MM(), reading.Reference.MM(), reading.SetAside)
		}
	}
	for _, w := range c.Warnings {
		fmt.Fprintf(&b, "! %s\n", strings.Join(Wrap(w, columns-2), "\n  "))
	}
	fmt.Fprintf(&b, "\n%s\n", r.Verdict())
	return b.String()
}

func by(name string) string {
	if name == "" {
		return ""
	}
	return " by " + name
}

func (r Record) validity() string {
	if r.ValidUntil.IsZero() {
		return "holds without end"
	}
	return "holds until " + r.ValidUntil.Format("2006-01-02 15:04")
}

// String says what the temperatures were, or that they were not taken.
func (t Temperatures) String() string {
	switch {
	case !t.Known:
		return "not taken: certified diameters as at 20 °C"
	case t.Rods != t.Scale:
		return fmt.Sprintf("caliper %g °C, rods %g °C, u %g K; references corrected", t.Scale, t.Rods, t.U)
	default:
		return fmt.Sprintf("%g °C, u %g K; references corrected", t.Scale, t.U)
	}
}

func (r Record) rodTable() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%-12s %10s %3s %12s %8s %8s\n", "rod", "mm", "n", "mean error", "U", "limit")
	for _, rod := range r.Result.Rods {
		verdict := "DOES NOT CONFORM"
		if rod.Conforms {
			verdict = "conforms"
		}
		name := "-"
		for _, p := range r.Conditions.Rods {
			if p.Reference.MM() == rod.ReferenceMM && p.Rod.Name != "" {
				name = p.Rod.Name
			}
		}
		fmt.Fprintf(&b, "%-12s %10.4f %3d %+12.4f %8.4f %8.3f  %s\n", name, rod.ReferenceMM, rod.N, rod.MeanErrorMM, rod.ExpandedMM, r.LimitOf(rod).MM(), verdict)
	}
	return b.String()
}

// Verdict says in a sentence whether the caliper conforms.
func (r Record) Verdict() string {
	const rule = "|error| + U <= limit of error, ISO 14253-1"
	if r.Result.Conforms {
		return fmt.Sprintf("The caliper conforms on every rod (%s).", rule)
	}
	failed := 0
	for _, rod := range r.Result.Rods {
		if !rod.Conforms {
			failed++
		}
	}
	return fmt.Sprintf("The caliper does not conform on %d of %d rods (%s).\nThe correction holds all the same; have the caliper looked at.", failed, len(r.Result.Rods), rule)
}

// DaysLeft returns for how many whole days a calibration still holds, and
// false when it holds without end.
func (r Record) DaysLeft(at time.Time) (days int, limited bool) {
	if r.ValidUntil.IsZero() {
		return 0, false
	}
	return int(math.Floor(r.ValidUntil.Sub(at).Hours() / 24)), true
}
