package catalogue

import (
	"fmt"
	"slices"
	"strings"

	"seamfit/internal/length"
)

// Hardness is a group of metals.
type Hardness string

// The groups of metals.
const (
	AnyMetal  Hardness = ""
	HardMetal Hardness = "hard"
	SoftMetal Hardness = "soft"
)

// Procedure is how bands of one closure kind, group of metals and group of
// sizes are opened, closed, looked at, corrected and taken off, in short lines
// for a person. It is advice: the banding office's rules come first.
type Procedure struct {
	ID       string   `toml:"id"`
	Name     string   `toml:"name"`
	Closure  string   `toml:"closure"`  // id of the closure kind
	Hardness Hardness `toml:"hardness"` // of the metal
	Metals   []string `toml:"metals"`   // names; empty: all of that hardness
	// InnerFrom and InnerBelow bound the inner diameters it is for: from the
	// first up to but not including the second; 0 is no bound.
	InnerFrom  length.Length `toml:"-"`
	InnerBelow length.Length `toml:"-"`

	Tools       []string     `toml:"tools"`
	Opening     []string     `toml:"opening"`
	Closing     []string     `toml:"closing"` // one full working, all its squeezes
	See         []string     `toml:"see"`     // of a closing that is flush
	Hear        []string     `toml:"hear"`
	Feel        []string     `toml:"feel"`
	Corrections []Correction `toml:"correction"`
	Removal     []string     `toml:"removal"`
	Cautions    []string     `toml:"cautions"`

	Source string `toml:"source"`
	Mark   Mark   `toml:"mark"`
}

// Correction is what to do about one finding of a look.
type Correction struct {
	Finding string   `toml:"finding"` // id
	Steps   []string `toml:"steps"`
	Source  string   `toml:"source"`
	Mark    Mark     `toml:"mark"`
}

// Procedure returns how a band of this closure kind, metal and inner diameter
// is worked: of the rows that hold for it the most particular one, where a
// metal's name counts for more than its hardness and that for more than a
// bound on the size; of equals, the later row. False when none holds.
func (b *Book) Procedure(closure string, metal Metal, inner length.Length) (Procedure, bool) {
	best, most := -1, -1
	for i := range b.Procedures {
		if rank, holds := b.Procedures[i].rank(closure, metal, inner); holds && rank >= most {
			best, most = i, rank
		}
	}
	if best < 0 {
		return Procedure{}, false
	}
	return b.Procedures[best], true
}

func (p *Procedure) rank(closure string, metal Metal, inner length.Length) (rank int, holds bool) {
	hardness := SoftMetal
	if metal.Hard {
		hardness = HardMetal
	}
	switch {
	case p.Closure != closure, p.Hardness != AnyMetal && p.Hardness != hardness:
		return 0, false
	case len(p.Metals) > 0 && !slices.ContainsFunc(p.Metals, metal.named):
		return 0, false
	case inner < p.InnerFrom, p.InnerBelow > 0 && inner >= p.InnerBelow:
		return 0, false
	case inner <= 0 && (p.InnerFrom > 0 || p.InnerBelow > 0):
		return 0, false // the size group of an unknown diameter is not guessed
	}
	if len(p.Metals) > 0 {
		rank += 4
	}
	if p.Hardness != AnyMetal {
		rank += 2
	}
	if p.InnerFrom > 0 || p.InnerBelow > 0 {
		rank++
	}
	return rank, true
}

// Correct returns what to do about a finding: the procedure's own correction,
// or the hint that the finding itself carries. False when there is neither.
func (b *Book) Correct(p Procedure, finding string) (Correction, bool) {
	if own, ok := find(p.Corrections, func(c Correction) bool { return c.Finding == finding }); ok {
		return own, true
	}
	f, ok := b.Finding(finding)
	if !ok || f.Correction == "" {
		return Correction{}, false
	}
	return Correction{Finding: f.ID, Steps: []string{f.Correction}, Source: f.Source, Mark: f.Mark}, true
}

// procedureRow is a procedure as a file has it.
type procedureRow struct {
	Procedure
	InnerFrom  rawText `toml:"inner_from"`
	InnerBelow rawText `toml:"inner_below"`
}

func (m *merge) procedures(doc *document) error {
	seen := map[string]bool{}
	for i, row := range doc.Procedures {
		path := fmt.Sprintf("procedure[%d]", i)
		p := row.Procedure
		if err := m.named(seen, path, "procedure", "id", p.ID, p.texts()...); err != nil {
			return err
		}
		if err := provenance(m.lines, path, &p.Source, &p.Mark, m.source, m.mark); err != nil {
			return err
		}
		var err error
		if p.InnerFrom, err = lengthAt(m.lines, path+".inner_from", row.InnerFrom); err != nil {
			return err
		}
		if p.InnerBelow, err = lengthAt(m.lines, path+".inner_below", row.InnerBelow); err != nil {
			return err
		}
		if err := m.procedure(path, &p); err != nil {
			return err
		}
		m.book.Procedures = put(m.book.Procedures, p, func(o Procedure) bool { return o.ID == p.ID })
	}
	return nil
}

// procedure checks what only the whole book can tell.
func (m *merge) procedure(path string, p *Procedure) error {
	closure, known := m.book.Closure(p.Closure)
	switch {
	case !known:
		return m.lines.Errorf(path+".closure", "add a [[closure]] with this id, or mend its spelling",
			"procedure %q: there is no closure kind %q", p.ID, p.Closure)
	case p.Hardness != AnyMetal && p.Hardness != HardMetal && p.Hardness != SoftMetal:
		return m.lines.Errorf(path+".hardness", `write "hard" or "soft", or leave it out`,
			"procedure %q: %q is no hardness", p.ID, string(p.Hardness))
	case p.InnerBelow > 0 && p.InnerBelow <= p.InnerFrom:
		return m.lines.Errorf(path+".inner_below", "exchange the two",
			"procedure %q: inner_below is not above inner_from", p.ID)
	case len(p.Closing) == 0:
		return m.lines.Errorf(path, "add the lines of its closing", "procedure %q does not say how to close", p.ID)
	}
	for _, name := range p.Metals {
		if _, known := m.book.Metal(name); !known {
			return m.lines.Errorf(path+".metals", "add a [[metal]] with this name, or mend its spelling",
				"procedure %q: there is no metal %q", p.ID, name)
		}
	}
	p.Corrections = slices.Clone(p.Corrections)
	seen := map[string]bool{}
	for i := range p.Corrections {
		c := &p.Corrections[i]
		at := fmt.Sprintf("%s.correction[%d]", path, i)
		if !slices.Contains(closure.Defects, c.Finding) {
			return m.lines.Errorf(at+".finding", "use one of "+strings.Join(closure.Defects, ", "),
				"procedure %q: a look at a closure of kind %q does not find %q", p.ID, closure.ID, c.Finding)
		}
		if err := m.twice(seen, at, "correction", c.Finding); err != nil {
			return err
		}
		if len(c.Steps) == 0 {
			return m.lines.Errorf(at, "add what to do", "procedure %q: the correction of %q has no steps", p.ID, c.Finding)
		}
		if err := provenance(m.lines, at, &c.Source, &c.Mark, p.Source, p.Mark); err != nil {
			return err
		}
	}
	return nil
}

// texts are all texts of a procedure that a person may be shown.
func (p *Procedure) texts() []string {
	all := slices.Concat([]string{p.Name}, p.Metals, p.Tools, p.Opening, p.Closing, p.See, p.Hear, p.Feel, p.Removal, p.Cautions)
	for _, c := range p.Corrections {
		all = append(append(all, c.Finding, c.Source), c.Steps...)
	}
	return all
}
