package catalogue

import (
	"fmt"
	"strings"
)

// Wear is how fast bands of one metal wear on one species: the part of a new
// band's metal that goes in a year, its standard uncertainty (0: not known),
// and the number of bands that it rests on (0: not known).
type Wear struct {
	Species string  `toml:"species"`
	Metal   string  `toml:"metal"`
	PerYear float64 `toml:"per_year"`
	U       float64 `toml:"u"`
	Birds   int     `toml:"birds"`
	Source  string  `toml:"source"`
	Mark    Mark    `toml:"mark"`
}

// WearOf returns the rate that is known for a species and metal.
func (b *Book) WearOf(species, metal string) (Wear, bool) {
	return find(b.Wear, func(w Wear) bool { return strings.EqualFold(w.Species, species) && strings.EqualFold(w.Metal, metal) })
}

func (m *merge) wear(doc *document) error {
	seen := map[string]bool{}
	for i, w := range doc.Wear {
		path := fmt.Sprintf("wear[%d]", i)
		if err := provenance(m.lines, path, &w.Source, &w.Mark, m.source, m.mark); err != nil {
			return err
		}
		if err := m.twice(seen, path, "wear of", w.Species+" in "+w.Metal); err != nil {
			return err
		}
		if err := textAt(m.lines, path+".species", w.Species, true); err != nil {
			return err
		}
		metal, known := m.book.Metal(w.Metal)
		switch {
		case !known:
			return m.lines.Errorf(path+".metal", "mend its spelling, or add a [[metal]] with this name", "there is no metal %q", w.Metal)
		// Written so that NaN fails too.
		case !(w.PerYear > 0 && w.PerYear < 1):
			return m.lines.Errorf(path+".per_year", "write 0.0151 for 1.51 % a year", "per_year %v is not a part between 0 and 1", w.PerYear)
		case !(w.U >= 0 && w.U < 1):
			return m.lines.Errorf(path+".u", "write it as per_year is written, or leave it out", "u %v is not a part between 0 and 1", w.U)
		case w.Birds < 0:
			return m.lines.Errorf(path+".birds", "leave it out where it is not known", "birds %d is below 0", w.Birds)
		}
		w.Metal = metal.Name
		m.book.Wear = put(m.book.Wear, w, func(o Wear) bool { return strings.EqualFold(o.Species, w.Species) && o.Metal == w.Metal })
	}
	return nil
}
