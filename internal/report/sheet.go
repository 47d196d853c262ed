package report

import (
	_ "embed" // how the sheet looks
	"fmt"
	"io"
	"strconv"
	"strings"

	g "maragu.dev/gomponents"
	"maragu.dev/gomponents/html"

	"seamfit/internal/catalogue"
)

//go:embed sheet.css
var sheetStyle string

// sheetRows is how many birds a page has room for.
const sheetRows = 10

// mostSheets bounds the pages of one print: more than a bench fills in a week.
const mostSheets = 100

// Sheet is what a sheet of paper asks for, as the bench's settings do.
type Sheet struct {
	Bench    string
	Readings int
	Further  []string // further measures, with their units
	Findings []string // each with the letter that stands for it
	Closures []catalogue.Closure
	Pages    int
}

// statements is how many points the closure kind with the most of them has.
func (s Sheet) statements() int {
	most := 0
	for _, c := range s.Closures {
		most = max(most, len(c.Statements))
	}
	return most
}

// columns heads the columns, each with the part of the width that it takes.
func (s Sheet) columns() (titles []string, parts []int) {
	add := func(part int, names ...string) {
		for _, name := range names {
			titles, parts = append(titles, name), append(parts, part)
		}
	}
	add(3, "caught at")
	add(7, "species")
	add(3, "age", "sex", "leg L/R")
	for n := range s.Readings {
		add(3, fmt.Sprintf("leg width %d, mm", n+1))
	}
	add(3, "size", "metal")
	add(7, "number on the band")
	add(6, "each closing's look: flush, or what was found")
	for n := range s.statements() {
		title := strconv.Itoa(n + 1)
		if first := s.Closures[0]; n < len(first.Statements) {
			title += " " + first.Statements[n].Text
		}
		add(3, title)
	}
	add(4, "read back off the closed band")
	add(5, "fate, and why")
	add(3, "left the hand at")
	add(3, s.Further...)
	add(3, "nest")
	add(3, "bander")
	add(6, "notes: found band, reasons, incidents")
	return titles, parts
}

// WriteSheet writes sheets of paper for a bench that works without power, to be
// printed on A4 across and typed in afterwards. It returns an error for a number
// of pages out of range, and those of writing.
func WriteSheet(w io.Writer, s Sheet) error {
	if s.Pages < 1 || s.Pages > mostSheets {
		return fmt.Errorf("%d pages of the sheet; ask for 1 to %d", s.Pages, mostSheets)
	}
	var body []g.Node
	for n := range s.Pages {
		body = append(body, html.Section(s.page(n+1)...))
	}
	return writePage(w, "Sheet for the bench "+s.Bench, sheetStyle, body...)
}

func (s Sheet) page(n int) []g.Node {
	head := []g.Node{html.Class("head")}
	for _, label := range []string{"date", "first time", "place", "bander", "permit", "caliper"} {
		head = append(head, text(label+" "), html.Span(g.Raw("&nbsp;")), text(" "))
	}
	return []g.Node{
		html.H1(textf("%s, page %d", s.Bench, n)),
		html.P(head...),
		s.rows(),
		html.P(text("State a point only after you have seen it, with a tick. Read the number back off the band on the leg; do not copy it from the column before. A bird is never released with a badly closed band. Write a time of day like 06:05, and leave empty what was not done.")),
		s.legend(),
	}
}

// rows is the table that is written into.
func (s Sheet) rows() g.Node {
	titles, parts := s.columns()
	total := 0
	for _, part := range parts {
		total += part
	}
	var widths, heads, cells, rows []g.Node
	for i, title := range titles {
		widths = append(widths, html.Col(html.Style(fmt.Sprintf("width: %.2f%%", 100*float64(parts[i])/float64(total)))))
		heads = append(heads, html.Th(text(title)))
		cells = append(cells, html.Td())
	}
	for range sheetRows {
		rows = append(rows, html.Tr(cells...))
	}
	return html.Table(html.ColGroup(widths...), html.THead(html.Tr(heads...)), html.TBody(rows...))
}

// legend says what the letters and the numbered points stand for.
func (s Sheet) legend() g.Node {
	list := []g.Node{html.Dt(text("looks")), html.Dd(text(strings.Join(s.Findings, ", ")))}
	for _, c := range s.Closures {
		points := make([]string, len(c.Statements))
		for i, st := range c.Statements {
			points[i] = fmt.Sprintf("%d %s", i+1, st.Text)
		}
		list = append(list, html.Dt(text(c.Name)), html.Dd(text(strings.Join(points, ", "))))
	}
	return html.Dl(list...)
}
