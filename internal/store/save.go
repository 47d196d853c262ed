package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strings"

	"seamfit/internal/bench"
)

// Save stores facts in one transaction. When it returns nil they are on the
// disk; on an error none is, except that facts which a call with an unclear
// end had stored after all are accepted the second time. Its errors wrap
// bench.ErrRefused when a rule of the records says no, ErrFull, ErrReadOnly,
// ErrBusy, ErrDamaged, or the driver's error. A save that has begun is not
// cancelled: ctx is looked at before.
func (s *Store) Save(ctx context.Context, facts []bench.Fact) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	s.saving.Lock()
	defer s.saving.Unlock()
	ctx = context.WithoutCancel(ctx)
	err := s.fail("save", s.transact(ctx, func() error { return s.insertAll(ctx, facts) }))
	if errors.Is(err, bench.ErrRefused) && s.holdsAll(ctx, facts) {
		return nil
	}
	return err
}

// transact runs work between BEGIN IMMEDIATE and COMMIT on the connection
// that saves, where statements stay prepared.
func (s *Store) transact(ctx context.Context, work func() error) error {
	if err := s.exec(ctx, "BEGIN IMMEDIATE"); err != nil {
		return err
	}
	err := work()
	if err == nil {
		err = s.exec(ctx, "COMMIT")
	}
	if err != nil {
		// The rollback's own error says nothing that err does not.
		_ = s.exec(ctx, "ROLLBACK")
	}
	return err
}

func (s *Store) insertAll(ctx context.Context, facts []bench.Fact) error {
	for _, f := range facts {
		var err error
		switch f := f.(type) {
		case bench.ShiftOpened:
			err = s.insertShift(ctx, f)
		case bench.ShiftTold:
			err = s.insertShiftFact(ctx, f)
		case bench.Settled:
			err = s.insertSettlement(ctx, f)
		default:
			err = s.insertFact(ctx, f)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

func (s *Store) insertShift(ctx context.Context, f bench.ShiftOpened) error {
	values := shiftValues(f.Shift)
	return s.exec(ctx, insertInto("shift", shiftColumns(), "digest"), append(values, digestOf(values))...)
}

func (s *Store) insertFact(ctx context.Context, f bench.Fact) error {
	h := f.Key()
	r, err := encode(f)
	if err != nil {
		return err
	}
	if bird, ok := f.(bench.BirdTold); ok && h.Seq == 1 {
		ended, err := s.textIn(ctx, "SELECT shift FROM shift_close WHERE shift = ?", bird.Shift)
		if err != nil {
			return err
		}
		if ended != "" {
			return fmt.Errorf("%w: this shift was ended meanwhile; leave with Ctrl+Q and start the station again, which opens the next", bench.ErrRefused)
		}
		if err := s.exec(ctx, "INSERT INTO handling (id, shift) VALUES (?, ?)", h.Handling, bird.Shift); err != nil {
			return err
		}
	}
	previous, err := s.storedDigest(ctx, h.Handling, h.Seq-1)
	if err != nil {
		return err
	}
	if err := s.exec(ctx, insertFactSQL,
		h.Handling, h.Seq, r.kind, utc(h.At), offset(h.At), utc(h.Entered), offset(h.Entered),
		h.By, h.Typed, h.Replaces, h.Why, digest(previous, h, r)); err != nil {
		return err
	}
	return s.exec(ctx, insertInto("fact_"+r.kind, append([]string{"handling", "seq"}, columns(r.kind)...)),
		append([]any{h.Handling, h.Seq}, r.values...)...)
}

const insertFactSQL = `INSERT INTO fact
	(handling, seq, kind, at, at_offset, entered, entered_offset, by, typed, replaces, why, digest)
	VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`

// insertInto builds an INSERT from names in this package, never from input.
func insertInto(table string, columns []string, more ...string) string {
	names := append(append([]string{}, columns...), more...)
	return fmt.Sprintf("INSERT INTO %s (%s) VALUES (?%s)", table, strings.Join(names, ", "), strings.Repeat(", ?", len(names)-1))
}

// storedDigest returns the digest of a stored fact, "" where there is none.
func (s *Store) storedDigest(ctx context.Context, handling string, seq int) (string, error) {
	return s.textIn(ctx, "SELECT digest FROM fact WHERE handling = ? AND seq = ?", handling, seq)
}

// textIn returns the one text that a query finds, "" where it finds none.
func (s *Store) textIn(ctx context.Context, query string, args ...any) (string, error) {
	st, err := s.prepared(ctx, query)
	if err != nil {
		return "", err
	}
	var text string
	err = st.QueryRowContext(ctx, args...).Scan(&text)
	if errors.Is(err, sql.ErrNoRows) {
		return "", nil
	}
	return text, err
}

// holdsAll reports whether exactly these facts are stored already: the call
// before ended unclear, but its commit had gone through.
func (s *Store) holdsAll(ctx context.Context, facts []bench.Fact) bool {
	for _, f := range facts {
		held, err := s.holds(ctx, f)
		if err != nil || !held {
			return false
		}
	}
	return len(facts) > 0
}

// holds reports whether exactly this fact is stored; it is not said of a
// settlement.
func (s *Store) holds(ctx context.Context, f bench.Fact) (bool, error) {
	switch f := f.(type) {
	case bench.Settled:
		return false, nil
	case bench.ShiftOpened:
		stored, err := s.textIn(ctx, "SELECT digest FROM shift WHERE id = ?", f.Shift.ID)
		return stored == digestOf(shiftValues(f.Shift)), err
	case bench.ShiftTold:
		_, want, err := s.shiftFact(ctx, f)
		if err != nil {
			return false, err
		}
		stored, err := s.textIn(ctx, "SELECT digest FROM shift_fact WHERE shift = ? AND seq = ?", f.Shift, f.Seq)
		return stored == want, err
	}
	h := f.Key()
	r, err := encode(f)
	if err != nil {
		return false, err
	}
	previous, err := s.storedDigest(ctx, h.Handling, h.Seq-1)
	if err != nil {
		return false, err
	}
	stored, err := s.storedDigest(ctx, h.Handling, h.Seq)
	return stored == digest(previous, h, r), err
}

func (s *Store) exec(ctx context.Context, text string, args ...any) error {
	st, err := s.prepared(ctx, text)
	if err != nil {
		return err
	}
	_, err = st.ExecContext(ctx, args...)
	return err
}

// prepared returns the statement of the saving connection; the caller holds
// saving.
func (s *Store) prepared(ctx context.Context, text string) (*sql.Stmt, error) {
	if st, ok := s.stmts[text]; ok {
		return st, nil
	}
	st, err := s.writer.PrepareContext(ctx, text)
	if err != nil {
		return nil, err
	}
	s.stmts[text] = st
	return st, nil
}
