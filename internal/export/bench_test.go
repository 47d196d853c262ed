package export_test

import (
	"context"
	"database/sql"
	"path/filepath"
	"strings"
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
	easy := w.banded("1236-56701")
	w.settled(easy)
	w.measured("1236-56702")
	w.do(bench.Look{When: w.when(), Findings: []string{"overlap"}})
	w.do(bench.TellIncident{When: w.when(), Kind: "stress", Note: "=HYPERLINK(\"http://example.org\";\"x\")"})
	w.do(bench.Remove{When: w.when(), Reason: "-1+1, and it won't open"})
	w.do(bench.GiveNumber{When: w.when(), Number: "1236-56703"})
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
	w.measured("1236-56704")
	w.do(bench.SetAside{When: w.when(), Reading: 2, Reason: "caught a feather"})
	ctx := t.Context()
	require.NoError(t, w.store.SaveRod(ctx, metrology.Rod{ID: newID(), Name: "rod 6", Diameter: 6 * length.Millimetre, Class: metrology.ClassZ, Entered: w.now, By: "Å. Holm"}))
	require.NoError(t, w.store.SaveCheck(ctx, metrology.Check{ID: newID(), Caliper: "caliper", At: w.now, By: "Å. Holm", Rod: "rod 6", N: 3, Mean: 6 * length.Millimetre, InLimits: true}))
	run, err := bands.RunOf(w.number("1236-60001"), 10)
	require.NoError(t, err)
	require.NoError(t, w.store.Receive(ctx, []store.BandString{{ID: newID(), Run: run, Size: "5", Metal: "incoloy", At: w.now, Entered: w.now, By: "Å. Holm"}}))
	require.NoError(t, w.store.Record(ctx, []store.StockEvent{{Kind: bands.EventLost, Numbers: []string{"1236-60003"}, At: w.now, Entered: w.now, By: "Å. Holm", Reason: "=fell into the sea"}}))
	require.NoError(t, w.store.SavePractice(ctx, []seam.PracticeClosing{{
		ID: newID(), At: w.now, By: "M. Tolland", Size: "6", Metal: "incoloy", Closure: "butt-end",
		Dowel: seam.Dowel{Shape: seam.Oval, Width: 7 * length.Millimetre}, Band: seam.Unnumbered, Took: 20 * time.Second,
	}}))
	require.NoError(t, w.store.SaveCalibration(ctx, metrology.Record{ID: newID(), Caliper: "caliper", At: w.now, By: "Å. Holm", Readings: []metrology.RecordedReading{}}))
	return w
}

// shiftTold adds what is told of a shift, and of the bird that is open, as the
// tables hold it.
func (w *worked) shiftTold() {
	w.t.Helper()
	db, err := sql.Open("sqlite", w.store.Path())
	require.NoError(w.t, err)
	defer func() { require.NoError(w.t, db.Close()) }()
	h := w.state.Handlings[len(w.state.Handlings)-1]
	digest := strings.Repeat("0", 64)
	run := func(query string, args ...any) {
		w.t.Helper()
		_, err := db.ExecContext(w.t.Context(), query, args...)
		require.NoError(w.t, err, query)
	}
	for i, row := range [][2]string{
		{"place", `{"latitude":"-60.125","longitude":"4.5","accuracy_m":"8","datum":"WGS84"}`},
		{"person", `{"name":"M. Tolland","role":"supervisor"}`},
		{"watch", `{"watch":"06:30:00","clock":"06:30:02"}`},
		{"instrument", `{"kind":"balance","name":"=balance 2","note":""}`},
	} {
		run("INSERT INTO shift_fact VALUES (?, ?, ?, '2026-05-18T04:30:00.000Z', '+02:00', 'Å. Holm', ?, ?)", w.state.Shift.ID, i+1, row[0], row[1], digest)
	}
	fact := func(kind, detail string, args ...any) {
		w.t.Helper()
		h.Seq++
		run(`INSERT INTO fact VALUES (?, ?, ?, '2026-05-18T04:31:00.000Z', '+02:00', '2026-05-18T04:31:00.000Z', '+02:00', 'Å. Holm', 'Å. Holm', 0, '', ?)`, h.ID, h.Seq, kind, digest)
		run(detail, append([]any{h.ID, h.Seq}, args...)...)
	}
	fact("measure", "INSERT INTO fact_measure VALUES (?, ?, 'wing', 'typed', x'343131', '411', 'mm', '1', '', '')")
	fact("circumstances", "INSERT INTO fact_circumstances VALUES (?, ?, 'box 4', '', '2026-05-18T04:20:00.000Z', '+02:00', 'box 4')")
	fact("closing", "INSERT INTO fact_closing VALUES (?, ?, (SELECT max(band) FROM fact_band WHERE handling = ?), '[]')", h.ID)
	fact("supervised", "INSERT INTO fact_supervised VALUES (?, ?, ?, '[]')", h.Seq)
}

func (w *worked) number(text string) bands.Number {
	n, err := w.state.Setup.Pattern.Parse(text)
	require.NoError(w.t, err)
	return n
}

// settled settles a record by its own number: nothing changes but the facts.
func (w *worked) settled(id string) {
	h, err := w.store.Load(w.t.Context(), id)
	require.NoError(w.t, err)
	number, ok := h.NumberToSettle("")
	require.True(w.t, ok)
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
