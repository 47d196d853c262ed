package store

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/bench"
)

// keptCopy copies a kept database to a folder of its own.
func keptCopy(t *testing.T, version int) string {
	t.Helper()
	data, err := os.ReadFile(keptDatabase(version))
	require.NoError(t, err)
	path := filepath.Join(t.TempDir(), "bench.db")
	require.NoError(t, os.WriteFile(path, data, 0o600))
	return path
}

// contents are the rows of every table and view of the file, by name.
func contents(t *testing.T, path string) map[string]string {
	t.Helper()
	db, err := openRaw(path)
	require.NoError(t, err)
	rows, err := db.QueryContext(t.Context(), "SELECT name FROM sqlite_schema WHERE type IN ('table', 'view')")
	require.NoError(t, err)
	all := map[string]string{}
	for rows.Next() {
		var name string
		require.NoError(t, rows.Scan(&name))
		all[name] = ""
	}
	require.NoError(t, rows.Err())
	require.NoError(t, rows.Close())
	for name := range all {
		all[name] = dump(t, db, name)
	}
	require.NoError(t, db.Close())
	return all
}

func TestADatabaseOfAnEarlierSchemaStandsAsItStood(t *testing.T) {
	for version := range schemaVersion - 1 {
		t.Run(fmt.Sprint(version+1), func(t *testing.T) { standsAsItStood(t, version+1) })
	}
}

// copiesBefore are the copies that were made before a file was brought to the
// present schema.
func copiesBefore(t *testing.T, path string) []string {
	t.Helper()
	copies, err := filepath.Glob(fmt.Sprintf("%s.before-schema-%d.*.db", path, schemaVersion))
	require.NoError(t, err)
	return copies
}

func standsAsItStood(t *testing.T, version int) {
	path := keptCopy(t, version)
	before := contents(t, path)
	s := openStore(t, path)
	requireWhole(t, s)
	after := contents(t, path)
	for name, rows := range before {
		if name == "meta" && version == 1 {
			assert.Contains(t, after[name], rows, "and the digests of what closure kinds ask for")
			continue
		}
		assert.Equal(t, rows, after[name], name)
	}

	copies := copiesBefore(t, path)
	require.Len(t, copies, 1)
	info, err := os.Stat(copies[0])
	require.NoError(t, err)
	assert.Equal(t, os.FileMode(0o600), info.Mode().Perm())
	assert.Equal(t, before, contents(t, copies[0]), "the copy is the file as it was")

	state, err := s.Resume(t.Context(), benchSetup(t))
	require.NoError(t, err)
	require.NotNil(t, state.Shift)
	w := &worked{t: t, store: s, state: state, now: time.Date(2026, 5, 18, 6, 0, 0, 0, time.UTC)}
	last := slices.IndexFunc(state.Handlings, func(h bench.Handling) bool {
		number, _ := h.NumberToSettle("")
		return number == "1236-56706"
	})
	require.GreaterOrEqual(t, last, 0)
	w.state.Active = state.Handlings[last].ID
	w.do(bench.Look{When: w.when()})
	w.do(bench.Confirm{When: w.when(), All: true, ReadBack: "706"})
	w.do(bench.TellFate{When: w.when(), Fate: bench.FateBanded})
	w.do(bench.Complete{When: w.when()})
	db := shell(t, s)
	for _, attack := range []string{"DELETE FROM fact", "UPDATE fact SET why = 'x'", "INSERT OR REPLACE INTO fact SELECT * FROM fact"} {
		_, err := db.ExecContext(t.Context(), attack)
		require.ErrorContains(t, err, "seamfit: ", attack)
	}

	openStore(t, path)
	assert.Len(t, copiesBefore(t, path), 1, "once migrated, nothing more is copied")
}

func TestTwoProgramsMeetOneOldFile(t *testing.T) {
	path := keptCopy(t, 1)
	opened := make(chan error, 4)
	for range cap(opened) {
		go func() {
			s, err := Open(context.Background(), path, Options{})
			if err == nil {
				err = s.Close()
			}
			opened <- err
		}()
	}
	for range cap(opened) {
		require.NoError(t, <-opened)
	}
	copies := copiesBefore(t, path)
	assert.Len(t, copies, 1)
	requireWhole(t, openStore(t, path))
}

func TestAnOldFileWithoutItsGuardsIsLeftAsItIs(t *testing.T) {
	path := keptCopy(t, 1)
	db, err := openRaw(path)
	require.NoError(t, err)
	_, err = db.ExecContext(t.Context(), "DROP TRIGGER fact_no_update")
	require.NoError(t, err)
	require.NoError(t, db.Close())
	before := contents(t, path)
	_, err = Open(t.Context(), path, Options{})
	require.ErrorIs(t, err, ErrTampered)
	assert.Equal(t, before, contents(t, path))
}

// The test calls itself, and the child dies in the middle of the migration,
// with pages of the new schema already in the file's log.
func TestACrashInAMigrationLeavesTheOldFile(t *testing.T) {
	const child = "SEAMFIT_TEST_MIGRATION"
	if path := os.Getenv(child); path != "" {
		dieInMigration(t, path)
	}
	path := keptCopy(t, 1)
	before := contents(t, path)
	cmd := exec.CommandContext(t.Context(), os.Args[0], "-test.run", "^TestACrashInAMigrationLeavesTheOldFile$")
	cmd.Env = append(os.Environ(), child+"="+path)
	out, err := cmd.CombinedOutput()
	require.ErrorContains(t, err, "exit status 3", "%s", out)
	assert.Equal(t, before, contents(t, path))
	requireWhole(t, openStore(t, path))
}

func dieInMigration(t *testing.T, path string) {
	db, err := openRaw(path)
	require.NoError(t, err)
	conn, err := db.Conn(context.Background())
	require.NoError(t, err)
	text, err := migrations.ReadFile("migrations/0002_persons.sql")
	require.NoError(t, err)
	half, _, found := strings.Cut(string(text), "ALTER TABLE")
	require.True(t, found)
	for _, step := range []string{"PRAGMA cache_size = 1", "PRAGMA cache_spill = 1", "BEGIN IMMEDIATE", half} {
		_, err := conn.ExecContext(context.Background(), step)
		require.NoError(t, err)
	}
	os.Exit(3)
}
