package export_test

import (
	"context"
	"path/filepath"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/bands"
	"seamfit/internal/bench"
	"seamfit/internal/catalogue"
	"seamfit/internal/export"
	"seamfit/internal/fit"
	"seamfit/internal/length"
	"seamfit/internal/metrology"
	"seamfit/internal/seam"
	"seamfit/internal/store"
)

// worked is a bench with a real file, worked through the domain.
type worked struct {
	t     *testing.T
	store *store.Store
	state bench.State
	now   time.Time
}

func newWorked(t *testing.T, training bool) *worked {
	t.Helper()
	book, err := catalogue.Embedded()
	require.NoError(t, err)
	patterns, err := bands.Embedded()
	require.NoError(t, err)
	pattern, ok := patterns.Named("federal")
	require.True(t, ok)
	s, err := store.Open(t.Context(), filepath.Join(t.TempDir(), "bench.db"), store.Options{Closures: book.Closures, Training: training})
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, s.Close()) })
	w := &worked{t: t, store: s, now: time.Date(2026, 5, 17, 6, 30, 0, 0, time.FixedZone("", 2*3600)), state: bench.State{Setup: &bench.Setup{
		Book: book, Catalogue: "us-federal", Model: fit.DefaultModel(), Pattern: pattern, Readings: 3, AbsurdOver: 60 * length.Millimetre,
		Further: []bench.FurtherMeasure{{Name: "wing", Unit: "mm", Method: "flattened"}},
	}}}
	w.shift()
	return w
}

func newID() string { return uuid.Must(uuid.NewV7()).String() }

func (w *worked) when() bench.When {
	w.now = w.now.Add(1500 * time.Millisecond)
	return bench.When{At: w.now}
}

func (w *worked) do(c bench.Command) {
	w.t.Helper()
	if number, ok := bench.NumberOf(w.state, c); ok {
		st, err := w.store.Standing(w.t.Context(), number)
		require.NoError(w.t, err)
		c = bench.WithStanding(c, st)
	}
	next, facts, blockers := bench.Apply(w.state, c)
	require.Empty(w.t, blockers, "%T %+v", c, c)
	require.NoError(w.t, w.store.Save(w.t.Context(), facts))
	w.state = next
}

func (w *worked) shift() {
	w.do(bench.OpenShift{When: w.when(), Shift: bench.Shift{
		ID: newID(), Started: w.now, Place: "Skerry of Ness, \"north\"", Bander: "Å. Holm", Permit: "P-17", Training: w.store.Training(),
	}})
}

func (w *worked) bird(species string) string {
	id := newID()
	w.do(bench.OpenBird{When: w.when(), ID: id, Bird: bench.Bird{Species: species, Age: "adult", Sex: "female", Leg: bench.LegRight}})
	return id
}

// measured leaves a gull that awaits its closing.
func (w *worked) measured(number string) string {
	id := w.bird("Larus argentatus")
	for _, raw := range []string{"+8.42\r", "+8.45\r", "+8.40\r"} {
		value, step, err := length.Parse(raw[1:5], length.MM)
		require.NoError(w.t, err)
		w.do(bench.TakeReading{
			When: w.when(), Means: bench.MeansCaliper, Raw: []byte(raw), Value: value, Unit: length.MM,
			Resolution: step, Device: "caliper",
		})
	}
	w.do(bench.ChooseSize{When: w.when(), Size: "6", Metal: "stainless steel"})
	w.do(bench.GiveNumber{When: w.when(), Number: number})
	return id
}

func (w *worked) close() {
	w.do(bench.Look{When: w.when()})
	number := w.state.Handlings[len(w.state.Handlings)-1]
	band, ok := number.CurrentBand()
	require.True(w.t, ok)
	w.do(bench.Confirm{When: w.when(), All: true, ReadBack: band.Number[len(band.Number)-3:]})
	w.do(bench.TellFate{When: w.when(), Fate: bench.FateBanded})
	w.do(bench.Complete{When: w.when()})
}

func (w *worked) banded(number string) string {
	id := w.measured(number)
	w.close()
	return id
}

// story leaves something in every table: an easy bird, one whose first band was
// destroyed, one that escaped, one that is open, and hostile text.
func story(t *testing.T, training bool) *worked {
	w := newWorked(t, training)
	easy := w.banded("1236-56711")
	w.settled(easy, "1236-56701")
	w.measured("1236-56702")
	w.do(bench.Look{When: w.when(), Findings: []string{"overlap"}})
	w.do(bench.TellIncident{When: w.when(), Kind: "stress", Note: "=HYPERLINK(\"http://example.org\";\"x\")"})
	w.do(bench.Remove{When: w.when(), Reason: "-1+1, and it won't open"})
	w.do(bench.GiveNumber{When: w.when(), Number: "1236-56703"})
	w.do(bench.Look{When: w.when()})
	supervised := w.when()
	supervised.By = "M. Tolland"
	w.do(bench.Supervise{When: supervised})
	w.close()
	w.bird("Sterna hirundo")
	w.do(bench.TellFate{When: w.when(), Fate: bench.FateEscaped, Reason: "@ the gate"})
	w.do(bench.Resolve{When: w.when(), Reason: "never banded"})
	require.NoError(t, w.store.CloseShift(t.Context(), w.state.Shift.ID, w.now, "Å. Holm", "all told"))
	if !training {
		_, err := w.store.SaveSubmission(t.Context(), store.Submission{ID: newID(), Map: "other", Columns: []string{"n"}, At: w.now, By: "Å. Holm", Folder: "/cards/first", Birds: []store.SubmittedBird{
			{Handling: easy, Change: "new", Fields: []string{"1236-56701"}},
		}})
		require.NoError(t, err)
	}
	w.now = w.now.Add(24 * time.Hour)
	w.shift()
	for _, told := range []bench.ShiftDetail{
		bench.Point{Latitude: "-60.125", Longitude: "4.5", AccuracyM: "8", Datum: "WGS84"},
		bench.WatchCheck{Watch: w.now.Add(2 * time.Second), Clock: w.now},
		bench.Person{Name: "M. Tolland", Role: bench.RoleSupervisor},
		bench.Person{Name: "J. Arve", Role: bench.RoleTrainee},
		bench.Instrument{What: "balance", Name: "=balance 2"},
	} {
		w.do(bench.TellShift{When: w.when(), Detail: told})
	}
	w.measured("1236-56704")
	w.do(bench.TakeMeasure{When: w.when(), Name: "wing", Means: bench.MeansTyped, Raw: []byte("411"), Value: "411", Resolution: "1"})
	w.do(bench.TellCircumstances{When: w.when(), Nest: "box 4", Captured: w.now.Add(-10 * time.Minute), ReturnedTo: "=box 4"})
	w.do(bench.SetAside{When: w.when(), Reading: 2, Reason: "caught a feather"})
	ctx := t.Context()
	require.NoError(t, w.store.SaveRod(ctx, metrology.Rod{ID: newID(), Name: "rod 6", Diameter: 6 * length.Millimetre, Class: metrology.ClassZ, Entered: w.now, By: "Å. Holm"}))
	require.NoError(t, w.store.SaveCheck(ctx, metrology.Check{ID: newID(), Caliper: "caliper", At: w.now, By: "Å. Holm", Rod: "rod 6", N: 3, Mean: 6 * length.Millimetre, InLimits: true}))
	run, err := bands.RunOf(w.number("1236-60001"), 10)
	require.NoError(t, err)
	require.NoError(t, w.store.Receive(ctx, []store.BandString{{ID: newID(), Run: run, Size: "5", Metal: "incoloy", At: w.now, Entered: w.now, By: "Å. Holm"}}))
	w.received(run)
	require.NoError(t, w.store.Record(ctx, []store.StockEvent{{Kind: bands.EventLost, Numbers: []string{"1236-60003"}, At: w.now, Entered: w.now, By: "Å. Holm", Reason: "=fell into the sea"}}))
	require.NoError(t, w.store.SavePractice(ctx, []seam.PracticeClosing{{
		ID: newID(), At: w.now, By: "M. Tolland", Size: "6", Metal: "incoloy", Closure: "butt-end",
		Dowel: seam.Dowel{Shape: seam.Oval, Width: 7 * length.Millimetre}, Band: seam.Unnumbered, Took: 20 * time.Second,
	}}))
	require.NoError(t, w.store.SaveCalibration(ctx, metrology.Record{ID: newID(), Caliper: "caliper", At: w.now, By: "Å. Holm", Readings: []metrology.RecordedReading{}}))
	return w
}

// received takes in another bench's file, which has the first number of a run
// too, and settles it.
func (w *worked) received(run bands.Run) {
	w.t.Helper()
	ctx, path := w.t.Context(), filepath.Join(w.t.TempDir(), "other.db")
	other, err := store.Open(ctx, path, store.Options{Closures: w.state.Setup.Book.Closures, Training: w.store.Training()})
	require.NoError(w.t, err)
	first, err := bands.RunOf(run.First(), 1)
	require.NoError(w.t, err)
	require.NoError(w.t, other.Receive(ctx, []store.BandString{{ID: newID(), Run: first, Size: "5", Metal: "incoloy", At: w.now, Entered: w.now, By: "Å. Holm"}}))
	require.NoError(w.t, other.Close())
	_, err = w.store.Merge(ctx, path, store.Joining{ID: newID(), At: w.now, By: "Å. Holm"})
	require.NoError(w.t, err)
	conflicts, err := w.store.Conflicts(ctx)
	require.NoError(w.t, err)
	for _, c := range conflicts {
		if c.Kind == "string" {
			_, err := w.store.SettleMerge(ctx, store.MergeSettlement{ID: newID(), Key: c.Key, At: w.now, By: "Å. Holm", Reason: "=entered twice"})
			require.NoError(w.t, err)
		}
	}
}

func (w *worked) number(text string) bands.Number {
	n, err := w.state.Setup.Pattern.Parse(text)
	require.NoError(w.t, err)
	return n
}

// settled settles a record by another number.
func (w *worked) settled(id, number string) {
	h, err := w.store.Load(w.t.Context(), id)
	require.NoError(w.t, err)
	st, err := w.store.Standing(w.t.Context(), number)
	require.NoError(w.t, err)
	w.do(bench.Settle{When: w.when(), ID: newID(), Reason: "seen again", Records: []bench.Renumbering{{Handling: h, Number: number, Standing: st}}})
}

// export runs a form of export over the bench's records.
func (w *worked) export(only bench.Selection, form func(context.Context, export.Source, string) error, out string) error {
	return w.store.View(w.t.Context(), func(v *store.View) error {
		s := w.source(v.Only(only))
		s.Only = only
		return form(w.t.Context(), s, out)
	})
}

func (w *worked) source(r export.Records) export.Source {
	return export.Source{Records: r, Training: w.store.Training(), Made: w.now, Version: "1.2.3"}
}
