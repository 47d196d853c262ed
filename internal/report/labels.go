package report

import (
	_ "embed" // how the pages look
	"fmt"
	"io"

	g "maragu.dev/gomponents"
	"maragu.dev/gomponents/html"

	"seamfit/internal/bands"
	"seamfit/internal/bench"
)

//go:embed labels.css
var labelsStyle string

//go:embed cards.css
var cardsStyle string

// mostLabels bounds one sheet of labels: more than a bench opens in a season.
const mostLabels = 10_000

// The widest bar codes that labels and cards have room for.
const (
	labelMM = 58
	cardMM  = 84
)

// coded is a bar code with what is printed below it.
func coded(class, code, below string, widestMM, heightMM float64) (g.Node, error) {
	b, err := bars(code, widestMM, heightMM)
	if err != nil {
		return nil, err
	}
	return html.Div(html.Class(class), b, html.B(text(below))), nil
}

// WriteLabels writes a page of Code 128 labels, one for each number of a run
// in order, for printing on A4. It returns an error for a run that is too long
// for one page of labels, and those of writing.
func WriteLabels(w io.Writer, run bands.Run) error {
	if n := run.Count(); n < 1 || n > mostLabels {
		return fmt.Errorf("%d labels on one sheet; ask for 1 to %d", n, mostLabels)
	}
	labels := []g.Node{html.Class("sheet")}
	for number := range run.All() {
		label, err := coded("label", number.String(), number.String(), labelMM, 9)
		if err != nil {
			return err
		}
		labels = append(labels, label)
	}
	return writePage(
		w, "Labels, "+run.String(), labelsStyle,
		html.P(textf("%d labels, %s, in order. Print at 100 %%; scan the first and the last before use.", run.Count(), run)),
		html.Div(labels...),
	)
}

// WriteCards writes a sheet of command cards for the scanner, in their groups,
// for printing on A4. Its errors are those of writing, and of a card whose word
// can't be a bar code.
func WriteCards(w io.Writer, cards []bench.Card) error {
	body := []g.Node{html.P(text("Command cards: scan one to tell the bench what was seen or done. Print at 100 %, cover what lies beside the card you mean, and scan each statement only when you have looked."))}
	for i := 0; i < len(cards); {
		group, sheet := cards[i].Group, []g.Node{html.Class("sheet")}
		for ; i < len(cards) && cards[i].Group == group; i++ {
			card, err := coded("card", cards[i].Word, cards[i].Title, cardMM, 11)
			if err != nil {
				return err
			}
			sheet = append(sheet, card)
		}
		body = append(body, html.H2(text(group)), html.Div(sheet...))
	}
	return writePage(w, "Command cards for the scanner", cardsStyle, body...)
}
