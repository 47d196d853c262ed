package store

import (
	"context"
	flags "flag"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/bands"
	"seamfit/internal/bench"
	"seamfit/internal/seam"
)

// anotherBench is a bench with a file of its own; from is the file that it
// began as a copy of, or empty.
func anotherBench(t require.TestingT, folder, name, from string) *worked {
	path := filepath.Join(folder, name+".db")
	if from != "" {
		data, err := os.ReadFile(from)
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(path, data, 0o600))
	}
	s, err := Open(context.Background(), path, Options{Closures: benchSetup(t).Book.Closures})
	require.NoError(t, err)
	return begun(t, s)
}

func (w *worked) merge(other string) Joined {
	joined, err := w.store.Merge(context.Background(), other, Joining{ID: newID(), At: w.now, By: "A. Holm"})
	require.NoError(w.t, err)
	return joined
}

func (w *worked) conflicts() []Conflict {
	conflicts, err := w.store.Conflicts(context.Background())
	require.NoError(w.t, err)
	return conflicts
}

// keepsAside merges another bench's receipt of a number that is here, and
// settles it.
func (w *worked) keepsAside(t *testing.T, number string) {
	t.Helper()
	other := anotherBench(t, t.TempDir(), "other", "")
	other.receive(number, 1)
	require.NoError(t, other.store.Close())
	w.merge(other.store.path)
	i := slices.IndexFunc(w.conflicts(), func(c Conflict) bool { return c.Kind == "string" })
	require.GreaterOrEqual(t, i, 0)
	w.decide(MergeSettlement{Key: w.conflicts()[i].Key, Reason: "entered twice"})
}

func (w *worked) decide(m MergeSettlement) (left []string) {
	m.ID, m.At, m.By = newID(), w.now, "A. Holm"
	left, err := w.store.SettleMerge(context.Background(), m)
	require.NoError(w.t, err)
	return left
}

// fewer lowers the number of random cases of a test in which each takes
// seconds, unless another number was asked for.
func fewer(t *testing.T, cases string) {
	t.Helper()
	checks := flags.Lookup("rapid.checks")
	if was := checks.Value.String(); was == checks.DefValue {
		require.NoError(t, checks.Value.Set(cases))
		t.Cleanup(func() { assert.NoError(t, checks.Value.Set(was)) })
	}
}

func TestTwoBenchesAreJoined(t *testing.T) {
	folder := t.TempDir()
	a, b := anotherBench(t, folder, "a", ""), anotherBench(t, folder, "b", "")
	defer func() { require.NoError(t, a.store.Close()) }()
	defer func() { require.NoError(t, b.store.Close()) }()
	first := a.bandedAndComplete("1236-56701")
	second := b.bandedAndComplete("1236-56702")
	require.NoError(t, b.store.SaveCalibration(t.Context(), someCalibration(t, b.now)))
	b.receive("1236-60001", 10)
	b.stock(bands.EventOpened, "A. Holm", "1236-60001")
	open := b.gull("1236-60001")

	joined := a.merge(b.store.path)
	assert.Equal(t, 1, joined.Added["calibration"])
	assert.Equal(t, 1, joined.Added["string"], "with its event")
	assert.Empty(t, joined.Kept)
	assert.True(t, a.load(first).Done())
	assert.True(t, a.load(second).Done())
	assert.Equal(t, asText(t, b.load(open)), asText(t, a.load(open)))
	assert.Empty(t, a.conflicts())
	requireWhole(t, a.store)

	assert.Empty(t, a.merge(b.store.path).Added, "a second merge does nothing")
	b.do(bench.Look{When: b.when()})
	joined = a.merge(b.store.path)
	assert.Equal(t, map[string]int{"handling": 1}, joined.Added, "what the other told since is taken in")
	assert.Empty(t, a.merge(b.store.path).Added)
	assert.Len(t, a.load(open).Closings, 1)
	requireWhole(t, a.store)
}

// Calipers of two benches may have one name, as those have that nobody named: a
// bench's widths are corrected, and their scatter judged, by its own alone.
func TestABenchGoesOnWithItsOwnCaliper(t *testing.T) {
	folder := t.TempDir()
	a, b := anotherBench(t, folder, "a", ""), anotherBench(t, folder, "b", "")
	defer func() { require.NoError(t, a.store.Close()) }()
	defer func() { require.NoError(t, b.store.Close()) }()
	own, theirs := someCalibration(t, a.now), someCalibration(t, a.now.Add(time.Hour))
	require.NoError(t, a.store.SaveCalibration(t.Context(), own))
	require.NoError(t, b.store.SaveCalibration(t.Context(), theirs))
	check := someCheck(b.now)
	check.ID, check.Caliper = newID(), own.Caliper
	require.NoError(t, b.store.SaveCheck(t.Context(), check))
	bird := b.gull("1236-56701")
	device := b.load(bird).Readings[0].Device
	before, err := a.store.Repeatability(t.Context(), device)
	require.NoError(t, err)

	joined := a.merge(b.store.path)
	require.Equal(t, 1, joined.Added["calibration"])
	require.Equal(t, 1, joined.Added["check"])
	last, err := a.store.LastCalibration(t.Context(), own.Caliper, a.now.Add(48*time.Hour))
	require.NoError(t, err)
	assert.Equal(t, own.ID, last.ID)
	checks, err := a.store.Checks(t.Context(), own.Caliper, "", 9)
	require.NoError(t, err)
	assert.Empty(t, checks)
	after, err := a.store.Repeatability(t.Context(), device)
	require.NoError(t, err)
	assert.Equal(t, before, after)
	ids, err := a.store.MeasuredBy(t.Context(), device, a.now.Add(-48*time.Hour), a.now.Add(48*time.Hour))
	require.NoError(t, err)
	assert.Empty(t, ids)
	requireWhole(t, a.store)

	b.merge(a.store.path)
	last, err = b.store.LastCalibration(t.Context(), own.Caliper, b.now.Add(48*time.Hour))
	require.NoError(t, err)
	assert.Equal(t, theirs.ID, last.ID, "though it came back with the other's file")
}

func TestABenchGoesOnWithItsOwnShiftAndBirds(t *testing.T) {
	folder := t.TempDir()
	a, b := anotherBench(t, folder, "a", ""), anotherBench(t, folder, "b", "")
	defer func() { require.NoError(t, a.store.Close()) }()
	defer func() { require.NoError(t, b.store.Close()) }()
	own := a.unnumbered()
	other := b.unnumbered()
	a.merge(b.store.path)
	state, err := a.store.Resume(t.Context(), a.state.Setup)
	require.NoError(t, err)
	assert.Equal(t, a.state.Shift.ID, state.Shift.ID, "not the other's, though it began later")
	assert.Equal(t, own, state.Active)
	_, open := state.Handling(other)
	assert.True(t, open, "an open matter all the same")
	b.merge(a.store.path)
	state, err = b.store.Resume(t.Context(), b.state.Setup)
	require.NoError(t, err)
	assert.Equal(t, b.state.Shift.ID, state.Shift.ID)
	assert.Equal(t, other, state.Active)
}

func TestOneNumberOnBirdsOfTwoBenchesIsDisputed(t *testing.T) {
	folder := t.TempDir()
	a, b := anotherBench(t, folder, "a", ""), anotherBench(t, folder, "b", "")
	defer func() { require.NoError(t, a.store.Close()) }()
	defer func() { require.NoError(t, b.store.Close()) }()
	first, second := a.bandedAndComplete("1236-56701"), b.bandedAndComplete("1236-56701")
	a.merge(b.store.path)
	b.merge(a.store.path)
	for _, w := range []*worked{a, b} {
		for _, id := range []string{first, second} {
			assert.True(t, w.load(id).Disputed())
			assert.False(t, w.load(id).Done())
		}
		require.Len(t, w.conflicts(), 1)
		c := w.conflicts()[0]
		assert.Equal(t, "number", c.Kind)
		assert.ElementsMatch(t, []string{first, second}, c.Records)
		requireWhole(t, w.store)
	}
	a.do(a.settle(map[string]string{second: "1236-56702"}))
	assert.Empty(t, a.conflicts())
	assert.True(t, a.load(first).Done())
	b.merge(a.store.path)
	assert.Empty(t, b.conflicts(), "the settlement is taken in too")
	assert.True(t, b.load(second).Done())
	requireWhole(t, b.store)
}

func TestAHandlingContinuedDifferentlyIsKeptUntilItIsSettled(t *testing.T) {
	folder := t.TempDir()
	a := anotherBench(t, folder, "a", "")
	id := a.bandedAndComplete("1236-56701")
	open := a.gull("1236-56702")
	_, err := shell(t, a.store).ExecContext(t.Context(), "PRAGMA wal_checkpoint(TRUNCATE)")
	require.NoError(t, err)
	b := anotherBench(t, folder, "b", a.store.path)
	defer func() { require.NoError(t, a.store.Close()) }()
	defer func() { require.NoError(t, b.store.Close()) }()
	b.state, err = b.store.Resume(t.Context(), b.state.Setup)
	require.NoError(t, err)
	for w, why := range map[*worked]string{a: "an old label", b: "a swollen leg"} {
		when := w.when()
		when.Handling = open
		w.do(bench.Look{When: when, Findings: []string{"gap"}})
		when = w.when()
		when.Handling = open
		w.do(bench.TellIncident{When: when, Kind: why})
	}
	joined := a.merge(b.store.path)
	assert.Equal(t, map[string]int{"handling": 1}, joined.Kept)
	assert.Empty(t, a.merge(b.store.path).Kept)
	assert.True(t, a.load(open).Disputed())
	assert.False(t, a.load(id).Disputed())
	require.Len(t, a.conflicts(), 1)
	c := a.conflicts()[0]
	assert.Equal(t, []string{"handling", open, open}, append([]string{c.Kind, c.Key}, c.Records...))
	require.Len(t, c.Kept, 2)
	assert.Equal(t, "told differently here", c.Kept[0].Why)
	assert.Equal(t, "a swollen leg", c.Kept[1].Rows[1].Values["kind"])
	requireWhole(t, a.store)
	b.merge(a.store.path)
	require.Len(t, b.conflicts(), 1, "both list it")
	assert.Equal(t, "an old label", b.conflicts()[0].Kept[1].Rows[1].Values["kind"])

	a.decide(MergeSettlement{Key: open, Reason: "the other laptop's clerk was mistaken"})
	assert.Empty(t, a.conflicts())
	assert.False(t, a.load(open).Disputed())
	_, err = a.store.SettleMerge(t.Context(), MergeSettlement{ID: newID(), Key: open, At: a.now, By: "A. Holm", Reason: "again"})
	require.ErrorContains(t, err, "merge --conflicts")
	requireWhole(t, a.store)
}

func TestAStringReceivedTwiceIsKeptAside(t *testing.T) {
	folder := t.TempDir()
	a, b := anotherBench(t, folder, "a", ""), anotherBench(t, folder, "b", "")
	defer func() { require.NoError(t, a.store.Close()) }()
	defer func() { require.NoError(t, b.store.Close()) }()
	a.receive("1236-56701", 10)
	b.receive("1236-56706", 10)
	b.stock(bands.EventRejected, "", "1236-56706")
	practised := somePractice(a.now)
	practised.Band, practised.Number = "numbered", "1236-77701"
	require.NoError(t, a.store.SavePractice(t.Context(), []seam.PracticeClosing{practised}))
	practised.ID = newID()
	require.NoError(t, b.store.SavePractice(t.Context(), []seam.PracticeClosing{practised}))
	bird := a.unnumbered()
	_, err := a.store.SaveSubmission(t.Context(), someSubmission(a.now, bird))
	require.NoError(t, err)
	_, err = b.store.SaveSubmission(t.Context(), someSubmission(b.now, b.unnumbered()))
	require.NoError(t, err)

	joined := a.merge(b.store.path)
	assert.Equal(t, map[string]int{"string": 1, "submission": 1}, joined.Kept)
	var listed []string
	for _, c := range a.conflicts() {
		listed = append(listed, c.Kind)
		a.decide(MergeSettlement{Key: c.Key, Reason: "one packet, entered twice"})
	}
	assert.Equal(t, []string{"string", "submission", "practice"}, listed)
	assert.Empty(t, a.conflicts())
	assert.Empty(t, a.standing("1236-56711").State, "what is kept aside is not in the stock")
	requireWhole(t, a.store)
}

func TestWhatAnotherBenchToldOfTheStockIsToldAgain(t *testing.T) {
	folder := t.TempDir()
	a := anotherBench(t, folder, "a", "")
	a.receive("1236-56701", 10)
	_, err := shell(t, a.store).ExecContext(t.Context(), "PRAGMA wal_checkpoint(TRUNCATE)")
	require.NoError(t, err)
	b := anotherBench(t, folder, "b", a.store.path)
	defer func() { require.NoError(t, a.store.Close()) }()
	defer func() { require.NoError(t, b.store.Close()) }()
	a.stock(bands.EventOpened, "A. Holm", "1236-56701", "1236-56702")
	b.stock(bands.EventOpened, "K. Voe", "1236-56703", "1236-56704", "1236-56705")
	b.stock(bands.EventLost, "", "1236-56704")
	b.stock(bands.EventCounted, "", "1236-56701")
	b.unnumbered()
	b.do(bench.GiveNumber{When: b.when(), Number: "1236-56703", Reason: "K. Voe hands it over"})
	b.do(bench.Look{When: b.when()})
	a.merge(b.store.path)
	assert.Equal(t, bands.InStock, a.standing("1236-56705").State)

	require.Len(t, a.conflicts(), 1)
	left := a.decide(MergeSettlement{Key: a.conflicts()[0].Key, Reason: "both opened some", Retell: true})
	assert.Equal(t, []string{"1236-56703"}, left, "it is on its bird")
	assert.Equal(t, bands.Opened, a.standing("1236-56705").State)
	assert.Equal(t, "K. Voe", a.standing("1236-56705").Holder)
	assert.Equal(t, bands.Lost, a.standing("1236-56704").State)
	assert.Equal(t, bands.Opened, a.standing("1236-56701").State)
	account, err := a.store.Reconcile(t.Context())
	require.NoError(t, err)
	assert.True(t, account.Balanced)
	assert.Empty(t, account.Changed, "a count of the other bench is none here")
	assert.Empty(t, a.conflicts())
	requireWhole(t, a.store)
}

func TestTrainingAndWhatIsNotWholeAreNotMerged(t *testing.T) {
	w := newWorked(t)
	training := filepath.Join(t.TempDir(), "training.db")
	s, err := Open(t.Context(), training, Options{Training: true})
	require.NoError(t, err)
	require.NoError(t, s.Close())
	j := Joining{ID: newID(), At: w.now, By: "A. Holm"}
	_, err = w.store.Merge(t.Context(), training, j)
	require.ErrorIs(t, err, ErrTraining)
	_, err = w.store.Merge(t.Context(), w.store.path, j)
	require.ErrorContains(t, err, "the same file")
	_, err = w.store.Merge(t.Context(), filepath.Join(t.TempDir(), "none.db"), j)
	require.ErrorIs(t, err, os.ErrNotExist)

	other, id := fullStory(t)
	db := shell(t, other.store)
	var guard string
	require.NoError(t, db.QueryRowContext(t.Context(), "SELECT sql FROM sqlite_schema WHERE name = 'fact_reading_no_update'").Scan(&guard))
	for _, text := range []string{"DROP TRIGGER fact_reading_no_update", "UPDATE fact_reading SET value_nm = value_nm + 1 WHERE handling = '" + id + "'", guard} {
		_, err := db.ExecContext(t.Context(), text)
		require.NoError(t, err)
	}
	_, err = w.store.Merge(t.Context(), other.store.path, j)
	require.ErrorIs(t, err, ErrDamaged)
	require.ErrorContains(t, err, "a fact was changed after it was stored")
}

func TestAFileOfTheFirstSchemaIsMergedAndLeftAsItIs(t *testing.T) {
	w := newWorked(t)
	old := keptCopy(t, 1)
	before, err := os.ReadFile(old)
	require.NoError(t, err)
	joined := w.merge(old)
	assert.NotZero(t, joined.Added["handling"])
	assert.Empty(t, joined.Kept)
	after, err := os.ReadFile(old)
	require.NoError(t, err)
	assert.Equal(t, before, after)
	assert.Equal(t, []string{"bench.db"}, names(t, filepath.Dir(old)))
	requireWhole(t, w.store)
}
