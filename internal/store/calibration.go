package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"time"

	"seamfit/internal/metrology"
)

// SaveRod enters a rod into the register. A newer row of the same name takes
// the place of the older one.
func (s *Store) SaveRod(ctx context.Context, r metrology.Rod) error {
	return s.insertDigested(ctx, "rod", rodColumns(), []any{
		r.ID, r.Name, int64(r.Diameter), int64(r.U), string(r.Class), date(r.Certified), date(r.Due), r.Material, r.Expansion, r.Retired,
		utc(r.Entered), offset(r.Entered), r.By,
	})
}

func rodColumns() []string {
	return strings.Fields("id name diameter_nm u_nm class certified due material expansion retired entered entered_offset by")
}

// Rods returns the register: the newest row of each name, by diameter.
func (s *Store) Rods(ctx context.Context) (rods []metrology.Rod, err error) {
	rows, err := s.db.QueryContext(ctx, fmt.Sprintf(`SELECT %s FROM rod AS r
		WHERE r.id = (SELECT max(id) FROM rod WHERE name = r.name) ORDER BY diameter_nm, name`, strings.Join(rodColumns(), ", ")))
	if err != nil {
		return nil, s.fail("read", err)
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	for rows.Next() {
		var r metrology.Rod
		var certified, due, entered, enteredOffset string
		if err := rows.Scan(&r.ID, &r.Name, &r.Diameter, &r.U, &r.Class, &certified, &due, &r.Material, &r.Expansion, &r.Retired,
			&entered, &enteredOffset, &r.By); err != nil {
			return nil, s.fail("read", err)
		}
		var errs [3]error
		r.Certified, errs[0] = parseDate(certified)
		r.Due, errs[1] = parseDate(due)
		r.Entered, errs[2] = parseTime(entered, enteredOffset)
		if err := errors.Join(errs[:]...); err != nil {
			return nil, s.fail("read", err)
		}
		rods = append(rods, r)
	}
	return rods, s.fail("read", rows.Err())
}

// SaveCalibration stores a calibration with its readings and its result.
func (s *Store) SaveCalibration(ctx context.Context, r metrology.Record) error {
	readings, err := jsonText(r.Readings)
	if err != nil {
		return err
	}
	result, err := jsonText(r.Result)
	if err != nil {
		return err
	}
	conditions, err := jsonText(r.Conditions)
	if err != nil {
		return err
	}
	until, untilOffset := "", ""
	if !r.ValidUntil.IsZero() {
		until, untilOffset = utc(r.ValidUntil), offset(r.ValidUntil)
	}
	return s.insertDigested(ctx, "calibration", calibrationColumns(), []any{
		r.ID, r.Caliper, utc(r.At), offset(r.At), until, untilOffset, r.By, r.Note, conditions, readings, result,
	})
}

func calibrationColumns() []string {
	return strings.Fields("id caliper at at_offset valid_until valid_until_offset by note conditions readings result")
}

// LastCalibration returns the calibration of a caliper of this bench that was done
// last, not after the given time, whether it still holds or not; nil when there
// is none. Another bench's caliper may have the same name.
func (s *Store) LastCalibration(ctx context.Context, caliper string, at time.Time) (*metrology.Record, error) {
	var r metrology.Record
	var when, whenOffset, until, untilOffset, conditions, readings, result string
	err := s.db.QueryRowContext(ctx, fmt.Sprintf(`SELECT %s FROM calibration
		WHERE caliper = ? AND at <= ? AND id NOT IN (SELECT id FROM gauged_elsewhere) ORDER BY at DESC, id DESC LIMIT 1`,
		strings.Join(calibrationColumns(), ", ")), caliper, utc(at)).Scan(
		&r.ID, &r.Caliper, &when, &whenOffset, &until, &untilOffset, &r.By, &r.Note, &conditions, &readings, &result)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, nil
	}
	if err != nil {
		return nil, s.fail("read", err)
	}
	if r.At, err = parseTime(when, whenOffset); err != nil {
		return nil, s.fail("read", err)
	}
	if until != "" {
		if r.ValidUntil, err = parseTime(until, untilOffset); err != nil {
			return nil, s.fail("read", err)
		}
	}
	if err := errors.Join(json.Unmarshal([]byte(conditions), &r.Conditions),
		json.Unmarshal([]byte(readings), &r.Readings), json.Unmarshal([]byte(result), &r.Result)); err != nil {
		return nil, s.fail("read", fmt.Errorf("calibration %s: %w", r.ID, err))
	}
	return &r, nil
}

// SaveCheck stores a check of a caliper on a rod.
func (s *Store) SaveCheck(ctx context.Context, c metrology.Check) error {
	readings, err := jsonText(append([]metrology.RecordedReading{}, c.Readings...))
	if err != nil {
		return err
	}
	return s.insertDigested(ctx, "rod_check", checkColumns(), []any{
		c.ID, c.Caliper, utc(c.At), offset(c.At), c.By, c.Rod, int64(c.N), int64(c.Mean), int64(c.Error),
		int64(c.Low), int64(c.High), flag(c.InLimits), c.Reason, c.Answers, c.Calibration, readings,
	})
}

func checkColumns() []string {
	return strings.Fields("id caliper at at_offset by rod n mean_nm error_nm low_nm high_nm in_limits reason answers calibration readings")
}

// Checks returns up to limit checks of a caliper of this bench, on one rod or on any when
// rod is empty, the newest first.
func (s *Store) Checks(ctx context.Context, caliper, rod string, limit int) (checks []metrology.Check, err error) {
	rows, err := s.db.QueryContext(ctx, fmt.Sprintf(`SELECT %s FROM rod_check WHERE caliper = ? AND (? = '' OR rod = ?)
		AND id NOT IN (SELECT id FROM gauged_elsewhere)
		ORDER BY at DESC, id DESC LIMIT ?`, strings.Join(checkColumns(), ", ")), caliper, rod, rod, limit)
	if err != nil {
		return nil, s.fail("read", err)
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	for rows.Next() {
		var c metrology.Check
		var at, atOffset, readings string
		if err := rows.Scan(&c.ID, &c.Caliper, &at, &atOffset, &c.By, &c.Rod, &c.N, &c.Mean, &c.Error, &c.Low, &c.High, &c.InLimits, &c.Reason, &c.Answers,
			&c.Calibration, &readings); err != nil {
			return nil, s.fail("read", err)
		}
		if c.At, err = parseTime(at, atOffset); err != nil {
			return nil, s.fail("read", err)
		}
		if err := json.Unmarshal([]byte(readings), &c.Readings); err != nil {
			return nil, s.fail("read", fmt.Errorf("check %s: %w", c.ID, err))
		}
		checks = append(checks, c)
	}
	return checks, s.fail("read", rows.Err())
}

// insertDigested stores one row with the digest of its values.
func (s *Store) insertDigested(ctx context.Context, table string, columns []string, values []any) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	s.saving.Lock()
	defer s.saving.Unlock()
	ctx = context.WithoutCancel(ctx)
	return s.fail("save", s.transact(ctx, func() error {
		return s.exec(ctx, insertInto(table, columns, "digest"), append(values, digestOf(values))...)
	}))
}
