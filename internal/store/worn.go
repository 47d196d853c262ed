package store

import (
	"context"
	"database/sql"
	"errors"
	"strconv"
	"time"

	"seamfit/internal/bench"
	"seamfit/internal/fit"
	"seamfit/internal/length"
)

// year is the Julian year, as astronomers count.
const year = 365.25 * 24 * float64(time.Hour)

// worn is a band whose wall was measured, on its way to fit.
type worn struct {
	fit.WornBand
	handling, number string
	measured         time.Time
}

// WornBands returns the bands that birds came back with and whose wall was
// measured on them, each with what is known of it: when it was put on, of which
// metal and size, and the walls of new bands of its string. Years come from this
// bench's own record of putting it on, else from what was told as years worn. A
// number with an unread digit is left out.
func (s *Store) WornBands(ctx context.Context) (bands []fit.WornBand, err error) {
	found, err := s.measuredWalls(ctx)
	if err != nil {
		return nil, err
	}
	for _, w := range found {
		if err := s.putOn(ctx, &w); err != nil {
			return nil, s.fail("read", err)
		}
		if err := s.newWalls(ctx, &w); err != nil {
			return nil, s.fail("read", err)
		}
		bands = append(bands, w.WornBand)
	}
	return bands, nil
}

// measuredWalls returns the bands with the readings of their walls.
func (s *Store) measuredWalls(ctx context.Context) (found []worn, err error) {
	rows, err := s.db.QueryContext(ctx, `SELECT r.handling, b.number, d.species, f.at, f.at_offset, r.value_nm
		FROM fact_reading r
		JOIN fact f ON f.handling = r.handling AND f.seq = r.seq
		JOIN fact_bird d ON d.handling = r.handling AND d.seq = (SELECT max(seq) FROM fact_bird WHERE handling = r.handling)
		JOIN band_now b ON b.handling = r.handling AND b.band = (SELECT max(seq) FROM fact_band
		     WHERE handling = r.handling AND event = 'found' AND seq < r.seq)
		WHERE r.axis = 'wall' AND b.number NOT GLOB '*[?]*'
		  AND NOT EXISTS (SELECT 1 FROM fact_set_aside a WHERE a.handling = r.handling AND a.reading = r.seq)
		ORDER BY r.handling, b.band, r.seq`)
	if err != nil {
		return nil, s.fail("read", err)
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	for rows.Next() {
		var w worn
		var at, atOffset string
		var wall length.Length
		if err := rows.Scan(&w.handling, &w.number, &w.Species, &at, &atOffset, &wall); err != nil {
			return nil, s.fail("read", err)
		}
		if w.measured, err = parseTime(at, atOffset); err != nil {
			return nil, s.fail("read", err)
		}
		if last := len(found) - 1; last < 0 || found[last].handling != w.handling || found[last].number != w.number {
			found = append(found, w)
		}
		last := &found[len(found)-1]
		last.Wall = append(last.Wall, wall)
	}
	return found, s.fail("read", rows.Err())
}

// putOn fills in when a band was put on, its metal and its size.
func (s *Store) putOn(ctx context.Context, w *worn) error {
	var at, atOffset string
	err := s.db.QueryRowContext(ctx, `SELECT f.at, f.at_offset, z.size, z.metal FROM number_bands n
		JOIN fact_closing c ON c.handling = n.handling AND c.band = n.band
		JOIN fact f ON f.handling = c.handling AND f.seq = c.seq
		JOIN fact_size z ON z.handling = n.handling AND z.seq = (SELECT max(seq) FROM fact_size WHERE handling = n.handling)
		WHERE n.number = ? AND n.handling <> ? AND NOT n.found AND n.state <> 'put back' AND f.at < ?
		ORDER BY f.at DESC LIMIT 1`, w.number, w.handling, utc(w.measured)).Scan(&at, &atOffset, &w.Size, &w.Metal)
	if err == nil {
		closed, err := parseTime(at, atOffset)
		w.Years = float64(w.measured.Sub(closed)) / year
		return err
	}
	if !errors.Is(err, sql.ErrNoRows) {
		return err
	}
	err = s.db.QueryRowContext(ctx, "SELECT s.size, s.metal FROM stock_number n JOIN band_string s ON s.id = n.string WHERE n.number = ?", w.number).
		Scan(&w.Size, &w.Metal)
	if err != nil && !errors.Is(err, sql.ErrNoRows) {
		return err
	}
	told, err := s.text(ctx, "SELECT value FROM fact_measure WHERE handling = ? AND name = ? ORDER BY seq DESC LIMIT 1", w.handling, bench.YearsWorn)
	if err != nil || told == "" {
		return err
	}
	w.Years, err = strconv.ParseFloat(told, 64)
	return err
}

// newWalls fills in the walls of new bands of the band's string.
func (s *Store) newWalls(ctx context.Context, w *worn) error {
	m, err := s.LastMeasures(ctx, w.number)
	w.New = m.Thickness
	return err
}
