package store

import (
	"context"

	"seamfit/internal/bench"
)

// selected is the query of the handlings of a selection, with its arguments.
// A day is that of the clock at the bench, so the offset is added.
func selected(sel bench.Selection) (query string, args []any) {
	query = `SELECT h.id FROM handling h
		JOIN fact f ON f.handling = h.id AND f.seq = 1
		JOIN fact_bird b ON b.handling = h.id AND b.seq = (SELECT max(seq) FROM fact_bird WHERE handling = h.id)
		WHERE true`
	for _, rule := range []struct{ condition, value string }{
		{"h.shift = ?", sel.Shift},
		{"b.species = ?", sel.Species},
		{"date(f.at, f.at_offset) >= ?", sel.From},
		{"date(f.at, f.at_offset) <= ?", sel.To},
	} {
		if rule.value != "" {
			query += " AND " + rule.condition
			args = append(args, rule.value)
		}
	}
	return query, args
}

// ShiftNamed returns the shift of that identifier, or the one that began last
// for the name "last"; nil when there is none.
func (s *Store) ShiftNamed(ctx context.Context, name string) (*bench.Shift, error) {
	if name == "last" {
		return s.LastShift(ctx)
	}
	return s.shift(ctx, "WHERE id = ?", name)
}
