package catalogue

import (
	"fmt"
	"slices"
	"strings"
)

// merge lays the rows of one file over a book.
type merge struct {
	book   Book
	lines  Lines
	source string // for rows that name none
	mark   Mark   // for rows that have none
}

// put adds row, or puts it in the place of the one that is the same. A second
// row of the same name within one file is a mistake, which only the caller
// knows: seen holds the names met so far.
func put[T any](rows []T, row T, same func(T) bool) []T {
	if i := slices.IndexFunc(rows, same); i >= 0 {
		rows[i] = row
		return rows
	}
	return append(rows, row)
}

func (m *merge) twice(seen map[string]bool, path, what, name string) error {
	key := strings.ToLower(name)
	if seen[key] {
		return m.lines.Errorf(path, "take one of the two out", "%s %q is in this file twice", what, name)
	}
	seen[key] = true
	return nil
}

func (m *merge) findings(doc *document) error {
	seen := map[string]bool{}
	for i, f := range doc.Findings {
		path := fmt.Sprintf("finding[%d]", i)
		if err := m.named(seen, path, "finding", "id", f.ID, f.Name, f.Correction); err != nil {
			return err
		}
		if err := provenance(m.lines, path, &f.Source, &f.Mark, m.source, m.mark); err != nil {
			return err
		}
		m.book.Findings = put(m.book.Findings, f, func(o Finding) bool { return o.ID == f.ID })
	}
	return nil
}

func (m *merge) closures(doc *document) error {
	seen := map[string]bool{}
	for i, c := range doc.Closures {
		path := fmt.Sprintf("closure[%d]", i)
		if err := m.named(seen, path, "closure kind", "id", c.ID, c.Name); err != nil {
			return err
		}
		if err := provenance(m.lines, path, &c.Source, &c.Mark, m.source, m.mark); err != nil {
			return err
		}
		for _, id := range c.Defects {
			if _, known := m.book.Finding(id); !known {
				return m.lines.Errorf(path+".defects", "add a [[finding]] with this id, or mend its spelling",
					"closure kind %q: there is no finding %q", c.ID, id)
			}
		}
		if len(c.Statements) == 0 {
			return m.lines.Errorf(path, "add the statements that confirm a closing",
				"closure kind %q has no statements", c.ID)
		}
		ids := map[string]bool{}
		for _, s := range c.Statements {
			if err := m.named(ids, path+".statement", "statement", "id", s.ID, s.Text); err != nil {
				return err
			}
		}
		m.book.Closures = put(m.book.Closures, c, func(o Closure) bool { return o.ID == c.ID })
	}
	return nil
}

func (m *merge) metals(doc *document) error {
	seen := map[string]bool{}
	for i, metal := range doc.Metals {
		path := fmt.Sprintf("metal[%d]", i)
		if err := m.named(seen, path, "metal", "name", metal.Name, metal.Aliases...); err != nil {
			return err
		}
		if err := provenance(m.lines, path, &metal.Source, &metal.Mark, m.source, m.mark); err != nil {
			return err
		}
		m.book.Metals = put(m.book.Metals, metal, func(o Metal) bool { return strings.EqualFold(o.Name, metal.Name) })
	}
	return nil
}

// named checks the name that a row goes by, and its other texts.
func (m *merge) named(seen map[string]bool, path, what, key, name string, texts ...string) error {
	if err := textAt(m.lines, path+"."+key, name, true); err != nil {
		return err
	}
	for _, text := range texts {
		if err := textAt(m.lines, path, text, false); err != nil {
			return err
		}
	}
	return m.twice(seen, path, what, name)
}

func (m *merge) catalogues(doc *document) error {
	seen := map[string]bool{}
	for i, row := range doc.Catalogues {
		path := fmt.Sprintf("catalogue[%d]", i)
		if err := m.named(seen, path, "catalogue", "name", row.Name, row.Title); err != nil {
			return err
		}
		if err := provenance(m.lines, path, &row.Source, &row.Mark, m.source, m.mark); err != nil {
			return err
		}
		table := Catalogue{Name: row.Name, Title: row.Title, Source: row.Source, Mark: row.Mark}
		if old, known := m.book.Catalogue(row.Name); known {
			// Rows added to a table leave what the table says of itself.
			table = *old
			table.Sizes = slices.Clone(old.Sizes)
		} else if table.Title == "" {
			table.Title = table.Name
		}
		if err := m.sizes(&table, row, path); err != nil {
			return err
		}
		m.book.Catalogues = put(m.book.Catalogues, table, func(o Catalogue) bool { return o.Name == table.Name })
	}
	return nil
}

func (m *merge) sizes(table *Catalogue, row catalogueRow, outer string) error {
	seen := map[string]bool{}
	for i, raw := range row.Sizes {
		path := fmt.Sprintf("%s.size[%d]", outer, i)
		size, err := raw.size(m.lines, path, &row)
		if err != nil {
			return err
		}
		if err := m.twice(seen, path, "size", size.Label); err != nil {
			return err
		}
		if err := m.closuresKnown(path, size.Closures); err != nil {
			return err
		}
		table.Sizes = put(table.Sizes, size, func(o Size) bool { return o.Label == size.Label })
	}
	return nil
}

func (m *merge) closuresKnown(path string, ids []string) error {
	for _, id := range ids {
		if _, known := m.book.Closure(id); !known {
			return m.lines.Errorf(path+".closures", "add a [[closure]] with this id, or mend its spelling",
				"there is no closure kind %q", id)
		}
	}
	return nil
}

func (m *merge) species(doc *document) error {
	place := make(map[string]int, len(m.book.Species))
	for i, s := range m.book.Species {
		place[strings.ToLower(s.Scientific)] = i
	}
	seen := map[string]bool{}
	for i, raw := range doc.Species {
		path := fmt.Sprintf("species[%d]", i)
		if raw.Catalogue == "" {
			raw.Catalogue = defaultCatalogue
		}
		if err := provenance(m.lines, path, &raw.Source, &raw.Mark, m.source, m.mark); err != nil {
			return err
		}
		s, err := raw.species(m.lines, path)
		if err != nil {
			return err
		}
		if err := m.twice(seen, path, "species", s.Scientific); err != nil {
			return err
		}
		if err := m.known(path, &s); err != nil {
			return err
		}
		key := strings.ToLower(s.Scientific)
		if at, replaces := place[key]; replaces {
			m.book.Species[at] = s
			continue
		}
		place[key] = len(m.book.Species)
		m.book.Species = append(m.book.Species, s)
	}
	return nil
}

// known checks that the tables, labels and closure kinds a species names
// exist.
func (m *merge) known(path string, s *Species) error {
	for _, r := range s.Sizes {
		table, known := m.book.Catalogue(r.Catalogue)
		if !known {
			return m.lines.Errorf(path+".sizes", "mend its spelling, or add the table",
				"%s: there is no catalogue %q", s.Scientific, r.Catalogue)
		}
		if _, known := table.Size(r.Size); !known {
			return m.lines.Errorf(path+".sizes", "mend the label, or add the size to the table",
				"%s: catalogue %q has no size %q", s.Scientific, r.Catalogue, r.Size)
		}
	}
	return m.closuresKnown(path, s.Closures)
}
