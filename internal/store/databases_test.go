package store

import (
	flags "flag"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/bands"
	"seamfit/internal/bench"
	"seamfit/internal/seam"
)

var keepDatabase = flags.Bool("keep-database", false, "write testdata/databases/schema-<version>.db with the schema that this code makes")

// keptDatabase is a database made by the code that had that schema.
func keptDatabase(version int) string {
	return filepath.Join("..", "..", "testdata", "databases", fmt.Sprintf("schema-%d.db", version))
}

// TestADayWorthKeeping works a day with something in every table: birds that
// are complete, disputed, open, escaped, settled, with a band taken off and
// with one found. With -keep-database, its file is kept beside those of
// earlier schemas; see testdata/databases/README.md.
func TestADayWorthKeeping(t *testing.T) {
	path := filepath.Join(t.TempDir(), "bench.db")
	s, err := Open(t.Context(), path, Options{Closures: benchSetup(t).Book.Closures})
	require.NoError(t, err)
	w := begun(t, s)
	require.NoError(t, s.SaveRod(t.Context(), someRod()))
	require.NoError(t, s.SaveCalibration(t.Context(), someCalibration(t, w.now)))
	require.NoError(t, s.SaveCheck(t.Context(), someCheck(w.now)))
	practised := somePractice(w.now)
	practised.Band, practised.Number = seam.Numbered, "1236-60009"
	w.receive("1236-56701", 20)
	w.receive("1236-60001", 10)
	require.NoError(t, s.SavePractice(t.Context(), []seam.PracticeClosing{practised}))
	w.stock(bands.EventRejected, "", "1236-56720")
	w.stock(bands.EventMeasured, "", "1236-56719")
	w.stock(bands.EventOpened, "A. Holm", w.run("1236-56701", 15)...)
	w.stock(bands.EventCounted, "", w.run("1236-56701", 18)...)
	w.workedDay(t)
	w.keepsAside(t, "1236-60010")

	requireWhole(t, s)
	db := shell(t, s)
	for _, table := range allTables(t, db) {
		assert.NotEmpty(t, dump(t, db, table), "the day leaves a row in %s", table)
	}
	_, err = db.ExecContext(t.Context(), "PRAGMA wal_checkpoint(TRUNCATE)")
	require.NoError(t, err)
	require.NoError(t, s.Close())
	if !*keepDatabase {
		return
	}
	require.NoFileExists(t, keptDatabase(schemaVersion), "a kept database is never written again")
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(keptDatabase(schemaVersion), data, 0o600))
}

func (w *worked) run(first string, count int64) (numbers []string) {
	run, err := bands.RunOf(w.number(first), count)
	require.NoError(w.t, err)
	for n := range run.All() {
		numbers = append(numbers, n.String())
	}
	return numbers
}

func (w *worked) workedDay(t *testing.T) {
	whole := w.bandedAndComplete("1236-56701")
	// A band that would not close, taken off; then another one.
	w.gull("1236-56702")
	w.do(bench.SetAside{When: w.when(), Reading: 2, Reason: "caught a feather"})
	w.do(bench.Look{When: w.when(), Findings: []string{"overlap"}})
	w.do(bench.TellIncident{When: w.when(), Kind: "stress", Note: "panted"})
	w.do(bench.Remove{When: w.when(), Reason: "overlap that can't be opened"})
	w.do(bench.GiveNumber{When: w.when(), Number: "1236-56703"})
	w.do(bench.Look{When: w.when()})
	w.do(bench.Confirm{When: w.when(), All: true, ReadBack: "703"})
	w.do(bench.LeaveHand{When: w.when()})
	w.do(bench.TellFate{When: w.when(), Fate: bench.FateBanded})
	w.do(bench.Complete{When: w.when()})
	// Two birds under one number, settled.
	second := w.bandedAndComplete("1236-56704")
	third := w.bandedAndComplete("1236-56705")
	w.do(w.settle(map[string]string{second: "1236-56705", third: "1236-56704"}))
	// Two birds under one number, disputed.
	w.gull("1236-56706")
	w.do(bench.Look{When: w.when()})
	w.do(bench.GiveNumber{When: w.when(), Number: "1236-56701", Reason: "read off the leg"})
	w.do(bench.TellFate{When: w.when(), Fate: bench.FateBanded})
	// A bird with a band on it already, and one that escaped.
	w.do(bench.OpenBird{When: w.when(), ID: newID(), Bird: bench.Bird{Species: "Larus argentatus", Leg: bench.LegLeft}})
	w.do(bench.TellFound{When: w.when(), Number: "0679-0130?", Scheme: "elsewhere", Condition: "worn", Then: bench.ThenLeft})
	w.do(bench.TellFate{When: w.when(), Fate: bench.FateBanded})
	w.do(bench.Complete{When: w.when()})
	w.do(bench.OpenBird{When: w.when(), ID: newID(), Bird: bench.Bird{Species: "Larus argentatus"}})
	w.do(bench.TellFate{When: w.when(), Fate: bench.FateEscaped})
	w.do(bench.Resolve{When: w.when(), Reason: "never banded"})
	_, err := w.store.SaveSubmission(t.Context(), someSubmission(w.now, whole))
	require.NoError(t, err)
	require.NoError(t, w.store.CloseShift(t.Context(), w.state.Shift.ID, w.now, "A. Holm", "fog from noon"))
	w.do(bench.OpenShift{When: w.when(), Shift: bench.Shift{ID: newID(), Started: w.now, Place: "Skerry of Ness", Bander: "A. Holm", Permit: "P-1"}})
	w.gull("1236-56706")
	w.do(bench.Look{When: w.when(), Findings: []string{"gap"}})
	w.supervisedClosing(t, "1236-56707")
}
