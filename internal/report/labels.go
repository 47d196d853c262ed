package report

import (
	"bytes"
	_ "embed" // the pages
	"fmt"
	"html/template"
	"io"

	"seamfit/internal/bands"
	"seamfit/internal/bench"
	"seamfit/internal/catalogue"
)

//go:embed labels.html
var labelsPage string

//go:embed cards.html
var cardsPage string

// mostLabels bounds one sheet of labels: more than a bench opens in a season.
const mostLabels = 10_000

// The widest bar codes that labels and cards have room for.
const (
	labelMM = 58
	cardMM  = 84
)

// label is one bar code with what is printed below it.
type label struct {
	Bars template.HTML
	Text string
}

// WriteLabels writes a page of Code 128 labels, one for each number of a run
// in order, for printing on A4. It returns an error for a run that is too long
// for one page of labels, and those of writing.
func WriteLabels(w io.Writer, run bands.Run) error {
	if n := run.Count(); n < 1 || n > mostLabels {
		return fmt.Errorf("%d labels on one sheet; ask for 1 to %d", n, mostLabels)
	}
	var labels []label
	for number := range run.All() {
		b, err := bars(number.String(), labelMM, 9)
		if err != nil {
			return err
		}
		labels = append(labels, label{b, number.String()})
	}
	return writePage(w, "labels", labelsPage, struct {
		Run    string
		Labels []label
	}{run.String(), labels})
}

// cardGroup is the cards of one step.
type cardGroup struct {
	Name  string
	Cards []label
}

// WriteCards writes a sheet of command cards for the scanner, in their groups,
// for printing on A4. Its errors are those of writing, and of a card whose word
// can't be a bar code.
func WriteCards(w io.Writer, cards []bench.Card) error {
	var groups []cardGroup
	for _, c := range cards {
		b, err := bars(c.Word, cardMM, 11)
		if err != nil {
			return err
		}
		if len(groups) == 0 || groups[len(groups)-1].Name != c.Group {
			groups = append(groups, cardGroup{Name: c.Group})
		}
		last := &groups[len(groups)-1]
		last.Cards = append(last.Cards, label{b, c.Title})
	}
	return writePage(w, "cards", cardsPage, groups)
}

func writePage(w io.Writer, name, text string, data any) error {
	t, err := template.New(name).Funcs(template.FuncMap{"text": catalogue.Printable}).Parse(text)
	if err != nil {
		return err
	}
	var b bytes.Buffer
	if err := t.Execute(&b, data); err != nil {
		return fmt.Errorf("write the %s: %w", name, err)
	}
	_, err = w.Write(b.Bytes())
	return err
}
