package main

import (
	"strings"

	"github.com/spf13/cobra"

	"seamfit/internal/catalogue"
	"seamfit/internal/fit"
	"seamfit/internal/length"
)

func (a *app) catalogueShowCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "show [TABLE | SPECIES]",
		Short: "Show a table of sizes, or what is known of a species",
		Long: `Show a table of sizes by its name, or what is known of a species by any part of
its scientific or English name. Without an argument: the tables that there are.`,
		Args: cobra.ArbitraryArgs,
		RunE: func(_ *cobra.Command, args []string) error { return a.catalogueShow(strings.Join(args, " ")) },
	}
}

// searchShown is how many species a search shows.
const searchShown = 20

func (a *app) catalogueShow(text string) error {
	files, err := a.load()
	if err != nil {
		return err
	}
	book := files.setup.Book
	if strings.TrimSpace(text) == "" {
		return a.showBook(book)
	}
	if table, ok := book.Catalogue(text); ok {
		return a.showTable(table)
	}
	if sp, ok := book.SpeciesNamed(text); ok {
		return a.showSpecies(book, files.setup.Model, sp)
	}
	switch found := book.Search(text, searchShown); len(found) {
	case 0:
		return usagef("%q is neither a table nor part of a species' name; the tables are %s", text, catalogueNames(book))
	case 1:
		return a.showSpecies(book, files.setup.Model, found[0])
	default:
		return a.showFound(found)
	}
}

// tableJSON is a table as a tool reads it; without sizes in the list of all.
type tableJSON struct {
	Name   string         `json:"name"`
	Title  string         `json:"title"`
	Source string         `json:"source"`
	Mark   catalogue.Mark `json:"mark"`
	Sizes  []sizeJSON     `json:"sizes"`
}

// sizeJSON is a row of a table; null where nothing is published.
type sizeJSON struct {
	Size         string         `json:"size"`
	InnerMM      *float64       `json:"inner_mm"`
	HeightMM     *float64       `json:"height_mm"`
	ThicknessMM  *float64       `json:"thickness_mm"`
	Shape        string         `json:"shape"`
	Closures     []string       `json:"closures"`
	Discontinued bool           `json:"discontinued"`
	Note         string         `json:"note"`
	Source       string         `json:"source"`
	Mark         catalogue.Mark `json:"mark"`
}

func tableOf(c *catalogue.Catalogue) tableJSON {
	out := tableJSON{Name: c.Name, Title: c.Title, Source: c.Source, Mark: c.Mark, Sizes: []sizeJSON{}}
	for _, s := range c.Sizes {
		out.Sizes = append(out.Sizes, sizeJSON{
			Size: s.Label, InnerMM: known(s.Inner), HeightMM: known(s.Height), ThicknessMM: known(s.Thickness),
			Shape: string(s.Shape), Closures: s.Closures, Discontinued: s.Discontinued, Note: s.Note, Source: s.Source, Mark: s.Mark,
		})
	}
	return out
}

// known returns a length in millimetres; nil for 0, which is "not published".
func known(l length.Length) *float64 {
	if l == 0 {
		return nil
	}
	mm := l.MM()
	return &mm
}

func (a *app) showBook(book *catalogue.Book) error {
	verified := 0
	for i := range book.Species {
		if book.Species[i].Verified() {
			verified++
		}
	}
	if a.json() {
		tables := []tableJSON{}
		for i := range book.Catalogues {
			tables = append(tables, tableOf(&book.Catalogues[i]))
		}
		return a.writeJSON(map[string]any{"catalogues": tables, "species": len(book.Species), "species_verified": verified})
	}
	for _, c := range book.Catalogues {
		if err := a.printf("%-14s %3d sizes  %s (%s)\n", c.Name, len(c.Sizes), c.Title, trust(c.Mark, c.Source)); err != nil {
			return err
		}
	}
	return a.printf("\n%d species, of which %d have sizes from a source that was read or from your own files\n", len(book.Species), verified)
}

func (a *app) showTable(c *catalogue.Catalogue) error {
	if a.json() {
		return a.writeJSON(tableOf(c))
	}
	if err := a.printf("%s: %s\n%s\n\n%-10s %9s %9s %9s  %s\n", c.Name, c.Title, trust(c.Mark, c.Source),
		"size", "inner mm", "height mm", "wall mm", "closures"); err != nil {
		return err
	}
	for _, s := range c.Sizes {
		remarks := strings.Join(s.Closures, ", ")
		if s.Shape != catalogue.Round {
			remarks += "; not round"
		}
		if s.Discontinued {
			remarks += "; no longer made"
		}
		if s.Note != "" {
			remarks += "; " + s.Note
		}
		if err := a.printf("%-10s %9s %9s %9s  %s\n", s.Label, published(s.Inner, 3), published(s.Height, 2), published(s.Thickness, 3), remarks); err != nil {
			return err
		}
	}
	return nil
}

func published(l length.Length, decimals int) string {
	mm := known(l)
	return number(mm, decimals)
}

func (a *app) showFound(found []catalogue.Species) error {
	if a.json() {
		names := []map[string]string{}
		for _, sp := range found {
			names = append(names, map[string]string{"scientific": sp.Scientific, "english": sp.English})
		}
		return a.writeJSON(map[string]any{"found": names})
	}
	for _, sp := range found {
		if err := a.printf("%-32s %s\n", sp.Scientific, sp.English); err != nil {
			return err
		}
	}
	return nil
}

// speciesJSON is a species as a tool reads it.
type speciesJSON struct {
	Scientific     string         `json:"scientific"`
	English        string         `json:"english"`
	Synonyms       []string       `json:"synonyms"`
	EURING         string         `json:"euring"`
	Sizes          []listedJSON   `json:"sizes"`
	Closures       []string       `json:"closures"` // empty: any
	HardMetal      bool           `json:"hard_metal"`
	MetalReasons   []string       `json:"metal_reasons"`
	AboveJointOnly bool           `json:"above_joint_only"`
	NoMetalBand    bool           `json:"no_metal_band"`
	MinWidthMM     *float64       `json:"min_width_mm"`
	MaxWidthMM     *float64       `json:"max_width_mm"`
	Note           string         `json:"note"`
	Source         string         `json:"source"`
	Mark           catalogue.Mark `json:"mark"`
	Advice         string         `json:"advice"` // what a person must be told beside the sizes
}

// listedJSON is a recommended size with the leg widths that its inner diameter
// stands for by the limits on play; null where it is not round.
type listedJSON struct {
	Size      string   `json:"size"`
	Catalogue string   `json:"catalogue"`
	Sex       string   `json:"sex"`
	Age       string   `json:"age"`
	LegFromMM *float64 `json:"leg_from_mm"`
	LegToMM   *float64 `json:"leg_to_mm"`
}

func speciesOf(book *catalogue.Book, m fit.Model, sp catalogue.Species) speciesJSON {
	out := speciesJSON{
		Scientific: sp.Scientific, English: sp.English, Synonyms: some(sp.Synonyms), EURING: sp.EURING, Sizes: []listedJSON{},
		Closures: some(sp.Closures), HardMetal: sp.HardMetal, MetalReasons: some(sp.MetalReasons),
		AboveJointOnly: sp.AboveJointOnly, NoMetalBand: sp.NoMetalBand,
		MinWidthMM: known(sp.MinWidth), MaxWidthMM: known(sp.MaxWidth), Note: sp.Note, Source: sp.Source, Mark: sp.Mark,
	}
	if len(sp.Sizes) > 0 {
		out.Advice = sp.Mark.Advice()
	}
	for _, r := range sp.Sizes {
		listed := listedJSON{Size: r.Size, Catalogue: r.Catalogue, Sex: r.Sex, Age: r.Age}
		if from, to, ok := window(book, m, r); ok {
			listed.LegFromMM, listed.LegToMM = &from, &to
		}
		out.Sizes = append(out.Sizes, listed)
	}
	return out
}

// some returns a list that JSON writes as [] where it is empty.
func some(list []string) []string { return append([]string{}, list...) }

// window returns the leg widths that a recommended size fits by its play.
func window(book *catalogue.Book, m fit.Model, r catalogue.Recommendation) (from, to float64, ok bool) {
	table, ok := book.Catalogue(r.Catalogue)
	if !ok {
		return 0, 0, false
	}
	size, ok := table.Size(r.Size)
	if !ok || size.Shape != catalogue.Round || size.Inner == 0 {
		return 0, 0, false
	}
	from, to = m.Window(size.Inner)
	return from, to, true
}

func (a *app) showSpecies(book *catalogue.Book, m fit.Model, sp catalogue.Species) error {
	s := speciesOf(book, m, sp)
	if a.json() {
		return a.writeJSON(s)
	}
	if err := a.printf("%s  %s\n", s.Scientific, s.English); err != nil {
		return err
	}
	for _, row := range speciesRows(s) {
		if err := a.printf("  %-14s %s\n", row[0], row[1]); err != nil {
			return err
		}
	}
	return a.printListed(s)
}

// speciesRows are what is known of a species beside its sizes, each with its
// heading.
func speciesRows(s speciesJSON) [][2]string {
	var rows [][2]string
	add := func(heading, text string) {
		if text != "" {
			rows = append(rows, [2]string{heading, text})
		}
	}
	add("also", strings.Join(s.Synonyms, ", "))
	add("EURING code", s.EURING)
	if s.NoMetalBand {
		add("metal band", "none on the leg")
	}
	if s.AboveJointOnly {
		add("site", "above the intertarsal joint only")
	}
	add("closures", strings.Join(s.Closures, ", "))
	if s.HardMetal {
		add("metal", strings.TrimSuffix("hard metal advised: "+strings.Join(s.MetalReasons, ", "), ": "))
	}
	if s.MinWidthMM != nil || s.MaxWidthMM != nil {
		add("leg width", number(s.MinWidthMM, 2)+" to "+number(s.MaxWidthMM, 2)+" mm known")
	}
	add("note", s.Note)
	return rows
}

func (a *app) printListed(s speciesJSON) error {
	if len(s.Sizes) == 0 {
		return a.printf("  %-14s %s\n", "sizes", "none listed: your office's list decides")
	}
	for i, r := range s.Sizes {
		heading := ""
		if i == 0 {
			heading = "sizes"
		}
		whose := strings.TrimSpace(r.Sex + " " + r.Age)
		if whose != "" {
			whose = ", " + whose
		}
		text := r.Size + " (" + r.Catalogue + whose + ")"
		if r.LegFromMM != nil {
			text += "  legs from " + number(r.LegFromMM, 2) + " to " + number(r.LegToMM, 2) + " mm by its play"
		}
		if err := a.printf("  %-14s %s\n", heading, text); err != nil {
			return err
		}
	}
	return a.printf("  %-14s %s\n", "", "sizes "+trust(s.Mark, s.Source))
}
