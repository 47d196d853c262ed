package report

import (
	"bytes"
	"cmp"
	_ "embed" // how the page looks
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	g "maragu.dev/gomponents"
	"maragu.dev/gomponents/html"

	"seamfit/internal/metrology"
)

//go:embed certificate.css
var certificateStyle string

const minute = "2006-01-02 15:04 -07:00"

// Certificate writes the one-page record of a calibration in HTML: what was
// compared with what, the result with its verdict, how its uncertainty is made
// up, the plot, and what the page is not: an accredited certificate. It returns
// an error for a record without a result.
func Certificate(r metrology.Record) ([]byte, error) {
	if len(r.Result.Rods) == 0 {
		return nil, errors.New("a record without a result has no certificate; calibrate first")
	}
	result, err := certificateResult(r)
	if err != nil {
		return nil, err
	}
	budgets, err := certificateBudgets(r)
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	err = writePage(
		&b, "Calibration of a caliper, in-house verification", certificateStyle,
		html.H1(text("Calibration of a caliper against reference rods")),
		html.P(html.Class("statement"), html.Strong(text("In-house verification, not an accredited certificate.")), text(" It tells what this bench found with its own rods on that day, for its own use.")),
		certificateHead(r), result, inline(CalibrationPlot(r)), budgets,
		html.P(text("Line and its uncertainty by least squares as in JCGM 100:2008, H.3; degrees of freedom by Welch and Satterthwaite, G.4; decision rule of ISO 14253-1. The limits of error are this bench's settings.")),
	)
	return b.Bytes(), err
}

// certificateHead tells what was calibrated, by whom and when.
func certificateHead(r metrology.Record) g.Node {
	until := "not stored in the bench's records"
	switch {
	case !r.ValidUntil.IsZero():
		until = r.ValidUntil.Format(minute)
	case r.ID != "":
		until = "without end"
	}
	pair := func(name, words string, more ...g.Node) g.Node {
		return g.Group{html.Th(text(name)), html.Td(append(more, text(words))...)}
	}
	rows := []g.Node{
		html.Tr(pair("Caliper", cmp.Or(r.Caliper, "not named")), pair("Done", r.At.Format(minute))),
		html.Tr(pair("By", cmp.Or(r.By, "not told")), pair("Holds until", until)),
		html.Tr(pair("Temperature", r.Conditions.Temperatures.String()), pair("Step of the display", r.Conditions.Resolution.String())),
	}
	for _, extra := range [][2]string{{"Record", r.ID}, {"Note", r.Note}} {
		if extra[1] != "" {
			rows = append(rows, html.Tr(pair(extra[0], extra[1], html.ColSpan("3"))))
		}
	}
	return html.Table(rows...)
}

// certificateResult is the line, the rods with their verdicts, and what is to
// be said of them.
func certificateResult(r metrology.Record) (g.Node, error) {
	c := r.Result
	line := fmt.Sprintf("Correction to add to a reading x: %+.5f mm %+.6f · (x − %v mm), from %d readings by %s; SD about the line %.5f mm", c.OffsetMM, c.Slope, c.PivotMM, c.N, c.Method, c.ResidualSDMM)
	if c.RepeatabilityMM != nil {
		line += fmt.Sprintf(", SD of repeats %.5f mm", *c.RepeatabilityMM)
	}
	if c.LackOfFit.P != nil {
		line += fmt.Sprintf("; lack of fit p = %.3f", *c.LackOfFit.P)
	}
	asked, err := c.Ask([]float64{c.LowMM, (c.LowMM + c.HighMM) / 2, c.HighMM})
	if err != nil {
		return nil, err
	}
	line += "."
	for _, at := range asked.Asked {
		line += fmt.Sprintf(" At %.3f mm: %+.4f mm, u %.4f mm.", at.ReadingMM, at.CorrectionMM, at.UMM)
	}
	parts := g.Group{html.H2(text("Result")), html.P(html.Strong(text(strings.ReplaceAll(r.Verdict(), "\n", " ")))), html.P(text(line)), rodTable(r)}
	for _, warning := range c.Warnings {
		parts = append(parts, html.P(text("! "+warning)))
	}
	for _, reading := range r.Readings {
		if reading.SetAside != "" {
			parts = append(parts, html.P(textf("Set aside: %.4f mm on the rod of %.4f mm: %s", reading.Reading.MM(), reading.Reference.MM(), reading.SetAside)))
		}
	}
	return parts, nil
}

func rodTable(r metrology.Record) g.Node {
	t := newTable(
		column{"Rod", whole}, column{"Certificate", whole}, column{"Holds until", whole}, column{"Reference mm", number}, column{"n", number},
		column{"Error mm", number}, column{"U mm", number}, column{"Limit mm", number}, column{"Verdict", whole},
	)
	for _, rod := range r.Result.Rods {
		name, certificate, due := certified(r, rod)
		verdict := "does not conform"
		if rod.Conforms {
			verdict = "conforms"
		}
		t.add(name, certificate, due, mm(rod.ReferenceMM, 4), strconv.Itoa(rod.N), fmt.Sprintf("%+.4f", rod.MeanErrorMM), mm(rod.ExpandedMM, 4), mm(r.LimitOf(rod).MM(), 3), verdict)
	}
	return t.node()
}

// certificateBudgets shows how the uncertainty of the verdict on the worst rod
// and of a correction in the middle of the range are made up.
func certificateBudgets(r metrology.Record) (g.Node, error) {
	worst, err := r.VerdictBudget(r.WorstRod())
	if err != nil {
		return nil, err
	}
	correction, err := r.CorrectionBudget((r.Result.LowMM + r.Result.HighMM) / 2)
	if err != nil {
		return nil, err
	}
	var parts g.Group
	for _, b := range []metrology.Budget{worst, correction} {
		t := newTable(column{"Component", plain}, column{"Distribution", plain}, column{"u mm", number}, column{"Degrees of freedom", number}, column{"Share", number})
		for _, line := range b.Lines {
			t.add(line.Component, line.Distribution, mm(line.UMM, 6), dof(line.DOF), mm(100*line.Share, 1)+" %")
		}
		combined := fmt.Sprintf("combined, k = %.2f, U = %.5f mm (95 %%)", b.CoverageFactor, b.ExpandedMM)
		t.addRow("", html.Strong(text(combined)), nil, text(mm(b.UMM, 6)), text(dof(b.DOF)), nil)
		parts = append(parts, html.H2(textf("Budget of %s", b.Of)), t.node())
	}
	return parts, nil
}

// inline takes the XML declaration off a drawing. Its texts are numbers and
// words of ours, or were escaped as they were drawn.
func inline(drawing []byte) g.Node {
	words := string(drawing)
	if at := strings.Index(words, "<svg"); at > 0 {
		words = words[at:]
	}
	return g.Raw(words)
}

func dof(d metrology.DOF) string {
	if math.IsInf(float64(d), 1) {
		return "∞"
	}
	return strconv.FormatFloat(float64(d), 'f', 0, 64)
}

// certified returns what is known of a rod: its name, what its certificate
// says, and how long that holds.
func certified(r metrology.Record, result metrology.RodResult) (name, certificate, due string) {
	name, certificate, due = "–", "as given", "–"
	for _, p := range r.Conditions.Rods {
		if p.Reference.MM() != result.ReferenceMM || p.Rod.Name == "" {
			continue
		}
		name, certificate = p.Rod.Name, fmt.Sprintf("%.4f mm, u %.5f mm", p.Rod.Diameter.MM(), p.CertificateU)
		if p.Rod.Class != "" {
			certificate += ", class " + string(p.Rod.Class)
		}
		if p.Rod.Material != "" {
			certificate += ", " + p.Rod.Material
		}
		if !p.Rod.Due.IsZero() {
			due = p.Rod.Due.Format(time.DateOnly)
			if p.Rod.Overdue(r.At) {
				due += ", past"
			}
		}
	}
	return name, certificate, due
}
