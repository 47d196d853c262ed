package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"time"

	"seamfit/internal/bench"
)

func shiftColumns() []string {
	return []string{"id", "started", "started_offset", "place", "bander", "scribe", "permit", "catalogue", "training", "clock_behind_ms"}
}

func shiftValues(sh bench.Shift) []any {
	return []any{sh.ID, utc(sh.Started), offset(sh.Started), sh.Place, sh.Bander, sh.Scribe, sh.Permit, sh.Catalogue, flag(sh.Training), sh.ClockBehind.Milliseconds()}
}

func shiftFactColumns() []string { return strings.Fields("shift seq kind at at_offset by content") }

// insertShiftFact stores a detail of a shift, whose digest goes over the one
// before it, or over the shift's own.
func (s *Store) insertShiftFact(ctx context.Context, f bench.ShiftTold) error {
	values, digest, err := s.shiftFact(ctx, f)
	if err != nil {
		return err
	}
	return s.exec(ctx, insertInto("shift_fact", shiftFactColumns(), "digest"), append(values, digest)...)
}

// shiftFact returns the row of a detail and its digest.
func (s *Store) shiftFact(ctx context.Context, f bench.ShiftTold) (values []any, digest string, err error) {
	content, err := jsonText(f.Detail)
	if err != nil {
		return nil, "", err
	}
	before, err := s.textIn(ctx, `SELECT coalesce((SELECT digest FROM shift_fact WHERE shift = s.id AND seq = ? - 1), s.digest) FROM shift s WHERE s.id = ?`,
		f.Seq, f.Shift)
	values = []any{f.Shift, int64(f.Seq), f.Detail.Kind(), utc(f.At), offset(f.At), f.By, content}
	return values, digestOf(append([]any{before}, values...)), err
}

// ShiftFacts returns what was told of a shift beside its first line, in order.
func (s *Store) ShiftFacts(ctx context.Context, shift string) (facts []bench.ShiftTold, err error) {
	rows, err := s.db.QueryContext(ctx, "SELECT seq, kind, at, at_offset, by, content FROM shift_fact WHERE shift = ? ORDER BY seq", shift)
	if err != nil {
		return nil, s.fail("read", err)
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	for rows.Next() {
		f := bench.ShiftTold{Shift: shift}
		var kind, at, atOffset, content string
		if err := rows.Scan(&f.Seq, &kind, &at, &atOffset, &f.By, &content); err != nil {
			return nil, s.fail("read", err)
		}
		if f.At, err = parseTime(at, atOffset); err == nil {
			f.Entered, f.Typed = f.At, f.By
			f.Detail, err = shiftDetail(kind, []byte(content))
		}
		if err != nil {
			return nil, s.fail("read", fmt.Errorf("%w: fact %d of shift %s: %w", ErrDamaged, f.Seq, shift, err))
		}
		facts = append(facts, f)
	}
	return facts, s.fail("read", rows.Err())
}

func shiftDetail(kind string, content []byte) (bench.ShiftDetail, error) {
	switch kind {
	case bench.Person{}.Kind():
		return read[bench.Person](content)
	case bench.Point{}.Kind():
		return read[bench.Point](content)
	case bench.WatchCheck{}.Kind():
		return read[bench.WatchCheck](content)
	case bench.Instrument{}.Kind():
		return read[bench.Instrument](content)
	default:
		return nil, fmt.Errorf("a fact of kind %q", kind)
	}
}

func read[T bench.ShiftDetail](content []byte) (bench.ShiftDetail, error) {
	var detail T
	err := json.Unmarshal(content, &detail)
	return detail, err
}

// people returns the people of a shift.
func (s *Store) people(ctx context.Context, conn rowsOf, shift string) (people bench.People, err error) {
	rows, err := conn.QueryContext(ctx, "SELECT name, role FROM shift_person WHERE shift = ? ORDER BY seq", shift)
	if err != nil {
		return nil, s.fail("read", err)
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	for rows.Next() {
		var p bench.Person
		if err := rows.Scan(&p.Name, &p.Role); err != nil {
			return nil, s.fail("read", err)
		}
		people = append(people, p)
	}
	return people, s.fail("read", rows.Err())
}

// rowsOf is a database or one connection to it.
type rowsOf interface {
	QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error)
}

func shiftCloseColumns() []string { return []string{"shift", "at", "at_offset", "by", "note"} }

// CloseShift records the end of a shift. It returns an *Error that wraps
// bench.ErrRefused when a bird of the shift has no fate yet or the shift is
// closed already.
func (s *Store) CloseShift(ctx context.Context, shift string, at time.Time, by, note string) error {
	return s.insertDigested(ctx, "shift_close", shiftCloseColumns(), []any{shift, utc(at), offset(at), by, note})
}

// Closed returns when a shift was closed; the zero time while it is open.
func (s *Store) Closed(ctx context.Context, shift string) (time.Time, error) {
	var at, atOffset string
	err := s.db.QueryRowContext(ctx, "SELECT at, at_offset FROM shift_close WHERE shift = ?", shift).Scan(&at, &atOffset)
	if errors.Is(err, sql.ErrNoRows) {
		return time.Time{}, nil
	}
	if err != nil {
		return time.Time{}, s.fail("read", err)
	}
	t, err := parseTime(at, atOffset)
	return t, s.fail("read", err)
}

// LastShift returns the shift of this bench that began last; nil when there is
// none. Shifts of other benches, taken in by merging, are theirs to go on with.
func (s *Store) LastShift(ctx context.Context) (*bench.Shift, error) {
	return s.shift(ctx, "WHERE id NOT IN (SELECT shift FROM taken_in) ORDER BY id DESC LIMIT 1")
}

func (s *Store) shift(ctx context.Context, which string, args ...any) (*bench.Shift, error) {
	var sh bench.Shift
	var started, startedOffset string
	var behind int64
	err := s.db.QueryRowContext(ctx, fmt.Sprintf("SELECT %s FROM shift %s", strings.Join(shiftColumns(), ", "), which), args...).Scan(
		&sh.ID, &started, &startedOffset, &sh.Place, &sh.Bander, &sh.Scribe, &sh.Permit, &sh.Catalogue, &sh.Training, &behind)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, nil
	}
	if err != nil {
		return nil, s.fail("read", err)
	}
	sh.ClockBehind = time.Duration(behind) * time.Millisecond
	if sh.Started, err = parseTime(started, startedOffset); err != nil {
		return nil, s.fail("read", err)
	}
	facts, err := s.ShiftFacts(ctx, sh.ID)
	for _, f := range facts {
		sh = sh.With(f)
	}
	return &sh, err
}
