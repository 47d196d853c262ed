package catalogue

import (
	"bytes"
	"cmp"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
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

// OfficeColumn is a column that an office's list may have.
type OfficeColumn struct {
	Name  string
	About string
	// each says that the column is about a row's sizes; the others are about
	// the species.
	each bool
}

// The columns that ReadOfficeList knows, by the keys of a catalogue file. Only
// the first must be there.
const (
	colScientific      = "scientific"
	colEnglish         = "english"
	colSynonyms        = "synonyms"
	colEURING          = "euring"
	colCatalogue       = "catalogue"
	colSizes           = "sizes"
	colSex             = "sex"
	colAge             = "age"
	colClosures        = "closures"
	colHardMetal       = "hard_metal"
	colMetalReasons    = "metal_reasons"
	colAboveJointOnly  = "above_joint_only"
	colNoMetalBand     = "no_metal_band"
	colMinWidth        = "min_width"
	colMaxWidth        = "max_width"
	colLongevityYears  = "longevity_years"
	colLongevitySource = "longevity_source"
	colNote            = "note"
	colSource          = "source"
)

// OfficeColumns returns the columns that ReadOfficeList knows.
func OfficeColumns() []OfficeColumn {
	return []OfficeColumn{
		{colScientific, "scientific name; the one that must be there", false},
		{colEnglish, "English name", false},
		{colSynonyms, "other names that it is found under, A | B", false},
		{colEURING, "EURING species code", false},
		{colSizes, "labels of the recommended sizes in the office's order, 5 | 6", true},
		{colCatalogue, "the table of sizes that the labels are of", true},
		{colSex, "male or female, where the sizes hold for one only", true},
		{colAge, "the age that the sizes hold for", true},
		{colClosures, "closure kinds that are allowed, lock-on | rivet; empty: any", false},
		{colHardMetal, "yes where hard metal is advised", false},
		{colMetalReasons, "why it is, salt water | long-lived", false},
		{colAboveJointOnly, "yes where the band goes above the joint only", false},
		{colNoMetalBand, "yes where no metal band goes on the leg", false},
		{colMinWidth, "least known leg width with its unit, 7.1 mm", false},
		{colMaxWidth, "greatest known leg width, likewise", false},
		{colLongevityYears, "years that the species is known to live", false},
		{colLongevitySource, "where the years are published; needed with them", false},
		{colNote, "what else is to be known", false},
		{colSource, "where the sizes are from; empty: the office's own list", false},
	}
}

func officeColumnNames() []string {
	var names []string
	for _, c := range OfficeColumns() {
		names = append(names, c.Name)
	}
	return names
}

// ReadOfficeList reads an office's list of species as comma-, semicolon- or
// tab-separated UTF-8 text whose first line names the columns, which are those
// of OfficeColumns in any order. Several values in one cell stand between
// vertical bars, "5 | 6". Rows of one species for different sexes or ages
// follow one another and are joined; what is said of the species itself is in
// the first of them, and may be said again. defaultTable is the table of sizes
// meant where the column catalogue is missing or empty.
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
	reading := officeReading{book: b, list: list, table: defaultTable, place: map[string]int{}, cells: len(header)}
	if reading.columns, err = list.columnsOf(header); err != nil {
		return refuse("name the columns "+strings.Join(officeColumnNames(), ", "), "%v", err)
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
		if !slices.Contains(officeColumnNames(), key) {
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
	cells   int // of the header
	table   string
	place   map[string]int // of each species taken, by its folded name
	last    string         // the species of the row before
	first   []string       // the first row of that species
}

// cell returns what a row has in a column.
func (o *officeReading) cell(fields []string, column string) string {
	if i, there := o.columns[column]; there && i < len(fields) {
		return strings.TrimSpace(fields[i])
	}
	return ""
}

// row takes one row, or says why not.
func (o *officeReading) row(fields []string) *Refusal {
	// Blank cells at the end are a spreadsheet's; another is a separator in a
	// text, which moves all that follows into a wrong column.
	for i := o.cells; i < len(fields); i++ {
		if strings.TrimSpace(fields[i]) != "" {
			return &Refusal{
				Reason: fmt.Sprintf("the row has %d cells, and the first line names %d columns", len(fields), o.cells),
				Mend:   "put a text that holds the separator between quotation marks",
			}
		}
	}
	cell := func(column string) string { return o.cell(fields, column) }
	raw := speciesRow{
		Scientific: cell(colScientific), English: cell(colEnglish), Synonyms: several(cell(colSynonyms)), EURING: cell(colEURING),
		Closures: several(cell(colClosures)), Catalogue: cmp.Or(cell(colCatalogue), o.table),
		MetalReasons: several(cell(colMetalReasons)), MinWidth: rawText{cell(colMinWidth)}, MaxWidth: rawText{cell(colMaxWidth)},
		LongevitySource: cell(colLongevitySource),
		Note:            cell(colNote), Source: cmp.Or(cell(colSource), "the office's own list"), Mark: FromUser,
	}
	for _, label := range several(cell(colSizes)) {
		raw.Sizes = append(raw.Sizes, Recommendation{Size: label, Sex: strings.ToLower(cell(colSex)), Age: strings.ToLower(cell(colAge))})
	}
	for _, flag := range []struct {
		column string
		into   *bool
	}{{colHardMetal, &raw.HardMetal}, {colAboveJointOnly, &raw.AboveJointOnly}, {colNoMetalBand, &raw.NoMetalBand}} {
		yes, ok := yesOrNo(cell(flag.column))
		if !ok {
			return &Refusal{Reason: fmt.Sprintf("%s %q is neither yes nor no", flag.column, cell(flag.column)), Mend: `write "yes" or "no"`}
		}
		*flag.into = yes
	}
	if cell(colHardMetal) != "" && !raw.HardMetal && len(raw.MetalReasons) > 0 {
		return &Refusal{Reason: "hard_metal says no, and metal_reasons say why hard metal is advised", Mend: "write yes, or take the reasons out"}
	}
	if years := cell(colLongevityYears); years != "" {
		var err error
		if raw.LongevityYears, err = strconv.ParseFloat(strings.Replace(years, ",", ".", 1), 64); err != nil {
			return &Refusal{Reason: fmt.Sprintf("longevity_years %q is no number", years), Mend: "write the years as a number, like 27.5"}
		}
	}
	s, err := o.checked(raw)
	if err != nil {
		return &Refusal{Reason: err.Reason, Mend: err.Mend}
	}
	return o.take(s, fields)
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

func (o *officeReading) take(s Species, fields []string) *Refusal {
	key := strings.ToLower(s.Scientific)
	at, known := o.place[key]
	switch {
	case !known:
		o.place[key] = len(o.list.Species)
		o.list.Species = append(o.list.Species, s)
		o.first = fields
	case o.last != key:
		return &Refusal{
			Reason: fmt.Sprintf("%s was already in the list, further up", s.Scientific),
			Mend:   "put the rows of one species together, or take one out",
		}
	default:
		if refusal := o.otherwise(s.Scientific, fields); refusal != nil {
			return refusal
		}
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

// otherwise refuses a later row of a species that says something else of it
// than the first, which would be lost.
func (o *officeReading) otherwise(scientific string, fields []string) *Refusal {
	for _, c := range OfficeColumns() {
		now, before := o.cell(fields, c.Name), o.cell(o.first, c.Name)
		if c.each || c.Name == colScientific || now == "" || now == before {
			continue
		}
		return &Refusal{
			Reason: fmt.Sprintf("%s: the %s is %q here, and %q in the species' first row", scientific, c.Name, now, before),
			Mend:   "say it in the first row, and the same or nothing in the others",
		}
	}
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
