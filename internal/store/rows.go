package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"
	"strings"
)

// tables are the views of the schema that others may read whole, with the
// columns that order their rows.
func tables() map[string]string {
	return map[string]string{
		"handlings": "handling", "readings": "handling, seq", "leg_estimates": "handling, seq", "sizes": "handling, seq",
		"closings": "handling, seq", "confirmations": "handling, seq", "bands": "handling, band",
		"band_events": "handling, seq", "fates": "handling, seq", "incidents": "handling, seq",
	}
}

// View is the records as they were at one moment, whatever is saved meanwhile.
type View struct {
	store *Store
	conn  *sql.Conn
}

// View calls read with the records of this moment. It returns read's error,
// or an *Error when the records can't be read.
func (s *Store) View(ctx context.Context, read func(*View) error) (err error) {
	conn, err := s.db.Conn(ctx)
	if err != nil {
		return s.fail("read", err)
	}
	defer func() { err = errors.Join(err, conn.Close()) }()
	// Deferred, so that readers never wait for the bench nor it for them.
	if _, err := conn.ExecContext(ctx, "BEGIN DEFERRED"); err != nil {
		return s.fail("read", err)
	}
	defer func() {
		_, rollback := conn.ExecContext(context.WithoutCancel(ctx), "ROLLBACK")
		err = errors.Join(err, rollback)
	}()
	return read(&View{store: s, conn: conn})
}

// Rows calls each for every row of a table of the records, in the order of
// their keys, with the values of the named columns as int64, float64, string,
// []byte or nil. The slice is valid until each returns. It returns an error
// for a table or column that there is not, and each's error.
func (v *View) Rows(ctx context.Context, table string, columns []string, each func(values []any) error) (err error) {
	order, ok := tables()[table]
	if !ok {
		return v.store.fail("read", fmt.Errorf("no table %q", table))
	}
	if i := slices.IndexFunc(columns, func(c string) bool { return !isName(c) }); i >= 0 || len(columns) == 0 {
		return v.store.fail("read", fmt.Errorf("no such columns of %s: %q", table, columns))
	}
	rows, err := v.conn.QueryContext(ctx, fmt.Sprintf("SELECT %s FROM %s AS t ORDER BY %s", qualified(columns), table, order))
	if err != nil {
		return v.store.fail("read", err)
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	values := make([]any, len(columns))
	into := make([]any, len(columns))
	for i := range values {
		into[i] = &values[i]
	}
	for rows.Next() {
		if err := rows.Scan(into...); err != nil {
			return v.store.fail("read", err)
		}
		if err := each(values); err != nil {
			return err
		}
	}
	return v.store.fail("read", rows.Err())
}

// qualified writes the columns so that SQLite can take none of them for a
// keyword or, if it is misspelt, for a text.
func qualified(columns []string) string {
	return `t."` + strings.Join(columns, `", t."`) + `"`
}

// isName reports whether a column's name is only small letters and "_", so
// that it can't be anything but a name in SQL.
func isName(s string) bool {
	return s != "" && strings.IndexFunc(s, func(r rune) bool { return (r < 'a' || r > 'z') && r != '_' }) < 0
}
