package report

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"

	g "maragu.dev/gomponents"
	"maragu.dev/gomponents/html"

	"seamfit/internal/bench"
	"seamfit/internal/metrology"
)

// measureRow is one further measure of one species.
type measureRow struct {
	species, name, unit string
	values              []float64
	decimals            int // of the finest value
}

// measureRows gathers the further measures by species, name and unit.
func measureRows(birds []bench.Handling) ([]measureRow, error) {
	of := map[[3]string]*measureRow{}
	for _, h := range birds {
		for _, m := range h.Measures {
			key := [3]string{cmp.Or(h.Bird.Species, noSpecies), m.Name, m.Unit}
			row := of[key]
			if row == nil {
				row = &measureRow{species: key[0], name: m.Name, unit: m.Unit}
				of[key] = row
			}
			value, err := strconv.ParseFloat(m.Value, 64)
			if err != nil {
				return nil, fmt.Errorf("the %s of handling %s: %w", m.Name, h.ID, err)
			}
			row.values = append(row.values, value)
			row.decimals = max(row.decimals, decimalsOf(m.Value))
		}
	}
	rows := make([]measureRow, 0, len(of))
	for _, row := range of {
		rows = append(rows, *row)
	}
	slices.SortFunc(rows, func(a, b measureRow) int {
		return cmp.Or(cmp.Compare(a.species, b.species), cmp.Compare(a.name, b.name), cmp.Compare(a.unit, b.unit))
	})
	return rows, nil
}

// decimalsOf counts the digits behind the point of a plain decimal.
func decimalsOf(value string) int {
	for i, r := range value {
		if r == '.' {
			return len(value) - i - 1
		}
	}
	return 0
}

// measureSection is what was measured beside the leg, by species; none where
// nothing was.
func measureSection(birds []bench.Handling) (g.Node, error) {
	rows, err := measureRows(birds)
	if err != nil || len(rows) == 0 {
		return nil, err
	}
	t := newTable(column{"Species", plain}, column{"Measure", plain}, column{"Unit", plain}, column{"Birds", number}, column{"Mean", number}, column{"SD", number}, column{"Smallest", number}, column{"Largest", number})
	for _, r := range rows {
		s, err := metrology.Summarise(r.values)
		if err != nil {
			return nil, fmt.Errorf("the %s of %s: %w", r.name, r.species, err)
		}
		sd := "–"
		if s.N > 1 {
			sd = mm(s.SD, r.decimals+1)
		}
		t.add(r.species, r.name, r.unit, strconv.Itoa(s.N), mm(s.Mean, r.decimals+1), sd, mm(slices.Min(r.values), r.decimals), mm(slices.Max(r.values), r.decimals))
	}
	return g.Group{html.H2(text("Further measures")), t.node()}, nil
}
