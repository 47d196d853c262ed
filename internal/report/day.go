package report

import (
	"cmp"
	"context"
	_ "embed" // how the page looks
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"

	g "maragu.dev/gomponents"
	"maragu.dev/gomponents/html"

	"seamfit/internal/bands"
	"seamfit/internal/bench"
	"seamfit/internal/catalogue"
	"seamfit/internal/metrology"
)

//go:embed day.css
var dayStyle string

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

// count is a number with its name.
type count struct {
	Name string
	N    int
}

// listed writes counts into a sentence.
func listed(counts []count) string {
	parts := make([]string, len(counts))
	for i, c := range counts {
		parts[i] = c.Name + " " + strconv.Itoa(c.N)
	}
	return strings.Join(parts, ", ")
}

// WriteDay writes a day sheet: one HTML page that needs nothing else, without
// a script. Open matters come first. It returns the records' errors and those
// of writing.
func WriteDay(ctx context.Context, w io.Writer, r Records, d Day) error {
	var birds []bench.Handling
	mistakes := 0
	if err := r.Handlings(ctx, func(bird bench.Handling) error {
		if bird.Mistaken() {
			mistakes++
		} else {
			birds = append(birds, bird)
		}
		return ctx.Err()
	}); err != nil {
		return err
	}
	widths, err := d.widthSection(birds)
	if err != nil {
		return err
	}
	measures, err := measureSection(birds)
	if err != nil {
		return err
	}
	closings, err := closingSection(birds)
	if err != nil {
		return err
	}
	incidents, err := incidentSection(birds)
	if err != nil {
		return err
	}
	return writePage(
		w, "Day sheet, "+d.Title, dayStyle,
		d.heading(), openSection(openMatters(birds, d.Book)), countList(countFates(birds, mistakes)),
		d.birdSection(birds), d.choiceSection(birds), widths, measures, d.caliperSection(), closings, incidents, numberSection(d.Stock),
		html.P(html.Small(textf("Made on %s by Seamfit %s. Numbers are rounded for reading; exports have them in full.", d.Made.Format(minute), d.Version))),
	)
}

// heading tells which day or shifts the sheet is about.
func (d Day) heading() g.Node {
	parts := g.Group{html.H1(text("Day sheet, " + d.Title))}
	if d.Training {
		parts = append(parts, html.P(html.Class("training"), text("TRAINING: no real bird is in these records. Never send them to a banding office.")))
	}
	for _, s := range d.Shifts {
		line := fmt.Sprintf("Shift of %s at %s: bander %s", s.Started.Format(minute), s.Place, s.Bander)
		for _, part := range [][2]string{{"scribe", s.Scribe}, {"permit", s.Permit}, {"sizes of", s.Catalogue}} {
			if part[1] != "" {
				line += ", " + part[0] + " " + part[1]
			}
		}
		parts = append(parts, html.P(text(line+".")))
		if told := s.Details(); len(told) > 0 {
			parts = append(parts, html.Ul(g.Map(told, func(line string) g.Node { return html.Li(text(line)) })...))
		}
	}
	return parts
}

func countList(counts []count) g.Node {
	items := []g.Node{html.Class("counts")}
	for _, c := range counts {
		items = append(items, html.Li(html.B(text(strconv.Itoa(c.N))), text(" "+c.Name)))
	}
	return html.Ul(items...)
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

func countFates(birds []bench.Handling, mistakes int) []count {
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
	if mistakes > 0 {
		counts = append(counts, count{"begun by mistake, and no bird", mistakes})
	}
	return append(counts, count{"wore a band already", found}, count{"records complete", complete}, count{"records disputed", disputed})
}

// bySpecies returns the birds of each species, in order of its name; birds of
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
