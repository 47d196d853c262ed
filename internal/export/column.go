package export

import "strings"

// Kind is what a column holds, and so how it is written.
type Kind string

// The kinds of columns. A Length is nanometres in the records and millimetres,
// exact, in a file; Bytes are escaped as in a Go string; a Flag is true or
// false; an Instant is UTC and an Offset the local clock's distance to it; a
// List and an Object are JSON.
const (
	Text    Kind = "text"
	Whole   Kind = "whole"
	Number  Kind = "number"
	Flag    Kind = "flag"
	Length  Kind = "length"
	Bytes   Kind = "bytes"
	Instant Kind = "instant"
	Offset  Kind = "offset"
	List    Kind = "list"
	Object  Kind = "object"
)

// Column is one column of a table: its name in the records, what it holds,
// and whether every row has a value.
type Column struct {
	Name     string
	As       string // the name in a file where it is not Name
	Kind     Kind
	Required bool
}

// Header returns the column's name in a file. The unit is part of it.
func (c Column) Header() string {
	switch {
	case c.As != "":
		return c.As
	case c.Kind == Length:
		return strings.TrimSuffix(c.Name, "_nm") + "_mm"
	default:
		return c.Name
	}
}

// Unit returns the column's unit by its UCUM code, "1" for a ratio or a
// probability; "" where no unit applies.
func (c Column) Unit() string {
	switch h := c.Header(); {
	case strings.HasSuffix(h, "_mm"):
		return "mm"
	case strings.HasSuffix(h, "_ms"):
		return "ms"
	case strings.HasSuffix(h, "_m"):
		return "m"
	case h == "expansion":
		return "/K"
	case h == "latitude", h == "longitude":
		return "deg"
	case h == "value", h == "resolution":
		return "" // of a further measure, which names its own
	case c.Kind == Number:
		return "1"
	default:
		return ""
	}
}

// Link says that columns of a table name a row of another: its columns there.
type Link struct {
	Columns []string
	Table   string
	Keys    []string
}

// Table is one table of an export. Key are the columns that name a row. All
// names are those in a file.
type Table struct {
	Name    string
	About   string
	Columns []Column
	Key     []string
	Links   []Link
}

// names returns the columns' names in the records.
func (t Table) names() []string {
	names := make([]string, len(t.Columns))
	for i, c := range t.Columns {
		names[i] = c.Name
	}
	return names
}

// headers returns the columns' names in a file.
func (t Table) headers() []string {
	names := make([]string, len(t.Columns))
	for i, c := range t.Columns {
		names[i] = c.Header()
	}
	return names
}

// table reads a table from words "name:kind". A word without a kind is text,
// "!" at the end says that every row has a value, and "id=shift" that the
// column id is called shift in a file. Its key is given in words too.
func table(name, about, key, columns string, links ...Link) Table {
	t := Table{Name: name, About: about, Key: strings.Fields(key), Links: links}
	for _, word := range strings.Fields(columns) {
		word, required := strings.CutSuffix(word, "!")
		column, kind, given := strings.Cut(word, ":")
		if !given {
			kind = string(Text)
		}
		column, as, _ := strings.Cut(column, "=")
		t.Columns = append(t.Columns, Column{Name: column, As: as, Kind: Kind(kind), Required: required})
	}
	return t
}

// link reads a link from words: the columns, the table that they point to, and
// its columns.
func link(columns, to, keys string) Link {
	return Link{Columns: strings.Fields(columns), Table: to, Keys: strings.Fields(keys)}
}
