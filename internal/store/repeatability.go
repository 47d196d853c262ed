package store

import (
	"context"
	"errors"
	"slices"
	"time"

	"seamfit/internal/bench"
	"seamfit/internal/fit"
	"seamfit/internal/length"
	"seamfit/internal/metrology"
)

// How far back the bench's repeatability is looked up: enough for far more
// degrees of freedom than matter, and the same time with any number of birds,
// however often each was measured.
const (
	recentHandlings = 1000
	recentReadings  = 3 * recentHandlings
)

// Repeatability returns the pooled SD of single readings that one caliper sent
// of one leg, by the classes of width of fit.Model, from the bench's own last
// thousand handlings, or their newest 3000 readings. Readings that were set aside for a
// stated cause are left out, those set aside for none (bench.NoCause) are not.
// A class in which no leg was read twice has 0 degrees of freedom.
func (s *Store) Repeatability(ctx context.Context, caliper string) (pooled [3]fit.Pooled, err error) {
	rows, err := s.db.QueryContext(ctx, `SELECT r.handling, r.value_nm FROM fact_reading r
		WHERE r.handling IN (SELECT id FROM handling WHERE shift NOT IN (SELECT shift FROM taken_in) ORDER BY id DESC LIMIT ?)
		  AND r.axis = ? AND r.means = ? AND r.device = ? AND r.feathers = ''
		  AND NOT EXISTS (SELECT 1 FROM fact_set_aside a
		        WHERE a.handling = r.handling AND a.reading = r.seq AND a.reason <> ?)
		ORDER BY r.handling DESC, r.seq DESC LIMIT ?`,
		recentHandlings, string(bench.AxisGreatest), string(bench.MeansCaliper), caliper, bench.NoCause, recentReadings)
	if err != nil {
		return pooled, s.fail("read", err)
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	var groups [3][]metrology.Component
	var handling string
	var widths []length.Length
	finish := func() {
		if class, group, ok := repeatsOf(widths); ok {
			groups[class] = append(groups[class], group)
		}
		widths = widths[:0]
	}
	for rows.Next() {
		var id string
		var value length.Length
		if err := rows.Scan(&id, &value); err != nil {
			return pooled, s.fail("read", err)
		}
		if id != handling {
			finish()
			handling = id
		}
		widths = append(widths, value)
	}
	finish()
	if err := rows.Err(); err != nil {
		return pooled, s.fail("read", err)
	}
	for class, group := range groups {
		if len(group) == 0 {
			continue
		}
		sd, dof, err := metrology.Pooled(group)
		if err != nil {
			return pooled, s.fail("read", err)
		}
		pooled[class] = fit.Pooled{SD: sd, DOF: dof}
	}
	return pooled, nil
}

// repeatsOf returns the SD of the readings of one leg about their mean, with
// its degrees of freedom, and the class of that mean; false for fewer than
// two. Differences are exact.
func repeatsOf(widths []length.Length) (class int, group metrology.Component, ok bool) {
	if len(widths) < 2 {
		return 0, group, false
	}
	least := slices.Min(widths)
	values := make([]float64, len(widths))
	for i, w := range widths {
		values[i] = (w - least).MM()
	}
	summary, err := metrology.Summarise(values)
	if err != nil {
		return 0, group, false
	}
	mean, err := length.FromMM(least.MM() + summary.Mean)
	if err != nil {
		return 0, group, false
	}
	return fit.WidthClass(mean), metrology.Component{U: summary.SD, DOF: summary.DOF()}, true
}

// MeasuredBy returns this bench's handlings whose leg was measured with a caliper, begun
// between two times (from included, to not), oldest first. A leg without an
// estimate is among them while it waits for one.
func (s *Store) MeasuredBy(ctx context.Context, caliper string, from, to time.Time) (ids []string, err error) {
	rows, err := s.db.QueryContext(ctx, `SELECT f.handling FROM fact f
		WHERE f.seq = 1 AND f.at >= ? AND f.at < ?
		  AND (SELECT shift FROM handling WHERE id = f.handling) NOT IN (SELECT shift FROM taken_in)
		  AND EXISTS (SELECT 1 FROM fact_reading r WHERE r.handling = f.handling AND r.device = ? AND r.axis = 'greatest')
		  AND (EXISTS (SELECT 1 FROM fact_estimate e WHERE e.handling = f.handling)
		       OR EXISTS (SELECT 1 FROM open_handling o WHERE o.handling = f.handling))
		ORDER BY f.at, f.handling`, utc(from), utc(to), caliper)
	if err != nil {
		return nil, s.fail("read", err)
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	for rows.Next() {
		var id string
		if err := rows.Scan(&id); err != nil {
			return nil, s.fail("read", err)
		}
		ids = append(ids, id)
	}
	return ids, s.fail("read", rows.Err())
}
