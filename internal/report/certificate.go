package report

import (
	"bytes"
	_ "embed"
	"errors"
	"fmt"
	"html/template"
	"math"
	"strconv"
	"strings"

	"seamfit/internal/metrology"
)

//go:embed certificate.html
var certificatePage string

// certificate is what the page shows.
type certificate struct {
	metrology.Record
	Plot     template.HTML
	Rods     []certifiedRod
	Budgets  []metrology.Budget
	SetAside []metrology.RecordedReading
	At       []metrology.CorrectionAt
}

// certifiedRod is one row of the table of rods.
type certifiedRod struct {
	metrology.RodResult
	Name, Certificate, Due string
	Limit                  float64
	Overdue                bool
}

// Certificate writes the one-page record of a calibration in HTML: what was
// compared with what, the result with its verdict, how its uncertainty is made
// up, the plot, and what the page is not: an accredited certificate. It returns
// an error for a record without a result.
func Certificate(r metrology.Record) ([]byte, error) {
	if len(r.Result.Rods) == 0 {
		return nil, errors.New("a record without a result has no certificate; calibrate first")
	}
	page, err := template.New("certificate").Funcs(template.FuncMap{
		"mm":      func(v float64, decimals int) string { return strconv.FormatFloat(v, 'f', decimals, 64) },
		"signed":  func(v float64, decimals int) string { return fmt.Sprintf("%+.*f", decimals, v) },
		"percent": func(v float64) string { return strconv.FormatFloat(100*v, 'f', 1, 64) + " %" },
		"dof":     dof,
	}).Parse(certificatePage)
	if err != nil {
		return nil, err
	}
	c := certificate{Record: r, Plot: inline(CalibrationPlot(r))}
	for _, rod := range r.Result.Rods {
		c.Rods = append(c.Rods, certified(r, rod))
	}
	worst, err := r.VerdictBudget(r.WorstRod())
	if err != nil {
		return nil, err
	}
	middle := (r.Result.LowMM + r.Result.HighMM) / 2
	correction, err := r.CorrectionBudget(middle)
	if err != nil {
		return nil, err
	}
	c.Budgets = []metrology.Budget{worst, correction}
	asked, err := r.Result.Ask([]float64{r.Result.LowMM, middle, r.Result.HighMM})
	if err != nil {
		return nil, err
	}
	c.At = asked.Asked
	for _, reading := range r.Readings {
		if reading.SetAside != "" {
			c.SetAside = append(c.SetAside, reading)
		}
	}
	var b bytes.Buffer
	err = page.Execute(&b, c)
	return b.Bytes(), err
}

// inline takes the XML declaration off a drawing. Its texts are numbers and
// words of ours, nothing that a person or a device has written.
func inline(drawing []byte) template.HTML {
	text := string(drawing)
	if at := strings.Index(text, "<svg"); at > 0 {
		text = text[at:]
	}
	return template.HTML(text) //nolint:gosec // see above
}

func dof(d metrology.DOF) string {
	if math.IsInf(float64(d), 1) {
		return "∞"
	}
	return strconv.FormatFloat(float64(d), 'f', 0, 64)
}

func certified(r metrology.Record, result metrology.RodResult) certifiedRod {
	rod := certifiedRod{RodResult: result, Name: "–", Certificate: "as given", Due: "–", Limit: r.LimitOf(result).MM()}
	for _, p := range r.Conditions.Rods {
		if p.Reference.MM() != result.ReferenceMM {
			continue
		}
		if p.Rod.Name == "" {
			continue
		}
		rod.Name, rod.Overdue = p.Rod.Name, p.Rod.Overdue(r.At)
		rod.Certificate = fmt.Sprintf("%.4f mm, u %.5f mm", p.Rod.Diameter.MM(), p.CertificateU)
		if p.Rod.Class != "" {
			rod.Certificate += ", class " + string(p.Rod.Class)
		}
		if p.Rod.Material != "" {
			rod.Certificate += ", " + p.Rod.Material
		}
		if !p.Rod.Due.IsZero() {
			rod.Due = p.Rod.Due.Format("2006-01-02")
		}
	}
	return rod
}
