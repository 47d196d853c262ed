package store

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/bench"
	"seamfit/internal/fit"
	"seamfit/internal/length"
)

// owl is a bird whose leg is measured over its feathers, three times.
func (w *worked) owl(widths ...length.Length) string {
	id := newID()
	w.do(bench.OpenBird{When: w.when(), ID: id, Bird: bench.Bird{Species: "Bubo virginianus", Age: "adult", Leg: bench.LegRight}})
	for _, v := range widths {
		w.do(bench.TakeReading{
			When: w.when(), Means: bench.MeansCaliper, Raw: []byte("raw"), Value: v, Unit: length.MM, Resolution: 10_000, Device: "caliper",
			Feathers: bench.FeathersOver,
		})
	}
	return id
}

func TestTheWaysOfMeasuringAreKept(t *testing.T) {
	const mm = length.Millimetre
	w := newWorked(t)
	w.state.Setup.Established = []string{"Sterna hirundo"}
	owl := w.owl(12*mm, 12*mm+20_000, 12*mm-10_000)
	w.do(bench.TellFound{When: w.when(), Number: "0679-01301", Leg: bench.LegLeft, Then: bench.ThenLeft})
	w.do(bench.TakeReading{When: w.when(), Axis: bench.AxisWall, Means: bench.MeansTyped, Raw: []byte("1.10"), Value: mm + mm/10, Unit: length.MM, Resolution: 10_000})
	w.do(bench.ChooseSize{When: w.when(), Size: "8", Metal: "stainless steel", Closure: "lock-on", Method: bench.MethodLegGauge, Slot: "8", Reason: "by the gauge"})
	tern := newID()
	w.do(bench.OpenBird{When: w.when(), ID: tern, Bird: bench.Bird{Species: "Sterna hirundo", Leg: bench.LegRight}})
	w.do(bench.ChooseSize{When: w.when(), Size: "2", Metal: "aluminium"})

	for _, id := range []string{owl, tern} {
		want, ok := w.state.Handling(id)
		require.True(t, ok)
		got, err := w.store.Load(t.Context(), id)
		require.NoError(t, err)
		assert.Equal(t, asText(t, want), asText(t, got))
	}
	got, err := w.store.Load(t.Context(), owl)
	require.NoError(t, err)
	assert.Equal(t, bench.FeathersOver, got.Estimate.Feathers)
	assert.Equal(t, bench.AxisWall, got.Readings[3].Axis)
	assert.Equal(t, "8", got.Choice.Slot)
	got, err = w.store.Load(t.Context(), tern)
	require.NoError(t, err)
	assert.Equal(t, bench.MethodEstablished, got.Choice.Method)
}

// What was measured over feathers counts neither for how a caliper repeats nor
// among the widths of earlier birds.
func TestOverFeathersIsNeverPooled(t *testing.T) {
	const mm = length.Millimetre
	w := newWorked(t)
	w.owl(12*mm, 12*mm+900_000, 12*mm-900_000)
	w.do(bench.ChooseSize{When: w.when(), Size: "8", Metal: "stainless steel", Closure: "lock-on", Reason: "the list"})
	pooled, err := w.store.Repeatability(t.Context(), "caliper")
	require.NoError(t, err)
	assert.Equal(t, [3]fit.Pooled{}, pooled)
	history, err := w.store.History(t.Context(), bench.Likeness{Species: "Bubo virginianus"})
	require.NoError(t, err)
	assert.Zero(t, history.N)
}
