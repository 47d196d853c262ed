package catalogue

import (
	"embed"
	"fmt"
	"slices"
	"strings"
)

//go:embed data/*.toml
var embedded embed.FS

// defaultCatalogue is the table whose labels a species row means when it
// names none.
const defaultCatalogue = "us-federal"

// Book is everything known beforehand. Its slices are read-only.
type Book struct {
	Catalogues []Catalogue
	Findings   []Finding
	Closures   []Closure
	Metals     []Metal
	Procedures []Procedure
	Species    []Species
	Wear       []Wear

	finder *finder // over Species
}

// Embedded returns the book that comes with the program. An error means that
// the embedded data itself is broken.
func Embedded() (*Book, error) {
	book := &Book{}
	for _, name := range []string{"closures.toml", "procedures.toml", "us-federal.toml", "uk-europe.toml", "species.toml", "wear.toml"} {
		data, err := embedded.ReadFile("data/" + name)
		if err != nil {
			return nil, fmt.Errorf("embedded catalogue: %w", err)
		}
		if book, err = book.with(data, name, ""); err != nil {
			return nil, fmt.Errorf("embedded catalogue: %w", err)
		}
	}
	return book, nil
}

// With returns a book in which the rows of the user's file stand beside the
// others, or in place of those with the same name: a size by catalogue and
// label, a species by scientific name, the rest by id or name. A row without
// mark or source is marked as the user's own. The book itself stays as it is.
//
// A file that is broken anywhere is refused whole, with a *FileError that
// names the line, the reason and the mend.
func (b *Book) With(user []byte, name string) (*Book, error) {
	return b.with(user, name, FromUser)
}

func (b *Book) with(data []byte, name string, mark Mark) (*Book, error) {
	var doc document
	lines, err := Decode(data, name, &doc)
	if err != nil {
		return nil, err
	}
	m := merge{
		lines: lines, mark: mark, source: Printable("own file " + name),
		book: Book{
			Catalogues: slices.Clone(b.Catalogues), Findings: slices.Clone(b.Findings),
			Closures: slices.Clone(b.Closures), Metals: slices.Clone(b.Metals), Species: slices.Clone(b.Species),
			Procedures: slices.Clone(b.Procedures), Wear: slices.Clone(b.Wear),
		},
	}
	for _, step := range []func(*document) error{m.findings, m.closures, m.metals, m.procedures, m.catalogues, m.species, m.wear} {
		if err := step(&doc); err != nil {
			return nil, err
		}
	}
	m.book.finder = newFinder(m.book.Species)
	return &m.book, nil
}

// Catalogue returns the table of this name.
func (b *Book) Catalogue(name string) (*Catalogue, bool) {
	i := slices.IndexFunc(b.Catalogues, func(c Catalogue) bool { return c.Name == name })
	if i < 0 {
		return nil, false
	}
	return &b.Catalogues[i], true
}

// Finding returns the finding with this id.
func (b *Book) Finding(id string) (Finding, bool) {
	return find(b.Findings, func(f Finding) bool { return f.ID == id })
}

// Closure returns the closure kind with this id.
func (b *Book) Closure(id string) (Closure, bool) {
	return find(b.Closures, func(c Closure) bool { return c.ID == id })
}

// Metal returns the metal that a person names, in either case and in any of
// its spellings ("aluminum").
func (b *Book) Metal(text string) (Metal, bool) {
	text = strings.Join(strings.Fields(text), " ")
	return find(b.Metals, func(m Metal) bool { return m.named(text) })
}

// SpeciesNamed returns the species whose scientific or English name, or
// another name it is found under, is text, in either case.
func (b *Book) SpeciesNamed(text string) (Species, bool) {
	if i, ok := b.names().named[nameKey(text)]; ok {
		return b.Species[i], true
	}
	return Species{}, false
}

// Search returns up to n species in whose names every word of text occurs,
// the best match first and equal ones in the book's order. A word may be any
// part of a scientific or English name, another name, or a EURING code, in
// any order and without accents; words of four letters and more may have one
// typing error, of eight and more two. An empty text finds the first n.
func (b *Book) Search(text string, n int) []Species {
	indices := b.names().best(text, n)
	found := make([]Species, len(indices))
	for i, index := range indices {
		found[i] = b.Species[index]
	}
	return found
}

// names returns the finder over the book's species.
func (b *Book) names() *finder {
	if b.finder == nil {
		return newFinder(b.Species) // a book put together by hand
	}
	return b.finder
}

func find[T any](rows []T, is func(T) bool) (T, bool) {
	if i := slices.IndexFunc(rows, is); i >= 0 {
		return rows[i], true
	}
	var none T
	return none, false
}
