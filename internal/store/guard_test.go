package store

import (
	"context"
	"database/sql"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/bands"
	"seamfit/internal/bench"
	"seamfit/internal/seam"
)

// shell is a connection as another program has it: foreign keys off, none of
// our settings.
func shell(t *testing.T, s *Store) *sql.DB {
	t.Helper()
	db, err := openRaw(s.path)
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, db.Close()) })
	var on int
	require.NoError(t, db.QueryRowContext(t.Context(), "PRAGMA foreign_keys").Scan(&on))
	require.Zero(t, on, "a shell has foreign keys off")
	return db
}

func allTables(t *testing.T, db *sql.DB) []string {
	t.Helper()
	rows, err := db.QueryContext(t.Context(), "SELECT name FROM sqlite_schema WHERE type = 'table' AND name <> 'open_handling' ORDER BY name")
	require.NoError(t, err)
	var names []string
	for rows.Next() {
		var name string
		require.NoError(t, rows.Scan(&name))
		names = append(names, name)
	}
	require.NoError(t, rows.Err())
	require.NoError(t, rows.Close())
	return names
}

func dump(t *testing.T, db *sql.DB, table string) string {
	t.Helper()
	rows, err := db.QueryContext(t.Context(), "SELECT * FROM "+table)
	require.NoError(t, err)
	columns, err := rows.Columns()
	require.NoError(t, err)
	var out strings.Builder
	for rows.Next() {
		values := make([]any, len(columns))
		into := make([]any, len(columns))
		for i := range values {
			into[i] = &values[i]
		}
		require.NoError(t, rows.Scan(into...))
		fmt.Fprintln(&out, values...)
	}
	require.NoError(t, rows.Err())
	require.NoError(t, rows.Close())
	return out.String()
}

// fullStory leaves at least one row in every table.
func fullStory(t *testing.T) (*worked, string) {
	w := newWorked(t)
	w.do(w.settle(map[string]string{w.bandedAndComplete("1236-56711"): "1236-56701"}))
	id := w.gull("1236-56702")
	w.do(bench.SetAside{When: w.when(), Reading: 2, Reason: "caught a feather"})
	w.do(bench.Look{When: w.when(), Findings: []string{"overlap"}})
	w.do(bench.TellIncident{When: w.when(), Kind: "stress"})
	lost := newID()
	w.do(bench.OpenBird{When: w.when(), ID: lost, Bird: bench.Bird{Species: "Larus argentatus"}})
	w.do(bench.TellFate{When: w.when(), Fate: bench.FateEscaped})
	w.do(bench.Resolve{When: w.when(), Reason: "never banded"})
	require.NoError(t, w.store.SaveRod(t.Context(), someRod()))
	require.NoError(t, w.store.SaveCalibration(t.Context(), someCalibration(t, w.now)))
	require.NoError(t, w.store.SaveCheck(t.Context(), someCheck(w.now)))
	require.NoError(t, w.store.SavePractice(t.Context(), []seam.PracticeClosing{somePractice(w.now)}))
	w.receive("1236-60001", 10)
	w.stock(bands.EventOpened, "A. Holm", "1236-60001", "1236-60002")
	second := bench.Shift{ID: newID(), Started: w.now, Place: "Skerry of Ness", Bander: "A. Holm", Permit: "P-1"}
	w.do(bench.OpenShift{When: w.when(), Shift: second})
	require.NoError(t, w.store.CloseShift(t.Context(), second.ID, w.now, "A. Holm", "no birds"))
	second.ID = newID()
	w.do(bench.OpenShift{When: w.when(), Shift: second})
	_, err := w.store.SaveSubmission(t.Context(), someSubmission(w.now, lost))
	require.NoError(t, err)
	return w, id
}

func TestNoShellChangesDeletesOrReplacesARow(t *testing.T) {
	w, _ := fullStory(t)
	w.supervisedClosing(t, "1236-60001")
	w.keepsAside(t, "1236-60010")
	db := shell(t, w.store)
	for _, table := range allTables(t, db) {
		before := dump(t, db, table)
		require.NotEmpty(t, before, "the story leaves a row in %s", table)
		var columns []string
		rows, err := db.QueryContext(t.Context(), "SELECT name FROM pragma_table_info(?)", table)
		require.NoError(t, err)
		for rows.Next() {
			var name string
			require.NoError(t, rows.Scan(&name))
			columns = append(columns, `"`+name+`"`)
		}
		require.NoError(t, rows.Err())
		require.NoError(t, rows.Close())
		last := columns[len(columns)-1]
		list := strings.Join(columns, ", ")
		for _, attack := range []string{
			fmt.Sprintf("UPDATE %s SET %s = %s", table, last, last),
			fmt.Sprintf("UPDATE OR REPLACE %s SET %s = %s", table, columns[0], columns[0]),
			fmt.Sprintf("DELETE FROM %s", table),
			fmt.Sprintf("INSERT OR REPLACE INTO %s (%s) SELECT %s FROM %s", table, list, list, table),
			fmt.Sprintf("REPLACE INTO %s (%s) SELECT %s FROM %s", table, list, list, table),
			fmt.Sprintf("INSERT INTO %s (%s) SELECT %s FROM %s WHERE true ON CONFLICT DO UPDATE SET %s = excluded.%s", table, list, list, table, last, last),
		} {
			for _, mode := range []string{"PRAGMA recursive_triggers = OFF", "PRAGMA recursive_triggers = ON", "PRAGMA ignore_check_constraints = ON"} {
				_, err := db.ExecContext(t.Context(), mode)
				require.NoError(t, err)
				_, err = db.ExecContext(t.Context(), attack)
				require.ErrorContains(t, err, "seamfit: ", "%s (%s)", attack, mode)
			}
		}
		assert.Equal(t, before, dump(t, db, table), table)
	}
}

// insertCompletion is what a careless program would do to mark a record.
func insertCompletion(ctx context.Context, db *sql.DB, handling string) error {
	tx, err := db.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	defer func() { _ = tx.Rollback() }()
	if _, err := tx.ExecContext(ctx, `INSERT INTO fact (handling, seq, kind, at, at_offset, entered, entered_offset, by, typed, digest)
		SELECT handling, max(seq) + 1, 'completion', at, at_offset, entered, entered_offset, by, typed, digest FROM fact WHERE handling = ?`, handling); err != nil {
		return err
	}
	if _, err := tx.ExecContext(ctx, `INSERT INTO fact_completion (handling, seq) SELECT handling, max(seq) FROM fact WHERE handling = ?`, handling); err != nil {
		return err
	}
	return tx.Commit()
}

func TestNoShellCompletesARecordWithoutItsConfirmedFlushClosing(t *testing.T) {
	w := newWorked(t)
	id := w.gull("1236-56701")
	db := shell(t, w.store)
	steps := []struct {
		what string
		next bench.Command
	}{
		{"no closing, no fate", bench.Look{When: w.when(), Findings: []string{"gap"}}},
		{"a gap", bench.TellFate{When: w.when(), Fate: bench.FateUnconfirmed, Reason: "gap"}},
		{"let go unconfirmed", bench.Look{When: w.when()}},
		{"flush, nothing stated", bench.TellFate{When: w.when(), Fate: bench.FateBanded}},
		{"fate told, nothing stated", bench.Confirm{When: w.when(), Statements: []string{"edges", "turns", "caught"}, ReadBack: "701"}},
		{"one statement missing", bench.Confirm{When: w.when(), All: true, ReadBack: "702"}},
		{"another number read back", bench.Confirm{When: w.when(), ReadBack: "701"}},
	}
	for _, step := range steps {
		require.ErrorContains(t, insertCompletion(t.Context(), db, id), "seamfit: ", step.what)
		w.do(step.next)
	}
	require.NoError(t, insertCompletion(t.Context(), db, id), "all said and done: nothing refuses it")

	unseen := w.gull("1236-56703")
	w.do(bench.TellFate{When: w.when(), Fate: bench.FateUnconfirmed, Reason: "slipped out before the look"})
	require.ErrorContains(t, insertCompletion(t.Context(), db, unseen), "seamfit: the fate does not allow completion")

	voided := w.gull("1236-56702")
	w.do(bench.Look{When: w.when()})
	w.do(bench.Confirm{When: w.when(), All: true, ReadBack: "702"})
	w.do(bench.TellFate{When: w.when(), Fate: bench.FateBanded})
	w.do(bench.Look{When: w.when()})
	require.ErrorContains(t, insertCompletion(t.Context(), db, voided), "lacks a confirmed flush last closing", "a later closing voids it")
}

func TestNoShellPutsOneNumberOnTwoUndisputedBirds(t *testing.T) {
	w := newWorked(t)
	w.bandedAndComplete("1236-56701")
	second := w.gull("1236-56702")
	w.do(bench.Remove{When: w.when(), Reason: "spoilt"})
	db := shell(t, w.store)
	claim := func(conflict string) error {
		tx, err := db.BeginTx(t.Context(), nil)
		require.NoError(t, err)
		defer func() { _ = tx.Rollback() }()
		_, err = tx.ExecContext(t.Context(), `INSERT INTO fact (handling, seq, kind, at, at_offset, entered, entered_offset, by, typed, digest)
			SELECT handling, max(seq) + 1, 'band', at, at_offset, entered, entered_offset, by, typed, digest FROM fact WHERE handling = ?`, second)
		require.NoError(t, err)
		_, err = tx.ExecContext(t.Context(), `INSERT INTO fact_band (handling, seq, band, event, number, leg, site, conflict, other, condition, scheme, closure, done, reason)
			SELECT handling, max(seq), count(*), 'planned', '1236-56701', 'right', 'below', ?, '', '', '', '', '', '' FROM fact WHERE handling = ?`, conflict, second)
		if err != nil {
			return err
		}
		return tx.Commit()
	}
	require.ErrorContains(t, claim(""), "the number is in another record")
	require.NoError(t, claim("used"))
	var disputed int
	require.NoError(t, db.QueryRowContext(t.Context(), "SELECT count(*) FROM disputed").Scan(&disputed))
	assert.Equal(t, 2, disputed, "stated as a conflict, both are disputed")
}

// Whoever opens a merge in a shell gets round the guards of plans, not round
// the rule that they are for, and is found.
func TestAnOpenMergeLetsNoRecordBeCompletedUnconfirmed(t *testing.T) {
	w := newWorked(t)
	w.bandedAndComplete("1236-56701")
	id := w.gull("1236-56702")
	w.do(bench.Look{When: w.when()})
	w.do(bench.TellFate{When: w.when(), Fate: bench.FateBanded})
	db := shell(t, w.store)
	_, err := db.ExecContext(t.Context(), "INSERT INTO merge (id, at, at_offset, by, file, shifts, gauged, digest) SELECT id, started, '', '', '', '[]', '[]', digest FROM shift")
	require.NoError(t, err)
	require.ErrorContains(t, insertCompletion(t.Context(), db, id), "lacks a confirmed flush last closing")
	var what []string
	for _, f := range findings(t, w.store) {
		what = append(what, f.What)
	}
	assert.Contains(t, what, "a merge was begun and never ended, so that guards are open")
}

func TestOpenHandlingsStayOnTheirList(t *testing.T) {
	w := newWorked(t)
	w.gull("1236-56701")
	db := shell(t, w.store)
	for _, attack := range []string{"DELETE FROM open_handling", "UPDATE open_handling SET handling = 'x'"} {
		_, err := db.ExecContext(t.Context(), attack)
		require.ErrorContains(t, err, "seamfit: ", attack)
	}
}

func TestFilesThatAreNotOursOrNotWhole(t *testing.T) {
	folder := t.TempDir()
	write := func(name string, data []byte) string {
		path := filepath.Join(folder, name)
		require.NoError(t, os.WriteFile(path, data, 0o600))
		return path
	}
	foreign := filepath.Join(folder, "foreign.db")
	db, err := openRaw(foreign)
	require.NoError(t, err)
	_, err = db.ExecContext(t.Context(), "CREATE TABLE notes (text TEXT)")
	require.NoError(t, err)
	require.NoError(t, db.Close())

	newer := filepath.Join(folder, "newer.db")
	tampered := filepath.Join(folder, "tampered.db")
	training := filepath.Join(folder, "training.db")
	for _, path := range []string{newer, tampered, training} {
		s, err := Open(t.Context(), path, Options{Training: path == training})
		require.NoError(t, err)
		require.NoError(t, s.Close())
	}
	change := func(path, text string) {
		db, err := openRaw(path)
		require.NoError(t, err)
		_, err = db.ExecContext(t.Context(), text)
		require.NoError(t, err)
		require.NoError(t, db.Close())
	}
	change(newer, fmt.Sprintf("PRAGMA user_version = %d", schemaVersion+1))
	change(tampered, "DROP TRIGGER completion_refused")

	cases := []struct {
		path   string
		reason error
		mend   string
	}{
		{write("letter.txt", []byte("Dear Agnes, the gulls are back on the skerry, and there are more of them than ever.")), ErrNotDatabase, "--db"},
		{foreign, ErrNotDatabase, "--db"},
		{newer, ErrNewer, "newer program"},
		{tampered, ErrTampered, "backup"},
		{training, ErrTraining, "--db"},
	}
	for _, c := range cases {
		_, err := Open(t.Context(), c.path, Options{})
		require.ErrorIs(t, err, c.reason, c.path)
		require.ErrorContains(t, err, c.mend)
	}
	_, err = Open(t.Context(), folder, Options{})
	require.ErrorContains(t, err, "is a folder")
	_, err = Open(t.Context(), filepath.Join(folder, "none.db"), Options{MustExist: true})
	require.ErrorIs(t, err, os.ErrNotExist)
	records := filepath.Join(folder, "records.db")
	s, err := Open(t.Context(), records, Options{})
	require.NoError(t, err)
	require.NoError(t, s.Close())
	_, err = Open(t.Context(), records, Options{Training: true})
	require.ErrorIs(t, err, ErrTraining)
}

func TestAFullDiskIsToldAndNothingHalfIsKept(t *testing.T) {
	w := newWorked(t)
	id := w.gull("1236-56701")
	_, err := w.store.writer.ExecContext(t.Context(), "PRAGMA max_page_count = 1")
	require.NoError(t, err)
	h, _ := w.state.Handling(id)
	note := bench.IncidentTold{
		Head: bench.Head{Handling: id, Seq: h.Seq + 1, At: w.now, Entered: w.now}, Kind: "stress", Note: strings.Repeat("n", 1<<16),
	}
	err = w.store.Save(t.Context(), []bench.Fact{note})
	require.ErrorIs(t, err, ErrFull)
	require.ErrorContains(t, err, "make room")
	_, err = w.store.writer.ExecContext(t.Context(), "PRAGMA max_page_count = 1000000")
	require.NoError(t, err)
	require.NoError(t, w.store.Save(t.Context(), []bench.Fact{note}), "the same facts are taken once there is room")
}

func TestALockedFileIsTold(t *testing.T) {
	w := newWorked(t)
	db := shell(t, w.store)
	_, err := w.store.writer.ExecContext(t.Context(), "PRAGMA busy_timeout = 1")
	require.NoError(t, err)
	conn, err := db.Conn(t.Context())
	require.NoError(t, err)
	_, err = conn.ExecContext(t.Context(), "BEGIN IMMEDIATE")
	require.NoError(t, err)
	open := bench.BirdTold{Head: bench.Head{Handling: newID(), Seq: 1, At: w.now, Entered: w.now}, Shift: w.state.Shift.ID, Bird: bench.Bird{Site: bench.SiteBelow}}
	require.ErrorIs(t, w.store.Save(t.Context(), []bench.Fact{open}), ErrBusy)
	_, err = conn.ExecContext(t.Context(), "ROLLBACK")
	require.NoError(t, err)
	require.NoError(t, conn.Close())
	require.NoError(t, w.store.Save(t.Context(), []bench.Fact{open}))
}
