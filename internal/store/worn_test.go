package store

import (
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/bands"
	"seamfit/internal/bench"
	"seamfit/internal/fit"
	"seamfit/internal/length"
	"seamfit/internal/seam"
)

// returned is a bird that comes back with a band, whose wall is measured.
func (w *worked) returned(number string, walls ...length.Length) {
	w.do(bench.OpenBird{When: w.when(), ID: newID(), Bird: bench.Bird{Species: "Larus argentatus", Leg: bench.LegRight}})
	w.do(bench.TellFound{When: w.when(), Number: number, Condition: "worn", Then: bench.ThenLeft})
	for _, wall := range walls {
		w.do(bench.TakeReading{When: w.when(), Axis: bench.AxisWall, Means: bench.MeansTyped, Raw: []byte("x"), Value: wall, Unit: length.MM, Resolution: 10_000})
	}
}

func TestWornBandsAndHowLongTheyWereWorn(t *testing.T) {
	w := newWorked(t)
	w.receive("1236-56701", 10)
	w.stock(bands.EventOpened, "A. Holm", "1236-56701", "1236-56702", "1236-56703")
	e := w.event(bands.EventMeasured, "", "1236-56710")
	e.Measures = seam.StringMeasures{Thickness: []length.Length{1_020_000, 1_030_000}}
	require.NoError(t, w.store.Record(t.Context(), []StockEvent{e}))
	w.bandedAndComplete("1236-56701")

	w.now = w.now.AddDate(2, 0, 0)
	w.returned("1236-56701", 1_000_000, 990_000, 400_000)
	w.do(bench.SetAside{When: w.when(), Reading: 3, Reason: "on the seam"})
	// One of the string that was put on before these records began.
	w.returned("1236-56705", 950_000)
	w.do(bench.TakeMeasure{When: w.when(), Name: bench.YearsWorn, Value: "6.5"})
	// One with an unread digit, and one that nobody knows.
	w.returned("1236-5670?", 950_000)
	w.returned("0679-01301", 950_000)

	got, err := w.store.WornBands(t.Context())
	require.NoError(t, err)
	require.Len(t, got, 3)
	own := got[0]
	assert.InDelta(t, 2, own.Years, 0.01)
	own.Years = 2
	fresh := []length.Length{1_020_000, 1_030_000}
	assert.Equal(t, fit.WornBand{
		Species: "Larus argentatus", Metal: "stainless steel", Size: "6", Years: 2, Wall: []length.Length{1_000_000, 990_000}, New: fresh,
	}, own)
	assert.Equal(t, fit.WornBand{
		Species: "Larus argentatus", Metal: "stainless steel", Size: "6", Years: 6.5, Wall: []length.Length{950_000}, New: fresh,
	}, got[1])
	assert.Equal(t, fit.WornBand{Species: "Larus argentatus", Wall: []length.Length{950_000}}, got[2], "nothing is known of it")

	// 1 − .995/1.025 = .0292683 in 2 years and 1 − .95/1.025 = .0731707 in 6.5:
	// .1024390/8.5 = .0120516 a year.
	sizes, _ := w.state.Setup.Book.Catalogue("us-federal")
	rates := fit.BenchWear(got, sizes, fit.DefaultModel())
	require.Len(t, rates, 1)
	assert.InDelta(t, 0.0120516, rates[0].PerYear, 2e-5)
	assert.Equal(t, "bench's own: 2 bands", rates[0].Source)
}

func TestABandPutOnLaterIsNotWornBefore(t *testing.T) {
	w := newWorked(t)
	w.returned("1236-56701", 950_000)
	w.now = w.now.Add(time.Hour)
	got, err := w.store.WornBands(t.Context())
	require.NoError(t, err)
	require.Len(t, got, 1)
	assert.Zero(t, got[0].Years)
}

// The start of a bench must not grow with its readings.
func BenchmarkWornBandsAmongManyReadings(b *testing.B) {
	s, err := Open(b.Context(), filepath.Join(b.TempDir(), "bench.db"), Options{Closures: benchSetup(b).Book.Closures})
	require.NoError(b, err)
	defer func() { require.NoError(b, s.Close()) }()
	w := begun(b, s)
	w.do(bench.OpenBird{When: w.when(), ID: newID(), Bird: bench.Bird{Species: "Larus argentatus", Leg: bench.LegRight}})
	var facts []bench.Fact
	h, _ := w.state.ActiveHandling()
	for i := range 100_000 {
		facts = append(facts, bench.ReadingTaken{
			Head: bench.Head{Handling: h.ID, Seq: h.Seq + 1 + i, At: w.now, Entered: w.now, By: "A. Holm", Typed: "A. Holm"},
			Axis: bench.AxisGreatest, Means: bench.MeansCaliper, Raw: []byte("+8.42"), Value: 8_420_000, Unit: length.MM, Resolution: 10_000,
		})
	}
	require.NoError(b, w.store.Save(b.Context(), facts))
	for b.Loop() {
		_, err := w.store.WornBands(b.Context())
		require.NoError(b, err)
	}
}
