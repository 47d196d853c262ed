package report

import (
	"bytes"
	"fmt"
	"io"
	"strconv"

	g "maragu.dev/gomponents"
	"maragu.dev/gomponents/html"

	"seamfit/internal/catalogue"
)

// writePage writes a page of HTML that stands alone: it loads nothing, runs
// nothing, and says so to the browser. Nothing is written of a page that fails.
func writePage(w io.Writer, title, style string, body ...g.Node) error {
	page := html.Doctype(html.HTML(
		html.Lang("en"),
		html.Head(
			html.Meta(html.Charset("utf-8")),
			html.Meta(html.Name("viewport"), html.Content("width=device-width, initial-scale=1")),
			html.Meta(g.Attr("http-equiv", "Content-Security-Policy"), html.Content("default-src 'none'; style-src 'unsafe-inline'")),
			html.TitleEl(text(title)),
			html.StyleEl(g.Raw(style)),
		),
		html.Body(body...),
	))
	var b bytes.Buffer
	if err := page.Render(&b); err != nil {
		return fmt.Errorf("write the page %q: %w", title, err)
	}
	_, err := w.Write(b.Bytes())
	return err
}

// text is the one way for words onto a page: no markup and no control
// characters come through.
func text(words string) g.Node { return g.Text(catalogue.Printable(words)) }

func textf(format string, values ...any) g.Node { return text(fmt.Sprintf(format, values...)) }

// column heads a column of a table with the class of its cells.
type column struct{ title, class string }

// Classes of columns.
const (
	plain  = ""
	number = "n" // to the right
	whole  = "w" // never broken into lines
	notes  = "notes"
)

// table is a table of a page; each row has a cell for every column.
type table struct {
	columns []column
	rows    []g.Node
}

func newTable(columns ...column) *table { return &table{columns: columns} }

// add adds a row of words.
func (t *table) add(cells ...string) { t.addRow("", texts(cells...)...) }

// addRow adds a row of a class.
func (t *table) addRow(class string, cells ...g.Node) {
	row := make([]g.Node, 0, len(cells)+1)
	if class != "" {
		row = append(row, html.Class(class))
	}
	for i, c := range cells {
		row = append(row, html.Td(classOf(t.columns[i].class), c))
	}
	t.rows = append(t.rows, html.Tr(row...))
}

// node is the table in a frame that scrolls on a narrow screen.
func (t *table) node() g.Node {
	var heads []g.Node
	for _, c := range t.columns {
		heads = append(heads, html.Th(classOf(c.class), text(c.title)))
	}
	return html.Div(html.Class("wide"), html.Table(html.THead(html.Tr(heads...)), html.TBody(t.rows...)))
}

// classOf leaves out a class without a name.
func classOf(class string) g.Node {
	if class == "" {
		return nil
	}
	return html.Class(class)
}

func texts(words ...string) []g.Node { return g.Map(words, text) }

// plot is a drawing in its frame; none where there is nothing to draw.
func plot(drawing g.Node) g.Node {
	if drawing == nil {
		return nil
	}
	return html.Figure(html.Class("wide"), drawing)
}

func mm(v float64, decimals int) string { return strconv.FormatFloat(v, 'f', decimals, 64) }

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
