package report

import (
	"bytes"
	"cmp"
	"context"
	_ "embed" // the page
	"fmt"
	"html/template"
	"io"
	"slices"
	"strconv"
	"time"

	"seamfit/internal/bands"
	"seamfit/internal/bench"
	"seamfit/internal/catalogue"
	"seamfit/internal/metrology"
)

//go:embed day.html
var dayPage string

// Records is what a day sheet reads of birds.
type Records interface {
	// Handlings calls each for every handling of the day, oldest first.
	Handlings(ctx context.Context, each func(bench.Handling) error) error
}

// Day is what a day sheet is about, beside the birds.
type Day struct {
	Title    string // which shift or days
	Shifts   []bench.Shift
	Training bool
	Made     time.Time
	Version  string

	Book      *catalogue.Book
	Catalogue string // of a shift that names none
	// Calibration is the caliper's last one; nil: none.
	Calibration *metrology.Record
	Checks      []metrology.Check // of the caliper, oldest first
	Stock       []bands.StringCount
}

// page is what the template shows.
type page struct {
	Day
	Open      []openMatter
	Counts    []count
	Birds     []birdRow
	Choices   []choiceRow
	Verdicts  []count
	Widths    []widthRow
	WidthPlot template.HTML

	Calibrated      bool
	CalibrationPlot template.HTML
	ChecksPlot      template.HTML
	CheckRows       []checkRow

	Closings     []closingRow
	ClosingsPlot template.HTML
	Incidents    incidents
	IncidentPlot template.HTML
	Numbers      []bands.StringCount
	NumbersPlot  template.HTML
}

// count is a number with its name.
type count struct {
	Name string
	N    int
}

// WriteDay writes a day sheet: one HTML page that needs nothing else, without
// a script. Open matters come first. It returns the records' errors and those
// of writing.
func WriteDay(ctx context.Context, w io.Writer, r Records, d Day) error {
	var birds []bench.Handling
	if err := r.Handlings(ctx, func(h bench.Handling) error {
		birds = append(birds, h)
		return ctx.Err()
	}); err != nil {
		return err
	}
	p, err := d.page(birds)
	if err != nil {
		return err
	}
	t, err := template.New("day").Funcs(template.FuncMap{
		"text":    catalogue.Printable,
		"mm":      func(v float64, decimals int) string { return strconv.FormatFloat(v, 'f', decimals, 64) },
		"percent": percent,
	}).Parse(dayPage)
	if err != nil {
		return err
	}
	var b bytes.Buffer
	if err := t.Execute(&b, p); err != nil {
		return fmt.Errorf("write the day sheet: %w", err)
	}
	_, err = w.Write(b.Bytes())
	return err
}

func (d Day) page(birds []bench.Handling) (page, error) {
	p := page{
		Day: d, Open: openMatters(birds, d.Book), Counts: countFates(birds), Birds: d.birdRows(birds),
		Choices: d.choiceRows(birds), Verdicts: countVerdicts(birds), Numbers: d.Stock, NumbersPlot: numbersPlot(d.Stock),
		ChecksPlot: checksPlot(d.Checks), CheckRows: checkRows(d.Checks),
	}
	var err error
	if p.Widths, p.WidthPlot, err = d.widths(birds); err != nil {
		return p, err
	}
	if p.Closings, err = closingRows(birds); err != nil {
		return p, err
	}
	p.ClosingsPlot = closingsPlot(p.Closings)
	if p.Incidents, err = countIncidents(birds); err != nil {
		return p, err
	}
	p.IncidentPlot = incidentsPlot(p.Incidents)
	if d.Calibration != nil && len(d.Calibration.Result.Rods) > 0 {
		p.Calibrated, p.CalibrationPlot = true, inline(CalibrationPlot(*d.Calibration))
	}
	return p, nil
}

// catalogueOf returns the table of sizes that a bird's shift worked by.
func (d Day) catalogueOf(h bench.Handling) *catalogue.Catalogue {
	name := d.Catalogue
	for _, s := range d.Shifts {
		if s.ID == h.Shift && s.Catalogue != "" {
			name = s.Catalogue
		}
	}
	if c, ok := d.Book.Catalogue(name); ok {
		return c
	}
	return &catalogue.Catalogue{Name: name}
}

func countFates(birds []bench.Handling) []count {
	in := map[bench.Fate]int{}
	complete, disputed, found := 0, 0, 0
	for _, h := range birds {
		if h.Fate != nil {
			in[h.Fate.Fate]++
		}
		if h.Done() {
			complete++
		}
		if h.Disputed() {
			disputed++
		}
		if slices.ContainsFunc(h.Bands, func(b bench.Band) bool { return b.Found }) {
			found++
		}
	}
	counts := []count{{"birds in the hand", len(birds)}}
	for _, f := range bench.Fates() {
		counts = append(counts, count{f.Words(), in[f]})
	}
	return append(counts, count{"wore a band already", found}, count{"records complete", complete}, count{"records disputed", disputed})
}

// percent writes a share, with as many decimals as a small one needs.
func percent(share float64) string {
	decimals := 1
	switch {
	case share == 0:
		return "0 %"
	case share < 0.01:
		decimals = 2
	}
	return strconv.FormatFloat(100*share, 'f', decimals, 64) + " %"
}

// species returns the birds of each species, in order of its name; birds of
// no species come last under a name of ours.
func bySpecies(birds []bench.Handling) (names []string, of map[string][]bench.Handling) {
	of = map[string][]bench.Handling{}
	for _, h := range birds {
		name := cmp.Or(h.Bird.Species, noSpecies)
		if of[name] == nil {
			names = append(names, name)
		}
		of[name] = append(of[name], h)
	}
	slices.SortFunc(names, func(a, b string) int {
		if (a == noSpecies) != (b == noSpecies) {
			return map[bool]int{true: 1, false: -1}[a == noSpecies]
		}
		return cmp.Compare(a, b)
	})
	return names, of
}

const noSpecies = "species not told"
