package store

import (
	"context"
	"database/sql"
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

// LastShift returns the shift that began last; nil when there is none.
func (s *Store) LastShift(ctx context.Context) (*bench.Shift, error) {
	return s.shift(ctx, "ORDER BY id DESC LIMIT 1")
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
	sh.Started, err = parseTime(started, startedOffset)
	return &sh, s.fail("read", err)
}
