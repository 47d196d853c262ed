package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"

	"seamfit/internal/bench"
)

// Handlings calls each with every handling of the view, oldest first, as its
// facts tell it. One handling is in memory at a time. It returns ErrDamaged
// for facts that can't be read, and each's error.
func (v *View) Handlings(ctx context.Context, each func(bench.Handling) error) (err error) {
	query, args := selected(v.only)
	rows, err := v.conn.QueryContext(ctx, fmt.Sprintf(`SELECT f.handling, s.shift, f.seq, f.kind, f.at, f.at_offset, f.entered, f.entered_offset,
		f.by, f.typed, f.replaces, f.why FROM fact f JOIN handling s ON s.id = f.handling
		WHERE f.handling IN (%s) ORDER BY f.handling, f.seq`, query), args...)
	if err != nil {
		return v.store.fail("read", err)
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	r := factReader{view: v, details: map[string]*sql.Stmt{}, people: map[string]bench.People{}}
	defer r.close()
	var h bench.Handling
	for rows.Next() {
		f, err := r.next(ctx, rows)
		if err != nil {
			return v.store.fail("read", err)
		}
		if id := f.Key().Handling; id != h.ID && h.ID != "" {
			if err := r.hand(ctx, h, each); err != nil {
				return err
			}
			h = bench.Handling{}
		}
		h = bench.FoldHandling(h, f)
	}
	if err := rows.Err(); err != nil || h.ID == "" {
		return v.store.fail("read", err)
	}
	return r.hand(ctx, h, each)
}

// factReader reads facts in their order, each kind through one statement.
type factReader struct {
	view    *View
	details map[string]*sql.Stmt    // by kind; "" asks for a dispute
	people  map[string]bench.People // by shift
}

func (r *factReader) close() {
	for _, st := range r.details {
		_ = st.Close() // a read-only statement has nothing to lose
	}
}

func (r *factReader) prepared(ctx context.Context, kind, query string) (*sql.Stmt, error) {
	if st, ok := r.details[kind]; ok {
		return st, nil
	}
	st, err := r.view.conn.PrepareContext(ctx, query)
	if err == nil {
		r.details[kind] = st
	}
	return st, err
}

func (r *factReader) next(ctx context.Context, rows *sql.Rows) (bench.Fact, error) {
	var h bench.Head
	var shift, kind, at, atOffset, entered, enteredOffset string
	err := rows.Scan(&h.Handling, &shift, &h.Seq, &kind, &at, &atOffset, &entered, &enteredOffset, &h.By, &h.Typed, &h.Replaces, &h.Why)
	if err != nil {
		return nil, err
	}
	if h.At, err = parseTime(at, atOffset); err != nil {
		return nil, err
	}
	if h.Entered, err = parseTime(entered, enteredOffset); err != nil {
		return nil, err
	}
	f, err := r.fact(ctx, kind, h)
	if err != nil {
		return nil, fmt.Errorf("%w: fact %d of %s: %w", ErrDamaged, h.Seq, h.Handling, err)
	}
	if told, ok := f.(bench.BirdTold); ok {
		told.Shift = shift
		return told, nil
	}
	return f, nil
}

func (r *factReader) fact(ctx context.Context, kind string, h bench.Head) (bench.Fact, error) {
	names := columns(kind)
	if len(names) == 0 {
		return decode(kind, h, func(...any) error { return nil })
	}
	st, err := r.prepared(ctx, kind, fmt.Sprintf("SELECT %s FROM fact_%s AS t WHERE handling = ? AND seq = ?", qualified(names), kind))
	if err != nil {
		return nil, err
	}
	// Asked only when it is scanned: a row that nobody scans holds its connection.
	return decode(kind, h, func(dest ...any) error { return st.QueryRowContext(ctx, h.Handling, h.Seq).Scan(dest...) })
}

// hand passes a finished handling on.
func (r *factReader) hand(ctx context.Context, h bench.Handling, each func(bench.Handling) error) error {
	st, err := r.prepared(ctx, "", "SELECT EXISTS (SELECT 1 FROM disputed WHERE handling = ?)")
	if err == nil {
		err = st.QueryRowContext(ctx, h.ID).Scan(&h.ClaimedElsewhere)
	}
	if err != nil {
		return r.view.store.fail("read", err)
	}
	people, known := r.people[h.Shift]
	if !known {
		if people, err = r.view.store.people(ctx, r.view.conn, h.Shift); err != nil {
			return err
		}
		r.people[h.Shift] = people
	}
	h.People = people
	return each(h)
}
