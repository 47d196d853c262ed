package export

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"seamfit/internal/catalogue"
)

// Map is a user's own table: which columns it has, what they are called, and
// the codes of their values.
type Map struct {
	// Name is what submissions are remembered by.
	Name string `toml:"name"`
	// Separator stands between fields: "," unless given; ";" or a tab.
	Separator string `toml:"separator"`
	// Decimal is the mark in numbers that were measured: "." unless given.
	Decimal string `toml:"decimal"`
	// Date and Time are the forms of local times, in the letters YYYY MM DD and
	// HH mm SS: "YYYY-MM-DD" and "HH:mm" unless given.
	Date string `toml:"date"`
	Time string `toml:"time"`
	// BandedOnly leaves out birds that left without a number.
	BandedOnly bool `toml:"banded_only"`
	// Guard puts an apostrophe before texts that a spreadsheet could run.
	Guard   bool        `toml:"guard"`
	Columns []MapColumn `toml:"column"`
}

// MapColumn is one column: the field that it shows, or the same Value in every
// row. Codes replace values; a value without a code is an error, unless Else is
// given. Empty is written where the record has no value.
type MapColumn struct {
	Name  string            `toml:"name"`
	From  string            `toml:"from"`
	Value string            `toml:"value"`
	Codes map[string]string `toml:"codes"`
	Else  *string           `toml:"else"`
	Empty string            `toml:"empty"`
}

// ReadMap reads a map from TOML. A broken file is refused whole with a
// *catalogue.FileError that names the line, the reason and the mend.
func ReadMap(data []byte, file string) (Map, error) {
	var m Map
	lines, err := catalogue.Decode(data, file, &m)
	if err != nil {
		return Map{}, err
	}
	m = m.withDefaults()
	for key, text := range map[string]string{"name": m.Name, "separator": m.Separator, "decimal": m.Decimal, "date": m.Date, "time": m.Time} {
		if text != catalogue.Printable(text) && text != "\t" {
			return Map{}, lines.Errorf(key, "take it out", "%s holds a character that cannot be shown", key)
		}
	}
	switch {
	case m.Name == "":
		return Map{}, lines.Errorf("name", `give the map a name, like name = "office"`, "the map has no name")
	case !slices.Contains([]string{",", ";", "\t"}, m.Separator):
		return Map{}, lines.Errorf("separator", `use ",", ";" or "\t"`, "the separator is %q", m.Separator)
	case m.Decimal != "." && m.Decimal != ",":
		return Map{}, lines.Errorf("decimal", `use "." or ","`, "the decimal mark is %q", m.Decimal)
	case len(m.Columns) == 0:
		return Map{}, lines.Errorf("column", "give at least one [[column]]", "the map has no columns")
	}
	for _, form := range []struct{ key, text, letters string }{{"date", m.Date, "YYYY MM DD"}, {"time", m.Time, "HH mm SS"}} {
		if _, err := layout(form.text); err != nil {
			return Map{}, lines.Errorf(form.key, "write it with "+form.letters+" and signs between them", "the form %q %v", form.text, err)
		}
	}
	return m, m.checkColumns(lines)
}

func (m Map) withDefaults() Map {
	for into, text := range map[*string]string{&m.Separator: ",", &m.Decimal: ".", &m.Date: "YYYY-MM-DD", &m.Time: "HH:mm"} {
		if *into == "" {
			*into = text
		}
	}
	return m
}

func (m Map) checkColumns(lines catalogue.Lines) error {
	seen := map[string]bool{}
	for i, c := range m.Columns {
		at := fmt.Sprintf("column[%d]", i)
		texts := []string{c.Name, c.Value, c.Empty}
		for value, code := range c.Codes {
			texts = append(texts, value, code)
		}
		if c.Else != nil {
			texts = append(texts, *c.Else)
		}
		for _, text := range texts {
			if text != catalogue.Printable(text) {
				return lines.Errorf(at, "take it out", "%q holds a character that cannot be shown", text)
			}
		}
		switch _, known := fieldNamed(c.From); {
		case c.Name == "":
			return lines.Errorf(at, "give it a name", "the column has no name")
		case seen[c.Name]:
			return lines.Errorf(at+".name", "give each column a name of its own", "two columns are called %q", c.Name)
		case c.From == "" && (len(c.Codes) > 0 || c.Else != nil):
			return lines.Errorf(at, `say what it shows, like from = "age"`, "the column %q has codes but no field", c.Name)
		case c.From != "" && c.Value != "":
			return lines.Errorf(at, "take one of them out", "the column %q has both from and value", c.Name)
		case c.From != "" && !known:
			return lines.Errorf(at+".from", "use one of "+strings.Join(FieldNames(), ", ")+", or "+furtherPrefix+" with the name of a further measure", "there is no field %q", c.From)
		}
		seen[c.Name] = true
	}
	return nil
}

// layout turns a form of dates or times into that of package time.
func layout(form string) (string, error) {
	out := strings.NewReplacer("YYYY", "2006", "MM", "01", "DD", "02", "HH", "15", "mm", "04", "SS", "05").Replace(form)
	rest := strings.NewReplacer("YYYY", "", "MM", "", "DD", "", "HH", "", "mm", "", "SS", "").Replace(form)
	if out == rest {
		return "", errors.New("shows nothing")
	}
	if strings.Trim(rest, "-./: T") != "" {
		return "", fmt.Errorf("holds %q", rest)
	}
	return out, nil
}

// value returns what a row has in this column, where show shows the field that
// it is from.
func (m Map) value(c MapColumn, show func(Map, bird) string, b bird) (string, error) {
	if c.From == "" {
		return m.guard(c.Value), nil
	}
	text := show(m, b)
	if text == "" {
		return m.guard(c.Empty), nil
	}
	if c.Codes == nil {
		return m.guard(printable(text)), nil
	}
	code, ok := c.Codes[text]
	if !ok && c.Else == nil {
		return "", fmt.Errorf("the column %q has no code for %q (handling %s); add it to the column's codes, or give an else", c.Name, text, b.ID)
	}
	if !ok {
		code = *c.Else
	}
	return m.guard(code), nil
}

func (m Map) guard(text string) string {
	if m.Guard {
		return guardText(text)
	}
	return text
}

func (m Map) header() []string {
	names := make([]string, len(m.Columns))
	for i, c := range m.Columns {
		names[i] = c.Name
	}
	return names
}

// rows returns what makes the row of a bird.
func (m Map) rows() func(bird) ([]string, error) {
	show := make([]func(Map, bird) string, len(m.Columns))
	for i, c := range m.Columns {
		show[i], _ = fieldNamed(c.From) // names were checked when the map was read
	}
	return func(b bird) ([]string, error) {
		row := make([]string, len(m.Columns))
		for i, c := range m.Columns {
			var err error
			if row[i], err = m.value(c, show[i], b); err != nil {
				return nil, err
			}
		}
		return row, nil
	}
}
