package catalogue

import (
	"errors"
	"fmt"
	"strings"

	"seamfit/internal/length"
)

// document is a data file as written: embedded or the user's own.
type document struct {
	Catalogues []catalogueRow `toml:"catalogue"`
	Findings   []Finding      `toml:"finding"`
	Closures   []Closure      `toml:"closure"`
	Metals     []Metal        `toml:"metal"`
	Procedures []procedureRow `toml:"procedure"`
	Species    []speciesRow   `toml:"species"`
	Wear       []Wear         `toml:"wear"`
}

type catalogueRow struct {
	Name   string    `toml:"name"`
	Title  string    `toml:"title"`
	Source string    `toml:"source"`
	Mark   Mark      `toml:"mark"`
	Sizes  []sizeRow `toml:"size"`
}

type sizeRow struct {
	Label        string   `toml:"label"`
	Inner        rawText  `toml:"inner"`
	Height       rawText  `toml:"height"`
	Thickness    rawText  `toml:"thickness"`
	MassMG       int64    `toml:"mass_mg"`
	Shape        Shape    `toml:"shape"`
	Closures     []string `toml:"closures"`
	Discontinued bool     `toml:"discontinued"`
	Note         string   `toml:"note"`
	Source       string   `toml:"source"`
	Mark         Mark     `toml:"mark"`
}

type speciesRow struct {
	Scientific     string           `toml:"scientific"`
	English        string           `toml:"english,omitempty"`
	Synonyms       []string         `toml:"synonyms,omitempty"`
	EURING         string           `toml:"euring,omitempty"`
	Catalogue      string           `toml:"catalogue,omitempty"`
	Sizes          []Recommendation `toml:"sizes,omitempty"`
	Closures       []string         `toml:"closures,omitempty"`
	HardMetal      bool             `toml:"hard_metal,omitempty"`
	MetalReasons   []string         `toml:"metal_reasons,omitempty"`
	AboveJointOnly bool             `toml:"above_joint_only,omitempty"`
	NoMetalBand    bool             `toml:"no_metal_band,omitempty"`
	MinWidth       rawText          `toml:"min_width,omitempty"`
	MaxWidth       rawText          `toml:"max_width,omitempty"`
	Note           string           `toml:"note,omitempty"`
	Source         string           `toml:"source,omitempty"`
	Mark           Mark             `toml:"mark,omitempty"`

	LongevityYears  float64 `toml:"longevity_years,omitempty"`
	LongevitySource string  `toml:"longevity_source,omitempty"`
}

// rawText takes a value's text as the file has it, number or string, so that
// no digit passes through a float64.
type rawText struct{ text string }

// UnmarshalText keeps the text; it never fails.
func (r *rawText) UnmarshalText(text []byte) error {
	r.text = string(text)
	return nil
}

// MarshalText writes the text back.
func (r rawText) MarshalText() ([]byte, error) { return []byte(r.text), nil }

// Bounds of what can be a band or a leg: anything outside is a slip of unit
// or decimal point.
const (
	smallest = length.Millimetre / 10
	largest  = 60 * length.Millimetre
)

// lengthAt reads an optional length; a key left out gives 0.
func lengthAt(lines Lines, path string, raw rawText) (length.Length, error) {
	if raw.text == "" {
		return 0, nil
	}
	value, err := parseLength(raw.text)
	switch {
	case errors.Is(err, errNoUnit):
		return 0, lines.Errorf(path, `write it as "0.312 in", "13/64 in" or "7.92 mm"`,
			"the length %q %v", raw.text, errNoUnit)
	case err != nil:
		return 0, lines.Errorf(path, `write it as "0.312 in", "13/64 in" or "7.92 mm"`,
			"the length %q is %v", raw.text, err)
	case value < smallest || value > largest:
		return 0, lines.Errorf(path, "check the decimal point and the unit",
			"the length %q is not between 0.1 and 60 mm", raw.text)
	}
	return value, nil
}

// textAt refuses text that a terminal could take for a command; what it calls
// required may not be empty either.
func textAt(lines Lines, path, text string, required bool) error {
	if required && text == "" {
		return lines.Errorf(path, "add it", "%s is missing", lastKey(path))
	}
	if !isPrintable(text) {
		return lines.Errorf(path, "take the character out", "%s holds a character that cannot be shown: %q", lastKey(path), text)
	}
	return nil
}

// provenance completes a row's source and mark from what encloses it, and
// checks both.
func provenance(lines Lines, path string, source *string, mark *Mark, outerSource string, outerMark Mark) error {
	if *source == "" {
		*source = outerSource
	}
	if *mark == "" {
		*mark = outerMark
	}
	if !mark.valid() {
		return lines.Errorf(path+".mark", `write "source", "practice", "memory" or "user"`, "%q is no mark", string(*mark))
	}
	return textAt(lines, path+".source", *source, true)
}

func (r sizeRow) size(lines Lines, path string, outer *catalogueRow) (Size, error) {
	s := Size{
		Label: r.Label, MassMG: r.MassMG, Shape: r.Shape, Closures: r.Closures,
		Discontinued: r.Discontinued, Note: r.Note, Source: r.Source, Mark: r.Mark,
	}
	if s.Shape == "" {
		s.Shape = Round
	}
	if len(s.Closures) == 0 {
		s.Closures = []string{"butt-end"}
	}
	for _, part := range []struct {
		key  string
		raw  rawText
		into *length.Length
	}{{"inner", r.Inner, &s.Inner}, {"height", r.Height, &s.Height}, {"thickness", r.Thickness, &s.Thickness}} {
		value, err := lengthAt(lines, path+"."+part.key, part.raw)
		if err != nil {
			return Size{}, err
		}
		*part.into = value
	}
	if err := provenance(lines, path, &s.Source, &s.Mark, outer.Source, outer.Mark); err != nil {
		return Size{}, err
	}
	if err := s.check(lines, path); err != nil {
		return Size{}, err
	}
	return s, nil
}

func (s *Size) check(lines Lines, path string) error {
	if err := textAt(lines, path+".label", s.Label, true); err != nil {
		return err
	}
	if err := textAt(lines, path+".note", s.Note, false); err != nil {
		return err
	}
	switch {
	case s.Shape != Round && s.Shape != Other:
		return lines.Errorf(path+".shape", `write "round" or "other"`, "size %q: %q is no shape", s.Label, string(s.Shape))
	case s.Shape == Round && s.Inner == 0:
		return lines.Errorf(path+".inner", "add its inner diameter", "size %q is round and has no inner diameter", s.Label)
	case s.MassMG < 0:
		return lines.Errorf(path+".mass_mg", "write the mass in milligrams", "size %q has a negative mass", s.Label)
	}
	return nil
}

func (r speciesRow) species(lines Lines, path string) (Species, error) {
	s := Species{
		Scientific: oneBlank(r.Scientific), English: oneBlank(r.English), EURING: r.EURING,
		Closures: r.Closures, HardMetal: r.HardMetal || len(r.MetalReasons) > 0, MetalReasons: r.MetalReasons,
		AboveJointOnly: r.AboveJointOnly,
		NoMetalBand:    r.NoMetalBand, Note: r.Note, Source: r.Source, Mark: r.Mark,
		LongevityYears: r.LongevityYears, LongevitySource: r.LongevitySource,
	}
	for _, name := range r.Synonyms {
		s.Synonyms = append(s.Synonyms, oneBlank(name))
	}
	var err error
	if s.MinWidth, err = lengthAt(lines, path+".min_width", r.MinWidth); err != nil {
		return Species{}, err
	}
	if s.MaxWidth, err = lengthAt(lines, path+".max_width", r.MaxWidth); err != nil {
		return Species{}, err
	}
	if s.MaxWidth != 0 && s.MaxWidth < s.MinWidth {
		return Species{}, lines.Errorf(path+".max_width", "exchange the two",
			"%s: the greatest width is below the least", s.Scientific)
	}
	for i, rec := range r.Sizes {
		if rec.Catalogue == "" {
			rec.Catalogue = r.Catalogue
		}
		if err := rec.check(lines, fmt.Sprintf("%s.sizes[%d]", path, i)); err != nil {
			return Species{}, err
		}
		s.Sizes = append(s.Sizes, rec)
	}
	if err := s.check(lines, path); err != nil {
		return Species{}, err
	}
	return s, nil
}

func (r *Recommendation) check(lines Lines, path string) error {
	switch r.Sex {
	case "", "male", "female":
	default:
		return lines.Errorf(path, `write "male" or "female", or leave it out`, "%q is no sex", r.Sex)
	}
	if err := textAt(lines, path+".age", r.Age, false); err != nil {
		return err
	}
	return textAt(lines, path+".size", r.Size, true)
}

func (s *Species) check(lines Lines, path string) error {
	if err := textAt(lines, path+".scientific", s.Scientific, true); err != nil {
		return err
	}
	switch {
	// Written so that NaN fails too.
	case !(s.LongevityYears >= 0 && s.LongevityYears <= 200):
		return lines.Errorf(path+".longevity_years", "write the years, or leave it out", "%s: longevity_years %v is out of range", s.Scientific, s.LongevityYears)
	case s.LongevityYears > 0 && s.LongevitySource == "":
		return lines.Errorf(path+".longevity_years", "add longevity_source, or leave the years out", "%s: longevity_years has no source", s.Scientific)
	}
	for _, part := range []struct {
		key   string
		texts []string
	}{
		{"english", []string{s.English}},
		{"euring", []string{s.EURING}},
		{"note", []string{s.Note}},
		{"longevity_source", []string{s.LongevitySource}},
		{"synonyms", s.Synonyms},
		{"metal_reasons", s.MetalReasons},
	} {
		for _, text := range part.texts {
			if err := textAt(lines, path+"."+part.key, text, false); err != nil {
				return err
			}
		}
	}
	return nil
}

// row is the opposite of speciesRow.species.
func (s *Species) row() speciesRow {
	r := speciesRow{
		Scientific: s.Scientific, English: s.English, Synonyms: s.Synonyms, EURING: s.EURING, Sizes: s.Sizes,
		Closures: s.Closures, HardMetal: s.HardMetal, MetalReasons: s.MetalReasons,
		AboveJointOnly: s.AboveJointOnly, NoMetalBand: s.NoMetalBand,
		Note: s.Note, Source: s.Source, Mark: s.Mark,
		LongevityYears: s.LongevityYears, LongevitySource: s.LongevitySource,
	}
	if s.MinWidth != 0 {
		r.MinWidth.text = s.MinWidth.String()
	}
	if s.MaxWidth != 0 {
		r.MaxWidth.text = s.MaxWidth.String()
	}
	return r
}

// oneBlank leaves one blank between the words of a name, so that it is found
// however it is typed. Other white space stays, to be refused.
func oneBlank(name string) string {
	return strings.Join(strings.FieldsFunc(name, func(r rune) bool { return r == ' ' }), " ")
}

func lastKey(path string) string { return path[strings.LastIndexByte(path, '.')+1:] }
