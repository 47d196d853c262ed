package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"
	"strings"

	"seamfit/internal/bench"
)

// table is one table or view of the schema that others may read whole: the
// columns that order its rows, and the rows that a selection of handlings
// leaves, as a condition with %s for the query of their identifiers.
type table struct {
	source, order, limit string
}

const (
	ofHandling = "t.handling IN (%s)"
	ofShift    = "t.shift IN (SELECT shift FROM handling WHERE id IN (%s))"
	ofAll      = ""
)

func tables() map[string]table {
	return map[string]table{
		"shifts":            {"shift", "id", "t.id IN (SELECT shift FROM handling WHERE id IN (%s))"},
		"handlings":         {"handlings", "handling", ofHandling},
		"facts":             {"fact", "handling, seq", ofHandling},
		"birds":             {"fact_bird", "handling, seq", ofHandling},
		"readings":          {"readings", "handling, seq", ofHandling},
		"set_asides":        {"fact_set_aside", "handling, seq", ofHandling},
		"leg_estimates":     {"leg_estimates", "handling, seq", ofHandling},
		"sizes":             {"sizes", "handling, seq", ofHandling},
		"closings":          {"closings", "handling, seq", ofHandling},
		"confirmations":     {"confirmations", "handling, seq", ofHandling},
		"bands":             {"bands", "handling, band", ofHandling},
		"band_events":       {"band_events", "handling, seq", ofHandling},
		"fates":             {"fates", "handling, seq", ofHandling},
		"incidents":         {"incidents", "handling, seq", ofHandling},
		"resolutions":       {"fact_resolved", "handling, seq", ofHandling},
		"supervisions":      {"supervisions", "handling, seq", ofHandling},
		"measures":          {"measures", "handling, seq", ofHandling},
		"circumstances":     {"circumstances", "handling, seq", ofHandling},
		"declarations":      {"closure_declaration", "closure, version", ofAll},
		"rods":              {"rod", "id", ofAll},
		"calibrations":      {"calibration", "id", ofAll},
		"checks":            {"rod_check", "id", ofAll},
		"shift_ends":        {"shift_close", "shift", ofShift},
		"shift_facts":       {"shift_fact", "shift, seq", ofShift},
		"shift_places":      {"shift_places", "shift, seq", ofShift},
		"shift_people":      {"shift_person", "shift, seq", ofShift},
		"watch_checks":      {"watch_checks", "shift, seq", ofShift},
		"instruments":       {"shift_instruments", "shift, seq", ofShift},
		"settlements":       {"settlement", "id", ofAll},
		"strings":           {"band_string", "id", ofAll},
		"numbers":           {"numbers", "string, place", ofAll},
		"stock_events":      {"stock_event", "string, seq", ofAll},
		"stock_marks":       {"stock_mark", "string, seq, number", ofAll},
		"practice":          {"practice", "id", ofAll},
		"submissions":       {"submission", "id", ofAll},
		"submitted":         {"submission_bird", "submission, handling", ofHandling},
		"merges":            {"merge", "id", ofAll},
		"merge_ends":        {"merge_end", "merge", ofAll},
		"merge_kept":        {"merge_kept", "id", ofAll},
		"merge_settlements": {"merge_settled", "id", ofAll},
		"handed_out":        {"submission_out", "submission, state", ofAll},
	}
}

// View is the records as they were at one moment, whatever is saved meanwhile.
type View struct {
	store *Store
	conn  *sql.Conn
	// free are the connections on which no table is being read, conn among
	// them; all are of the same moment.
	free chan *sql.Conn // has room for two; who takes one gives it back
	only bench.Selection
}

// Only returns the view of a selection of handlings: tables of handlings and
// shifts have only theirs, other tables have all their rows.
func (v *View) Only(sel bench.Selection) *View {
	limited := *v
	limited.only = sel
	return &limited // with the same connections
}

// View calls read with the records of this moment. It returns read's error,
// or an *Error when the records can't be read.
func (s *Store) View(ctx context.Context, read func(*View) error) (err error) {
	conn, err := s.db.Conn(ctx)
	if err != nil {
		return s.fail("read", err)
	}
	defer func() { err = errors.Join(err, conn.Close()) }()
	if err := begin(ctx, conn); err != nil {
		return s.fail("read", err)
	}
	defer func() { err = errors.Join(err, rollback(ctx, conn)) }()
	v := &View{store: s, conn: conn, free: make(chan *sql.Conn, 2)}
	v.free <- conn
	return read(v)
}

// Deferred, so that readers never wait for the bench nor it for them.
func begin(ctx context.Context, conn *sql.Conn) error {
	_, err := conn.ExecContext(ctx, "BEGIN DEFERRED")
	return err
}

func rollback(ctx context.Context, conn *sql.Conn) error {
	_, err := conn.ExecContext(context.WithoutCancel(ctx), "ROLLBACK")
	return err
}

// from returns the table of a name, and what a query reads from: its source
// and the rows that the selection leaves. It returns an error for a table that
// there is not.
func (v *View) from(name string) (t table, clause string, args []any, err error) {
	t, ok := tables()[name]
	if !ok {
		return t, "", nil, v.store.fail("read", fmt.Errorf("no table %q", name))
	}
	clause = " FROM " + t.source + " AS t"
	if !v.only.All() && t.limit != ofAll {
		inner, values := selected(v.only)
		clause, args = clause+" WHERE "+fmt.Sprintf(t.limit, inner), values
	}
	return t, clause, args, nil
}

// Count returns how many rows Rows would call each for. It returns an error
// for a table that there is not.
func (v *View) Count(ctx context.Context, name string) (rows int, err error) {
	_, clause, args, err := v.from(name)
	if err != nil {
		return 0, err
	}
	conn, err := v.take(ctx)
	if err != nil {
		return 0, v.store.fail("read", err)
	}
	defer v.give(conn)
	err = conn.QueryRowContext(ctx, "SELECT count(*)"+clause, args...).Scan(&rows)
	return rows, v.store.fail("read", err)
}

// take waits for a connection on which no table is being read.
func (v *View) take(ctx context.Context) (*sql.Conn, error) {
	select {
	case conn := <-v.free:
		return conn, nil
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}

func (v *View) give(conn *sql.Conn) { v.free <- conn }

// Rows calls each for every row of a table of the records, in the order of
// their keys, with the values of the named columns as int64, float64, string,
// []byte or nil. The slice is valid until each returns. It returns an error
// for a table or column that there is not, and each's error. Several goroutines
// may call it, two at a time in a view of PairedView; the others wait. each
// must not call it.
func (v *View) Rows(ctx context.Context, name string, columns []string, each func(values []any) error) error {
	from, clause, args, err := v.from(name)
	if err != nil {
		return err
	}
	if i := slices.IndexFunc(columns, func(c string) bool { return !isName(c) }); i >= 0 || len(columns) == 0 {
		return v.store.fail("read", fmt.Errorf("no such columns of %s: %q", name, columns))
	}
	conn, err := v.take(ctx)
	if err != nil {
		return v.store.fail("read", err)
	}
	defer v.give(conn)
	return v.stream(ctx, conn, selectOf(columns, clause+" ORDER BY "+from.order), args, len(columns), each)
}

// selectOf writes a query of the table t from names in this package, never
// from input.
func selectOf(columns []string, rest string) string { return "SELECT " + qualified(columns) + rest }

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
