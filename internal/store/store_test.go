package store

import (
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/bands"
	"seamfit/internal/bench"
	"seamfit/internal/catalogue"
	"seamfit/internal/fit"
	"seamfit/internal/length"
)

func benchSetup(t require.TestingT) *bench.Setup {
	book, err := catalogue.Embedded()
	require.NoError(t, err)
	patterns, err := bands.Embedded()
	require.NoError(t, err)
	pattern, ok := patterns.Named("federal")
	require.True(t, ok)
	return &bench.Setup{
		Book: book, Catalogue: "us-federal", Model: fit.DefaultModel(), Pattern: pattern,
		Readings: 3, AbsurdOver: 60 * length.Millimetre,
		Further: []bench.FurtherMeasure{{Name: "wing", Unit: "mm", Method: "flattened, straightened", AtMost: 900}},
	}
}

// worked is a bench whose commands are applied and saved one by one, as the
// station does.
type worked struct {
	t     require.TestingT
	store *Store
	state bench.State
	now   time.Time

	series string // of the numbers that anyCommand draws
}

func openStore(t *testing.T, path string) *Store {
	t.Helper()
	s, err := Open(t.Context(), path, Options{Closures: benchSetup(t).Book.Closures})
	require.NoError(t, err)
	t.Cleanup(func() {
		requireSound(t, s)
		assert.NoError(t, s.Close())
	})
	return s
}

// requireSound runs SQLite's own checks.
func requireSound(t *testing.T, s *Store) {
	t.Helper()
	var ok string
	require.NoError(t, s.db.QueryRowContext(context.Background(), "PRAGMA integrity_check").Scan(&ok))
	assert.Equal(t, "ok", ok)
	rows, err := s.db.QueryContext(context.Background(), "PRAGMA foreign_key_check")
	require.NoError(t, err)
	assert.False(t, rows.Next(), "a foreign key points nowhere")
	require.NoError(t, rows.Err())
	require.NoError(t, rows.Close())
}

func newWorked(t *testing.T) *worked {
	return begun(t, openStore(t, filepath.Join(t.TempDir(), "bench.db")))
}

func begun(t require.TestingT, s *Store) *worked {
	w := &worked{t: t, store: s, state: bench.State{Setup: benchSetup(t)}, now: time.Date(2026, 5, 17, 6, 30, 0, 0, time.FixedZone("", 2*3600))}
	w.do(bench.OpenShift{When: w.when(), Shift: bench.Shift{ID: newID(), Started: w.now, Place: "Skerry of Ness", Bander: "A. Holm", Permit: "P-1"}})
	return w
}

func newID() string { return uuid.Must(uuid.NewV7()).String() }

func (w *worked) when() bench.When {
	w.now = w.now.Add(1500 * time.Millisecond)
	return bench.When{At: w.now}
}

// try applies and saves a command; it reports whether the bench took it.
func (w *worked) try(c bench.Command) bool {
	if number, ok := bench.NumberOf(w.state, c); ok {
		st, err := w.store.Standing(context.Background(), number)
		require.NoError(w.t, err)
		c = bench.WithStanding(c, st)
	}
	next, facts, blockers := bench.Apply(w.state, c)
	if len(blockers) > 0 {
		return false
	}
	require.NoError(w.t, w.store.Save(context.Background(), facts), "what the bench takes, the records take: %T %+v", c, facts)
	w.state = next
	return true
}

func (w *worked) do(c bench.Command) { require.True(w.t, w.try(c), "%T %+v", c, c) }

func (w *worked) gull(number string) string {
	id := newID()
	w.do(bench.OpenBird{When: w.when(), ID: id, Bird: bench.Bird{Species: "Larus argentatus", Age: "adult", Sex: "female", Leg: bench.LegRight}})
	for _, text := range []string{"8.42", "8,45", "0.3307 in"} {
		c, err := bench.TypedReading(w.when(), text, length.MM)
		require.NoError(w.t, err)
		w.do(c)
	}
	w.do(bench.ChooseSize{When: w.when(), Size: "6", Metal: "stainless steel"})
	w.do(bench.GiveNumber{When: w.when(), Number: number})
	return id
}

func (w *worked) bandedAndComplete(number string) string {
	id := w.gull(number)
	w.do(bench.Look{When: w.when()})
	w.do(bench.Confirm{When: w.when(), All: true, ReadBack: number})
	w.do(bench.TellFate{When: w.when(), Fate: bench.FateBanded})
	w.do(bench.Complete{When: w.when()})
	return id
}

// asText writes a handling out, the targets of its pointers too; times as a
// person reads them, whatever zone value stands behind.
func asText(t *testing.T, h bench.Handling) string {
	t.Helper()
	text, err := json.MarshalIndent(h, "", " ")
	require.NoError(t, err)
	return string(text)
}

func TestWhatIsSavedIsLoaded(t *testing.T) {
	w := newWorked(t)
	id := w.gull("1236-56701")
	w.do(bench.TakeReading{
		When: w.when(), Axis: bench.AxisCross, Means: bench.MeansCaliper, Raw: []byte{0x1b, '[', 0, 0xff}, Value: 7_910_000,
		Unit: length.MM, UnitAssumed: true, Resolution: 10_000, Device: "caliper", Channel: "2",
	})
	w.do(bench.SetAside{When: w.when(), Reading: 2, Reason: "caught a feather"})
	w.do(bench.Look{When: w.when(), Findings: []string{"overlap", "gap"}})
	w.do(bench.Remove{When: w.when(), Reason: "overlap that can't be opened"})
	w.do(bench.TellFound{When: w.when(), Number: "0679-0130?", Scheme: "elsewhere", Condition: "worn", Then: bench.ThenLeft})
	w.do(bench.GiveNumber{When: w.when(), Number: "1236-56702", Reason: "on the other side of the joint"})
	w.do(bench.Look{When: w.when()})
	w.do(bench.TellShift{When: w.when(), Detail: bench.Person{Name: "L. Bye", Role: bench.RoleTrainee}})
	trainee := w.when()
	trainee.By = "L. Bye"
	w.do(bench.Confirm{When: trainee, All: true, ReadBack: "702"})
	w.do(bench.Supervise{When: w.when(), Findings: []string{"gap"}})
	w.do(bench.Look{When: w.when()})
	w.do(bench.Confirm{When: trainee, All: true, ReadBack: "702"})
	w.do(bench.Supervise{When: w.when()})
	w.do(bench.TakeReading{
		When: w.when(), Axis: bench.AxisLowerStop, Means: bench.MeansTyped, Raw: []byte("12.1"), Value: 12_100_000, Unit: length.MM, Resolution: 100_000,
	})
	w.do(bench.TakeMeasure{When: w.when(), Name: "wing", Means: bench.MeansTyped, Raw: []byte("412"), Value: "412"})
	w.do(bench.TakeMeasure{When: w.when(), Name: "wing", Means: bench.MeansTyped, Raw: []byte("421"), Value: "421", Why: "digits swapped"})
	w.do(bench.TellCircumstances{When: w.when(), Nest: "N12", Brood: "2 of 3", Captured: w.now.Add(-5 * time.Minute)})
	w.do(bench.TellIncident{When: w.when(), Kind: "stress", Note: "panted; ‘settled’ in the bag"})
	late := w.when()
	late.Entered, late.Typed, late.By = late.At.Add(26*time.Hour), "K. Voe", "A. Holm"
	w.do(bench.TellFate{When: late, Fate: bench.FateBanded})

	want, ok := w.state.Handling(id)
	require.True(t, ok)
	got, err := w.store.Load(t.Context(), id)
	require.NoError(t, err)
	assert.Equal(t, asText(t, want), asText(t, got))
	assert.Equal(t, want.Estimate.Leg, got.Estimate.Leg, "an estimate keeps its whole budget")

	facts, err := w.store.Facts(t.Context(), id)
	require.NoError(t, err)
	last := facts[len(facts)-1].Key()
	assert.Equal(t, "K. Voe", last.Typed)
	assert.Equal(t, "A. Holm", last.By)
	assert.Equal(t, 26*time.Hour, last.Entered.Sub(last.At))
	_, seconds := last.At.Zone()
	assert.Equal(t, 2*3600, seconds, "the local offset is kept beside")
}

func TestAReopenedBenchStandsWhereItStood(t *testing.T) {
	path := filepath.Join(t.TempDir(), "bench.db")
	first, err := Open(t.Context(), path, Options{Closures: benchSetup(t).Book.Closures})
	require.NoError(t, err)
	w := begun(t, first)
	done := w.bandedAndComplete("1236-56701")
	open := w.gull("1236-56702")
	w.do(bench.Look{When: w.when(), Findings: []string{"gap"}})
	require.NoError(t, first.Close())

	again := openStore(t, path)
	state, err := again.Resume(t.Context(), benchSetup(t))
	require.NoError(t, err)
	require.Len(t, state.Handlings, 1)
	assert.Equal(t, open, state.Active)
	assert.Equal(t, "Skerry of Ness", state.Shift.Place)
	before, _ := w.state.Handling(open)
	assert.Equal(t, asText(t, before), asText(t, state.Handlings[0]))
	h, err := again.Load(t.Context(), done)
	require.NoError(t, err)
	assert.True(t, h.Done())
}

// Why a band came off stays its reason, in the records and in the tables, when
// what stood against its number is settled later.
func TestASettlementLeavesWhyABandCameOff(t *testing.T) {
	w := newWorked(t)
	other := w.gull("1236-56701")
	w.do(bench.Look{When: w.when()})
	id := w.unnumbered()
	w.do(bench.GiveNumber{When: w.when(), Number: "1236-56701", Reason: "it is in the hand"})
	w.do(bench.Look{When: w.when(), Findings: []string{"gap"}})
	w.do(bench.Remove{When: w.when(), Reason: "would not close"})
	require.True(t, w.load(id).Disputed())
	w.do(w.settle(map[string]string{id: "1236-56702", other: "1236-56701"}))
	h := w.load(id)
	assert.False(t, h.Disputed())
	assert.Equal(t, "would not close", h.Bands[len(h.Bands)-1].Reason)
	reason, err := w.store.text(t.Context(), "SELECT reason FROM bands WHERE number = '1236-56702'")
	require.NoError(t, err)
	assert.Equal(t, "would not close", reason)
}

// After a restart the bird is active of which something was told last, not the one
// that was begun last.
func TestTheBirdThatWasWorkedOnIsActiveAgain(t *testing.T) {
	w := newWorked(t)
	first := w.gull("1236-56701")
	w.gull("1236-56702")
	w.state.Active = first
	w.do(bench.Look{When: w.when(), Findings: []string{"gap"}})
	again, err := w.store.Resume(t.Context(), benchSetup(t))
	require.NoError(t, err)
	assert.Equal(t, first, again.Active)
}

// A bird has the same number before a restart and after it, whichever of its
// shift are complete.
func TestAnOpenBirdKeepsItsNumber(t *testing.T) {
	w := newWorked(t)
	first := w.gull("1236-56701")
	w.bandedAndComplete("1236-56702")
	third := w.gull("1236-56703")
	w.bandedAndComplete("1236-56704")
	birds, open, err := w.store.Numbering(t.Context(), w.state.Shift.ID)
	require.NoError(t, err)
	assert.Equal(t, 4, birds)
	assert.Equal(t, map[string]int{first: 1, third: 3}, open)
	birds, open, err = w.store.Numbering(t.Context(), "")
	require.NoError(t, err)
	assert.Zero(t, birds)
	assert.Len(t, open, 2, "those of other shifts keep theirs")
}

func TestASecondSaveOfTheSameFactsIsNoSecondFact(t *testing.T) {
	w := newWorked(t)
	id := w.gull("1236-56701")
	facts, err := w.store.Facts(t.Context(), id)
	require.NoError(t, err)
	require.NoError(t, w.store.Save(t.Context(), facts[len(facts)-1:]), "a call with an unclear end is repeated")
	again, err := w.store.Facts(t.Context(), id)
	require.NoError(t, err)
	assert.Equal(t, facts, again)

	changed, ok := facts[len(facts)-1].(bench.BandTold)
	require.True(t, ok)
	changed.Number = "1236-56799"
	require.ErrorIs(t, w.store.Save(t.Context(), []bench.Fact{changed}), bench.ErrRefused)
}

// A shift and what is told of it may be saved twice too: the call before ended
// unclear, but its commit had gone through.
func TestASecondSaveOfTheSameShiftIsNoSecondShift(t *testing.T) {
	w := newWorked(t)
	shift := *w.state.Shift
	shift.ID = newID()
	facts := []bench.Fact{
		bench.ShiftOpened{Shift: shift},
		bench.ShiftTold{Head: bench.Head{Seq: 1, At: w.now, By: "A. Holm"}, Shift: shift.ID, Detail: bench.Person{Name: "L. Bye", Role: bench.RoleTrainee}},
		bench.ShiftTold{Head: bench.Head{Seq: 2, At: w.now, By: "A. Holm"}, Shift: shift.ID, Detail: bench.Instrument{What: "balance", Name: "blue"}},
	}
	require.NoError(t, w.store.Save(t.Context(), facts))
	require.NoError(t, w.store.Save(t.Context(), facts))
	told, err := w.store.ShiftFacts(t.Context(), shift.ID)
	require.NoError(t, err)
	assert.Len(t, told, 2)
	facts[2] = bench.ShiftTold{Head: bench.Head{Seq: 2, At: w.now, By: "A. Holm"}, Shift: shift.ID, Detail: bench.Instrument{What: "balance", Name: "red"}}
	require.ErrorIs(t, w.store.Save(t.Context(), facts), bench.ErrRefused)
	requireWhole(t, w.store)
}

func TestStandingOfNumbers(t *testing.T) {
	w := newWorked(t)
	standing := func(number string) bench.Standing {
		st, err := w.store.Standing(t.Context(), number)
		require.NoError(t, err)
		return st
	}
	assert.Equal(t, bench.Standing{}, standing("1236-56701"))
	id := w.gull("1236-56701")
	assert.Equal(t, bench.Standing{State: bands.Opened, Handling: id}, standing("1236-56701"))
	w.do(bench.GiveNumber{When: w.when(), Number: "1236-56702"})
	assert.Equal(t, bench.Standing{}, standing("1236-56701"), "put back in its place")
	w.do(bench.Look{When: w.when(), Findings: []string{"overlap"}})
	assert.Equal(t, bands.OnBird, standing("1236-56702").State)
	w.do(bench.Remove{When: w.when(), Reason: "spoilt"})
	assert.Equal(t, bands.Destroyed, standing("1236-56702").State)
}

func TestADisputeShowsInBothRecords(t *testing.T) {
	w := newWorked(t)
	first := w.bandedAndComplete("1236-56701")
	second := w.gull("1236-56702")
	w.do(bench.Look{When: w.when()})
	require.False(t, w.try(bench.GiveNumber{When: w.when(), Number: "1236-56701"}))
	w.do(bench.GiveNumber{When: w.when(), Number: "1236-56701", Reason: "read off the leg"})
	for _, id := range []string{first, second} {
		h, err := w.store.Load(t.Context(), id)
		require.NoError(t, err)
		assert.True(t, h.Disputed())
		assert.False(t, h.Done(), "neither is complete")
	}
	w.do(bench.GiveNumber{When: w.when(), Number: "1236-56703", Reason: "read again under the lamp"})
	h, err := w.store.Load(t.Context(), first)
	require.NoError(t, err)
	assert.True(t, h.Done(), "the claim is gone")
}

func BenchmarkReadingToCommittedRow(b *testing.B) {
	s, err := Open(b.Context(), filepath.Join(b.TempDir(), "bench.db"), Options{Closures: benchSetup(b).Book.Closures})
	require.NoError(b, err)
	defer func() { require.NoError(b, s.Close()) }()
	w := begun(b, s)
	w.do(bench.OpenBird{When: w.when(), ID: newID(), Bird: bench.Bird{Species: "Larus argentatus", Leg: bench.LegRight}})
	seq := 1
	handling := w.state.Active
	for b.Loop() {
		seq++
		require.NoError(b, s.Save(b.Context(), []bench.Fact{bench.ReadingTaken{
			Head: bench.Head{Handling: handling, Seq: seq, At: w.now, Entered: w.now, By: "A. Holm", Typed: "A. Holm"},
			Axis: bench.AxisGreatest, Means: bench.MeansCaliper, Raw: []byte("+8.42"), Value: 8_420_000, Unit: length.MM, Resolution: 10_000,
		}}))
	}
}

func TestTheFileIsPrivateFromTheStart(t *testing.T) {
	const name = "a?b%20c#d'\"\n.db"
	path := filepath.Join(t.TempDir(), "new folder", name)
	openStore(t, path)
	info, err := os.Stat(path)
	require.NoError(t, err)
	assert.Equal(t, os.FileMode(0o600), info.Mode().Perm())
	entries, err := os.ReadDir(filepath.Dir(path))
	require.NoError(t, err)
	for _, e := range entries {
		assert.Contains(t, e.Name(), name, "no other file was made")
	}
}

func TestWhatIsToldOfAShiftIsLoaded(t *testing.T) {
	w := newWorked(t)
	watch := bench.WatchCheck{Watch: w.now.Add(3 * time.Second).Truncate(time.Second).UTC(), Clock: w.now.UTC()}
	for _, d := range []bench.ShiftDetail{
		bench.Person{Name: "L. Bye", Role: bench.RoleTrainee},
		bench.Person{Name: "K. Voe", Role: bench.RolePermitHolder},
		bench.Point{Latitude: "56,18", Longitude: "-3.5", AccuracyM: "5"},
		bench.Point{Latitude: "56.184", Longitude: "-3.5"},
		watch,
		bench.Instrument{What: "balance", Name: "blue", Note: "to 500 g"},
	} {
		w.do(bench.TellShift{When: w.when(), Detail: d})
	}
	got, err := w.store.LastShift(t.Context())
	require.NoError(t, err)
	want := *w.state.Shift
	assert.Equal(t, want.People, got.People)
	assert.Equal(t, &bench.Point{Latitude: "56.184", Longitude: "-3.5", Datum: "WGS 84"}, got.Point)
	assert.True(t, watch.Watch.Equal(got.Watch.Watch))
	assert.Equal(t, want.Instruments, got.Instruments)
	assert.Equal(t, 6, got.Told)
	facts, err := w.store.ShiftFacts(t.Context(), want.ID)
	require.NoError(t, err)
	assert.Len(t, facts, 6)
	requireWhole(t, w.store)
}

func TestANestsClockGoesOnAfterARestart(t *testing.T) {
	w := newWorked(t)
	w.gull("1236-56701")
	taken := w.now.Add(-20 * time.Minute).Truncate(time.Second)
	w.do(bench.TellCircumstances{When: w.when(), Nest: "Burrow 7", Captured: taken})
	w.do(bench.TellFate{When: w.when(), Fate: bench.FateEscaped})
	w.do(bench.Resolve{When: w.when(), Reason: "seen flying"})
	again, err := w.store.Resume(t.Context(), benchSetup(t))
	require.NoError(t, err)
	nest := bench.Handling{Whence: &bench.CircumstancesTold{Nest: "burrow 7"}}
	since, known := again.NestSince(nest)
	assert.True(t, known)
	assert.True(t, since.Equal(taken))
}

// A shift that another program has ended takes no further bird: it would be in no
// count and in no copy of that shift. Its open birds go on.
func TestAnEndedShiftTakesNoFurtherBird(t *testing.T) {
	w := newWorked(t)
	w.gull("1236-56701")
	w.do(bench.TellFate{When: w.when(), Fate: bench.FateBanded})
	first := w.state.Active
	require.NoError(t, w.store.CloseShift(t.Context(), w.state.Shift.ID, w.now, "A. Holm", ""))
	_, facts, blockers := bench.Apply(w.state, bench.OpenBird{When: w.when(), ID: newID(), Bird: bench.Bird{Species: "Larus argentatus"}})
	require.Empty(t, blockers)
	err := w.store.Save(t.Context(), facts)
	require.ErrorIs(t, err, bench.ErrRefused)
	require.ErrorContains(t, err, "this shift was ended meanwhile")
	w.state.Active = first
	w.do(bench.Look{When: w.when()})
}

// What a guard says reaches a person without what SQLite writes around it.
func TestARefusalIsSaidInWords(t *testing.T) {
	w := newWorked(t)
	id := w.gull("1236-56701")
	late := bench.LeftHand{Head: bench.Head{Handling: id, Seq: 2, At: w.now, Entered: w.now, By: "A. Holm", Typed: "A. Holm"}}
	err := w.store.Save(t.Context(), []bench.Fact{late})
	require.ErrorIs(t, err, bench.ErrRefused)
	assert.NotContains(t, err.Error(), "constraint failed")
	assert.NotContains(t, err.Error(), "seamfit: ")
}

// A reading that was the wrong one is set aside in a complete record too, with its
// reason; the estimate follows, and the choice of size stays as it was made.
func TestAReadingIsSetAsideInACompleteRecord(t *testing.T) {
	w := newWorked(t)
	id := w.bandedAndComplete("1236-56701")
	before := w.load(id)
	w.state.Active = id
	w.do(bench.SetAside{When: w.when(), Reading: 2, Reason: "the button was pressed by the way"})
	after := w.load(id)
	assert.True(t, after.Done())
	assert.Equal(t, "the button was pressed by the way", after.Readings[1].SetAside)
	assert.Len(t, after.Estimate.Readings, len(before.Estimate.Readings)-1)
	assert.Equal(t, before.Estimate.Seq, after.Estimate.Replaces)
	assert.Equal(t, before.Choice, after.Choice)
	requireWhole(t, w.store)
}

// That a bird left the hand is taken back by a fact of its own.
func TestABirdIsStillInTheHand(t *testing.T) {
	w := newWorked(t)
	id := w.gull("1236-56701")
	left := func() (at []any) {
		require.NoError(t, w.store.View(t.Context(), func(v *View) error {
			return v.Rows(t.Context(), "handlings", []string{"left_hand"}, func(r []any) error {
				at = append(at, r[0])
				return nil
			})
		}))
		return at
	}
	w.do(bench.LeaveHand{When: w.when()})
	assert.NotNil(t, left()[0])
	w.do(bench.StillInHand{When: w.when(), Why: "a key pressed by mistake"})
	assert.Nil(t, left()[0])
	assert.True(t, w.load(id).InHand())
	w.do(bench.LeaveHand{When: w.when()})
	assert.NotNil(t, left()[0])
	assert.False(t, w.load(id).InHand())
	requireWhole(t, w.store)
}
