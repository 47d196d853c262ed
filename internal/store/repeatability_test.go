package store

import (
	"encoding/csv"
	"math"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/bench"
	"seamfit/internal/fit"
	"seamfit/internal/length"
)

// read takes readings of one leg, as a caliper of that name sends them.
func (w *worked) read(caliper string, values ...length.Length) {
	w.do(bench.OpenBird{When: w.when(), ID: newID(), Bird: bench.Bird{Species: "Larus argentatus"}})
	for _, v := range values {
		w.do(bench.TakeReading{
			When: w.when(), Means: bench.MeansCaliper, Raw: []byte("raw"), Value: v, Unit: length.MM, Resolution: 10_000, Device: caliper,
		})
	}
}

// Source: AIAG, Measurement Systems Analysis, 4th edition, the study of 10
// parts by 3 appraisers in 3 trials: repeatability SS 2.7589 with 60 degrees
// of freedom. Each cell is one leg here, moved to 20 mm.
func TestRepeatabilityIsPooledOverTheLegs(t *testing.T) {
	file, err := os.Open("../../testdata/reference/aiag_msa4_grr.csv")
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, file.Close()) })
	rows, err := csv.NewReader(file).ReadAll()
	require.NoError(t, err)
	w := newWorked(t)
	var cell []length.Length
	for _, row := range rows[1:] {
		v, _, err := length.Parse(row[3], length.MM)
		require.NoError(t, err)
		cell = append(cell, v+20*length.Millimetre)
		if len(cell) == 3 {
			w.read("caliper", cell...)
			cell = nil
		}
	}
	w.read("another caliper", 20*length.Millimetre, 30*length.Millimetre)
	pooled, err := w.store.Repeatability(t.Context(), "caliper")
	require.NoError(t, err)
	assert.Equal(t, [2]fit.Pooled{}, [2]fit.Pooled(pooled[:2]), "no leg under 10 mm was read")
	assert.InDelta(t, 60, pooled[2].DOF, 0)
	assert.InDelta(t, math.Sqrt(2.7589/60), pooled[2].SD, 1e-5)
}

func TestOnlyAStatedCauseTakesAReadingOutOfTheRepeatability(t *testing.T) {
	const mm = length.Millimetre
	for reason, want := range map[string]fit.Pooled{
		"feather between the jaws": {SD: 0.01 * math.Sqrt2 / 2, DOF: 1}, // 4.00, 4.01
		bench.NoCause:              {SD: math.Sqrt(0.0542 / 2), DOF: 2}, // 4.00, 4.01, 4.29
	} {
		w := newWorked(t)
		w.read("caliper", 4*mm, 4*mm+10_000, 4*mm+290_000)
		w.do(bench.SetAside{When: w.when(), Reading: 3, Reason: reason})
		w.read("caliper", 7*mm) // one reading tells nothing
		pooled, err := w.store.Repeatability(t.Context(), "caliper")
		require.NoError(t, err)
		assert.InDelta(t, want.DOF, pooled[0].DOF, 0, reason)
		assert.InDelta(t, want.SD, pooled[0].SD, 1e-9, reason)
		assert.Zero(t, pooled[1].DOF, reason)
	}
}
