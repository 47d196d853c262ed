package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"maps"
	"slices"
	"time"
)

// Finding is something that is not as it must be: what, and in which rows.
type Finding struct {
	What  string `json:"what"`
	Where string `json:"where"`
}

// QuickCheck has SQLite look through the file's structure, without its
// indexes. It returns an *Error that wraps ErrDamaged when something is wrong.
func (s *Store) QuickCheck(ctx context.Context) error {
	var first string
	if err := s.db.QueryRowContext(ctx, "PRAGMA quick_check(1)").Scan(&first); err != nil {
		return s.fail("check", err)
	}
	if first != "ok" {
		return &Error{
			Op: "check", Path: s.path, Err: fmt.Errorf("%w: %s", ErrDamaged, first),
			Hint: mendDamaged,
		}
	}
	return nil
}

// Verify looks for everything that can be wrong in the file: SQLite's own
// checks, the guards, the chain of digests, and the domain's invariants. It
// calls found for each thing that it finds, and returns found's error or an
// *Error when the file can't be read to its end.
func (s *Store) Verify(ctx context.Context, found func(Finding) error) error {
	return s.View(ctx, func(v *View) error {
		for _, check := range []func(context.Context, func(Finding) error) error{
			v.verifyStructure, v.verifyGuards, v.verifyFacts, v.verifyShifts, v.verifyRows, v.verifyMeta, v.verifyStock, v.verifySubmissions, v.verifyInvariants,
		} {
			err := s.fail("verify", check(ctx, found))
			if errors.Is(err, ErrDamaged) {
				// What can't be read is a finding too; the other checks go on.
				var told *Error
				errors.As(err, &told)
				err = found(Finding{"the file is damaged", told.Err.Error()})
			}
			if err != nil {
				return err
			}
		}
		return nil
	})
}

func (v *View) verifyStructure(ctx context.Context, found func(Finding) error) error {
	if err := v.each(ctx, "PRAGMA integrity_check", func(r []any) error {
		if text := fmt.Sprint(r[0]); text != "ok" {
			return found(Finding{"the file is damaged", text})
		}
		return nil
	}); err != nil {
		return err
	}
	return v.each(ctx, "PRAGMA foreign_key_check", func(r []any) error {
		return found(Finding{"a row points to one that is not there", fmt.Sprintf("%v to %v", r[0], r[2])})
	})
}

func (v *View) verifyGuards(ctx context.Context, found func(Finding) error) error {
	digest, err := schemaText(ctx, v.conn)
	if err != nil || digest == schemaDigest {
		return err
	}
	made, err := schemaMade(ctx)
	if err != nil {
		return err
	}
	if err := v.each(ctx, schemaQuery, func(r []any) error {
		name := fmt.Sprintf("%v %v", r[0], r[1])
		if text, ok := made[name]; !ok || text != r[3] {
			err = found(Finding{"a table or guard is not the one that Seamfit made", name})
		}
		delete(made, name)
		return err
	}); err != nil {
		return err
	}
	for _, name := range slices.Sorted(maps.Keys(made)) {
		if err := found(Finding{"a table or guard is missing", name}); err != nil {
			return err
		}
	}
	return nil
}

// schemaMade returns the texts of the schema that the migrations make.
func schemaMade(ctx context.Context) (made map[string]string, err error) {
	db, err := sql.Open("sqlite", ":memory:")
	if err != nil {
		return nil, err
	}
	s := &Store{db: db, now: time.Now, stmts: map[string]*sql.Stmt{}}
	defer func() { err = errors.Join(err, s.Close()) }()
	if s.writer, err = db.Conn(ctx); err != nil {
		return nil, err
	}
	if err := s.migrate(ctx, Options{}); err != nil {
		return nil, err
	}
	made = map[string]string{}
	v := &View{store: s, conn: s.writer}
	return made, v.each(ctx, schemaQuery, func(r []any) error {
		made[fmt.Sprintf("%v %v", r[0], r[1])] = fmt.Sprint(r[3])
		return nil
	})
}

// verifyFacts goes along the chain of every handling.
func (v *View) verifyFacts(ctx context.Context, found func(Finding) error) error {
	details := map[string]*sql.Stmt{}
	defer func() {
		for _, st := range details {
			_ = st.Close() // a read-only statement has nothing to lose
		}
	}()
	var handling, previous string
	var seq int64
	const head = `SELECT handling, seq, kind, at, at_offset, entered, entered_offset, by, typed, replaces, why, digest FROM fact ORDER BY handling, seq`
	return v.each(ctx, head, func(r []any) error {
		id, n, kind, stored := fmt.Sprint(r[0]), r[1], fmt.Sprint(r[2]), fmt.Sprint(r[11])
		where := fmt.Sprintf("handling %s, fact %v (%s)", id, n, kind)
		if id != handling {
			handling, previous, seq = id, "", 0
		}
		seq++
		if n != seq {
			return found(Finding{"facts are missing", where})
		}
		if _, known := kinds()[kind]; !known {
			previous = stored
			return found(Finding{"a fact is of no known kind", where})
		}
		detail, err := v.detail(ctx, details, kind, id, n)
		if errors.Is(err, sql.ErrNoRows) {
			previous = stored
			return found(Finding{"a fact has no content", where})
		}
		if err != nil {
			return err
		}
		values := append([]any{previous, id, n, kind}, r[3:11]...)
		previous = stored
		if digestOf(append(values, detail...)) != stored {
			return found(Finding{"a fact was changed after it was stored", where})
		}
		return nil
	})
}

// verifyShifts goes along the chain of facts of every shift.
func (v *View) verifyShifts(ctx context.Context, found func(Finding) error) error {
	names := shiftFactColumns()
	var shift, previous string
	var seq int64
	return v.each(ctx, fmt.Sprintf("SELECT %s, t.digest, s.digest FROM shift_fact t JOIN shift s ON s.id = t.shift ORDER BY t.shift, t.seq", qualified(names)), func(r []any) error {
		id, stored := fmt.Sprint(r[0]), fmt.Sprint(r[len(names)])
		where := fmt.Sprintf("shift %s, fact %v", id, r[1])
		if id != shift {
			shift, previous, seq = id, fmt.Sprint(r[len(names)+1]), 0
		}
		seq++
		if r[1] != seq {
			return found(Finding{"facts of a shift are missing", where})
		}
		digest := digestOf(append([]any{previous}, r[:len(names)]...))
		previous = stored
		if digest != stored {
			return found(Finding{"a fact of a shift was changed after it was stored", where})
		}
		return nil
	})
}

// detail returns the columns of a fact's own table.
func (v *View) detail(ctx context.Context, stmts map[string]*sql.Stmt, kind, handling string, seq any) ([]any, error) {
	names := columns(kind)
	st, ok := stmts[kind]
	if !ok {
		list := "1"
		if len(names) > 0 {
			list = qualified(names)
		}
		var err error
		st, err = v.conn.PrepareContext(ctx, fmt.Sprintf("SELECT %s FROM fact_%s AS t WHERE handling = ? AND seq = ?", list, kind))
		if err != nil {
			return nil, err
		}
		stmts[kind] = st
	}
	values := make([]any, max(len(names), 1))
	into := make([]any, len(values))
	for i := range values {
		into[i] = &values[i]
	}
	err := st.QueryRowContext(ctx, handling, seq).Scan(into...)
	return values[:len(names)], err
}

// verifyRows compares the rows that carry a digest of their own.
func (v *View) verifyRows(ctx context.Context, found func(Finding) error) error {
	for table, names := range map[string][]string{
		"shift": shiftColumns(), "rod": rodColumns(), "calibration": calibrationColumns(), "rod_check": checkColumns(),
		"settlement": settlementColumns(), "shift_close": shiftCloseColumns(), "band_string": stringColumns(),
		"submission": submissionColumns(), "practice": practiceColumns(),
		"merge": mergeColumns(), "merge_kept": mergeKeptColumns(), "merge_settled": mergeSettledColumns(),
	} {
		if err := v.each(ctx, fmt.Sprintf("SELECT %s, digest FROM %s AS t", qualified(names), table), func(r []any) error {
			last := len(r) - 1
			if digestOf(r[:last]) != r[last] {
				return found(Finding{"a row was changed after it was stored", fmt.Sprintf("%s %v", table, r[0])})
			}
			return nil
		}); err != nil {
			return err
		}
	}
	return nil
}

// verifyMeta compares what the file is and what closure kinds ask for with
// what was stored of them.
func (v *View) verifyMeta(ctx context.Context, found func(Finding) error) error {
	meta := map[string]string{}
	if err := v.each(ctx, "SELECT key, value FROM meta", func(r []any) error {
		meta[text(r[0])] = text(r[1])
		return nil
	}); err != nil {
		return err
	}
	if kind := meta["kind"]; kind != "records" && kind != "training" {
		if err := found(Finding{"the file does not say whether it is for training", "meta kind"}); err != nil {
			return err
		}
	}
	delete(meta, "kind")
	if err := v.each(ctx, "SELECT closure, version, declared, statements FROM closure_declaration ORDER BY closure, version", func(r []any) error {
		key := declarationKey(r)
		digest := meta[key]
		delete(meta, key)
		if digest != digestOf(r) {
			return found(Finding{"a row was changed after it was stored", "closure_" + key})
		}
		return nil
	}); err != nil {
		return err
	}
	for _, key := range slices.Sorted(maps.Keys(meta)) {
		if err := found(Finding{"a row of the file's own is of no known kind", "meta " + key}); err != nil {
			return err
		}
	}
	return nil
}

// verifyInvariants looks for records that the triggers would have refused.
func (v *View) verifyInvariants(ctx context.Context, found func(Finding) error) error {
	for _, rule := range []struct{ what, where string }{
		{
			"a completed record lacks a confirmed flush last closing",
			"SELECT u.handling FROM unconfirmed u JOIN fact_completion c USING (handling)",
		},
		{
			"a handling has two bands at work",
			"SELECT handling FROM worked_band GROUP BY handling HAVING count(*) > 1",
		},
		{
			"one number stands on two birds without a dispute",
			`SELECT number FROM claim GROUP BY number HAVING count(DISTINCT handling) > 1
			 AND sum(handling IN (SELECT handling FROM disputed)) < count(*)`,
		},
		{
			"the tubing is not what the stock and the records say of it",
			`SELECT number FROM (SELECT number, holder, size, metal, string, place FROM on_tubing EXCEPT SELECT number, holder, size, metal, string, place FROM tubing)
			 UNION SELECT number FROM (SELECT number, holder, size, metal, string, place FROM tubing EXCEPT SELECT number, holder, size, metal, string, place FROM on_tubing)`,
		},
		{
			"a merge was begun and never ended, so that guards are open",
			"SELECT id FROM merging",
		},
		{
			"a handling is missing from the list of open ones",
			`SELECT id FROM handling WHERE id NOT IN (SELECT handling FROM open_handling)
			 AND id NOT IN (SELECT handling FROM fact_completion) AND id NOT IN (SELECT handling FROM fact_resolved)`,
		},
		{
			"a handling that is settled is on the list of open ones",
			`SELECT handling FROM open_handling WHERE handling NOT IN (SELECT id FROM handling)
			 OR handling IN (SELECT handling FROM fact_completion) OR handling IN (SELECT handling FROM fact_resolved)`,
		},
	} {
		if err := v.each(ctx, rule.where, func(r []any) error {
			return found(Finding{rule.what, fmt.Sprint(r[0])})
		}); err != nil {
			return err
		}
	}
	return nil
}

// each calls f with the values of every row of a query of this package.
func (v *View) each(ctx context.Context, query string, f func([]any) error) error {
	return v.eachOf(ctx, query, nil, f)
}

// eachOf is each for a query with arguments.
func (v *View) eachOf(ctx context.Context, query string, args []any, f func([]any) error) error {
	rows, err := v.conn.QueryContext(ctx, query, args...)
	if err != nil {
		return err
	}
	return eachRow(rows, f)
}

// eachRow calls f with the values of every row, and closes rows.
func eachRow(rows *sql.Rows, f func([]any) error) (err error) {
	defer func() { err = errors.Join(err, rows.Close()) }()
	names, err := rows.Columns()
	if err != nil {
		return err
	}
	for rows.Next() {
		values := make([]any, len(names))
		into := make([]any, len(names))
		for i := range values {
			into[i] = &values[i]
		}
		if err := rows.Scan(into...); err != nil {
			return err
		}
		if err := f(values); err != nil {
			return err
		}
	}
	return rows.Err()
}
