package store

import (
	"context"
	"errors"

	"seamfit/internal/bench"
	"seamfit/internal/fit"
	"seamfit/internal/metrology"
)

// historyBirds is how many of the newest birds of a species a history rests
// on: enough for a robust spread, and read in a few milliseconds however large
// the file is.
const historyBirds = 500

// History returns what this bench measured on birds like this one: the newest
// 500 of its species whose sex and age, where this bird's are known, are the
// same, measured on bare legs. One that is measured now is left out. With fewer than two birds it has
// no spread.
func (s *Store) History(ctx context.Context, like bench.Likeness) (h fit.History, err error) {
	rows, err := s.db.QueryContext(ctx, `
		SELECT e.mean_mm FROM fact_bird b
		JOIN fact_estimate e ON e.handling = b.handling AND e.seq = (SELECT max(seq) FROM fact_estimate WHERE handling = b.handling)
		WHERE b.species = ? AND (? = '' OR b.sex = ?) AND (? = '' OR b.age = ?) AND b.handling <> ?
		  AND e.feathers = ''
		  AND b.seq = (SELECT max(seq) FROM fact_bird WHERE handling = b.handling)
		ORDER BY b.handling DESC LIMIT ?`, like.Species, like.Sex, like.Sex, like.Age, like.Age, like.Except, historyBirds)
	if err != nil {
		return h, s.fail("read", err)
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	var widths []float64
	for rows.Next() {
		var mm float64
		if err := rows.Scan(&mm); err != nil {
			return h, s.fail("read", err)
		}
		widths = append(widths, mm)
	}
	if err := rows.Err(); err != nil || len(widths) == 0 {
		return h, s.fail("read", err)
	}
	h.N = len(widths)
	h.Median, h.SD, err = metrology.RobustSpread(widths)
	return h, err
}
