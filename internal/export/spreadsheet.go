package export

import (
	"context"
	"io"
	"regexp"
	"strings"
)

// Spreadsheet writes copies of every table for a spreadsheet program, as files
// <table>-spreadsheet.csv in a new folder. Every field is quoted, and a text
// that a spreadsheet could take for a formula, one that begins with = + - @, a
// tab, a carriage return or a line feed, gets an apostrophe in front (OWASP,
// CSV injection). The copies are for reading: an altered text does not read
// back. Its errors are CSV's.
func Spreadsheet(ctx context.Context, s Source, name string) error {
	return into(func() (place, error) { return newFolder(name) }, func(p place) error {
		err := eachTable(ctx, p, "-spreadsheet.csv", func(ctx context.Context, _ int, t Table, w io.Writer) error {
			return s.write(ctx, t, guarded{w})
		})
		if err != nil {
			return err
		}
		return s.markTraining(p)
	})
}

// guarded writes lines for spreadsheets. Quotes around every field keep a
// semicolon or a tab within it from ending it where those separate columns.
type guarded struct{ io.Writer }

func (g guarded) line(fields []string, columns []Column) error {
	var b strings.Builder
	for i, text := range fields {
		if i > 0 {
			b.WriteByte(',')
		}
		if columns != nil {
			text = columns[i].guard(text)
		}
		b.WriteByte('"')
		b.WriteString(strings.ReplaceAll(text, `"`, `""`))
		b.WriteByte('"')
	}
	b.WriteString("\r\n")
	_, err := io.WriteString(g, b.String())
	return err
}

func (guarded) flush() error { return nil }

var offsetForm = regexp.MustCompile(`^[+-][0-9]{2}:[0-9]{2}$`)

// guard makes a text harmless. Numbers are none, and neither is an offset of
// the form +02:00, though a spreadsheet may show it as a time.
func (c Column) guard(text string) string {
	switch c.Kind {
	case Whole, Number, Flag, Length:
		return text
	case Offset:
		if offsetForm.MatchString(text) {
			return text
		}
	default:
	}
	return guardText(text)
}

// guardText puts an apostrophe before a text that could be a formula, written
// with ordinary or full-width signs.
func guardText(text string) string {
	if strings.IndexAny(text, "=+-@\t\r\n＝＋－＠") == 0 {
		return "'" + text
	}
	return text
}
