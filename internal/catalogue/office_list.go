package catalogue

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/pelletier/go-toml/v2"
)

// Refusal says why one row of an office's list was not taken.
type Refusal struct {
	Line   int // in the file, the header being line 1
	Text   string
	Reason string
	Mend   string
}

// OfficeList is what came out of an office's list of species.
type OfficeList struct {
	Species []Species
	Rows    int // rows read, the refused ones included
	Refused []Refusal
	Ignored []string // columns that mean nothing here
}

// The columns of an office's list. Only the first must be there.
const (
	colScientific = "scientific"
	colEnglish    = "english"
	colSynonyms   = "synonyms"
	colEURING     = "euring"
	colCatalogue  = "catalogue"
	colSizes      = "sizes"
	colSex        = "sex"
	colAge        = "age"
	colClosures   = "closures"
	colHardMetal  = "hard_metal"
	colMinWidth   = "min_width"
	colMaxWidth   = "max_width"
	colNote       = "note"
	colSource     = "source"
)

// OfficeColumns returns the names of the columns that ReadOfficeList knows.
func OfficeColumns() []string {
	return []string{
		colScientific, colEnglish, colSynonyms, colEURING, colCatalogue, colSizes, colSex, colAge,
		colClosures, colHardMetal, colMinWidth, colMaxWidth, colNote, colSource,
	}
}

// ReadOfficeList reads an office's list of species as comma-, semicolon- or
// tab-separated UTF-8 text whose first line names the columns: scientific,
// and as wanted english, synonyms, euring, catalogue, sizes, sex, age,
// closures, hard_metal (yes or no), min_width, max_width (with their unit),
// note and source. Synonyms, sizes and closures hold several values between
// vertical bars, "5 | 6", in the office's order. Rows of one species for
// different sexes or ages follow one another and are joined; what is said of
// the species itself is taken from the first of them. defaultTable is the
// table of sizes meant where the column catalogue is missing or empty.
//
// A row that can't be taken is left out and reported; the others are taken.
// Only a file of which nothing can be read is an error, a *FileError.
func (b *Book) ReadOfficeList(data []byte, name, defaultTable string) (*OfficeList, error) {
	refuse := func(mend, format string, args ...any) (*OfficeList, error) {
		return nil, &FileError{File: name, Line: 1, Reason: fmt.Sprintf(format, args...), Mend: mend}
	}
	data = bytes.TrimPrefix(data, []byte("\ufeff")) // spreadsheets put it there
	switch {
	case len(data) > maxFile:
		return refuse("check that this is the right file", "larger than 16 MB")
	case !utf8.Valid(data):
		return refuse("save it as UTF-8", "not UTF-8 text")
	}
	r := csv.NewReader(bytes.NewReader(data))
	r.Comma = separator(data)
	r.FieldsPerRecord = -1 // a short row is that row's own fault
	header, err := r.Read()
	if err != nil {
		return refuse("the first line must name the columns", "no line of column names was found")
	}
	list := &OfficeList{}
	reading := officeReading{book: b, list: list, table: defaultTable, place: map[string]int{}}
	if reading.columns, err = list.columnsOf(header); err != nil {
		return refuse("name the columns "+strings.Join(OfficeColumns(), ", "), "%v", err)
	}
	for {
		fields, err := r.Read()
		if errors.Is(err, io.EOF) {
			return list, nil
		}
		list.Rows++
		var bad *csv.ParseError
		if errors.As(err, &bad) {
			list.Refused = append(list.Refused, Refusal{Line: bad.StartLine, Reason: bad.Err.Error(), Mend: "check the quotation marks from this line on"})
			continue
		}
		line, _ := r.FieldPos(0)
		if refusal := reading.row(fields); refusal != nil {
			refusal.Line, refusal.Text = line, Printable(strings.Join(fields, string(r.Comma)))
			list.Refused = append(list.Refused, *refusal)
		}
	}
}

// separator is the one of the three that the first line has most of.
func separator(data []byte) rune {
	first, _, _ := bytes.Cut(data, []byte("\n"))
	best := ','
	for _, candidate := range []rune{';', '\t'} {
		if bytes.Count(first, []byte(string(candidate))) > bytes.Count(first, []byte(string(best))) {
			best = candidate
		}
	}
	return best
}

func (l *OfficeList) columnsOf(header []string) (map[string]int, error) {
	columns := map[string]int{}
	for i, title := range header {
		key := strings.ReplaceAll(strings.ToLower(strings.TrimSpace(title)), " ", "_")
		if !slices.Contains(OfficeColumns(), key) {
			l.Ignored = append(l.Ignored, Printable(title))
			continue
		}
		if _, twice := columns[key]; twice {
			return nil, fmt.Errorf("the column %q is there twice", key)
		}
		columns[key] = i
	}
	if _, named := columns[colScientific]; !named {
		return nil, errors.New(`there is no column "scientific"`)
	}
	return columns, nil
}

// officeReading is the state of reading one list.
type officeReading struct {
	book    *Book
	list    *OfficeList
	columns map[string]int
	table   string
	place   map[string]int // of each species taken, by its folded name
	last    string         // the species of the row before
}

// row takes one row, or says why not.
func (o *officeReading) row(fields []string) *Refusal {
	cell := func(column string) string {
		if i, there := o.columns[column]; there && i < len(fields) {
			return strings.TrimSpace(fields[i])
		}
		return ""
	}
	raw := speciesRow{
		Scientific: cell(colScientific), English: cell(colEnglish), Synonyms: several(cell(colSynonyms)), EURING: cell(colEURING),
		Closures: several(cell(colClosures)), Catalogue: cell(colCatalogue),
		MinWidth: rawText{cell(colMinWidth)}, MaxWidth: rawText{cell(colMaxWidth)},
		Note: cell(colNote), Source: cell(colSource), Mark: FromUser,
	}
	if raw.Source == "" {
		raw.Source = "the office's own list"
	}
	if raw.Catalogue == "" {
		raw.Catalogue = o.table
	}
	for _, label := range several(cell(colSizes)) {
		raw.Sizes = append(raw.Sizes, Recommendation{Size: label, Sex: strings.ToLower(cell(colSex)), Age: strings.ToLower(cell(colAge))})
	}
	hard, ok := yesOrNo(cell(colHardMetal))
	if !ok {
		return &Refusal{Reason: fmt.Sprintf("hard_metal %q is neither yes nor no", cell(colHardMetal)), Mend: `write "yes" or "no"`}
	}
	raw.HardMetal = hard
	s, err := o.checked(raw)
	if err != nil {
		return &Refusal{Reason: err.Reason, Mend: err.Mend}
	}
	return o.take(s)
}

func (o *officeReading) checked(raw speciesRow) (Species, *FileError) {
	m := merge{book: *o.book, mark: FromUser}
	var refused *FileError
	// No lines: the caller knows the row's own.
	s, err := raw.species(Lines{}, "row")
	if err == nil {
		err = m.known("row", &s)
	}
	errors.As(err, &refused)
	return s, refused
}

func (o *officeReading) take(s Species) *Refusal {
	key := strings.ToLower(s.Scientific)
	at, known := o.place[key]
	switch {
	case !known:
		o.place[key] = len(o.list.Species)
		o.list.Species = append(o.list.Species, s)
	case o.last != key:
		return &Refusal{
			Reason: fmt.Sprintf("%s was already in the list, further up", s.Scientific),
			Mend:   "put the rows of one species together, or take one out",
		}
	default:
		taken := &o.list.Species[at]
		for _, r := range s.Sizes {
			if slices.Contains(taken.Sizes, r) {
				return &Refusal{
					Reason: fmt.Sprintf("%s: size %q is there twice for the same sex and age", s.Scientific, r.Size),
					Mend:   "take one of the two out",
				}
			}
		}
		taken.Sizes = append(taken.Sizes, s.Sizes...)
	}
	o.last = key
	return nil
}

func several(cell string) []string {
	var values []string
	for value := range strings.SplitSeq(cell, "|") {
		if value = strings.TrimSpace(value); value != "" {
			values = append(values, value)
		}
	}
	return values
}

func yesOrNo(cell string) (yes, ok bool) {
	switch strings.ToLower(cell) {
	case "yes", "y", "true", "1":
		return true, true
	case "no", "n", "false", "0", "":
		return false, true
	default:
		return false, false
	}
}

// MarshalSpecies writes species as a catalogue file that With reads back to
// the same rows.
func MarshalSpecies(species []Species) ([]byte, error) {
	doc := struct {
		Species []speciesRow `toml:"species"`
	}{Species: make([]speciesRow, len(species))}
	for i, s := range species {
		doc.Species[i] = s.row()
	}
	data, err := toml.Marshal(doc)
	if err != nil {
		return nil, fmt.Errorf("write species: %w", err)
	}
	return data, nil
}
