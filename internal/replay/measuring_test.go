package replay

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/bench"
)

// The ways of measuring have their words in lines as well.
func TestWaysOfMeasuringFromLines(t *testing.T) {
	b, records := newBench(t)
	play(t, b, `{"do":"shift","place":"Skerry of Ness","bander":"A. Holm","permit":"P-17"}
{"do":"bird","species":"Larus argentatus","leg":"right"}
{"do":"size","size":"6","metal":"stainless steel","method":"leg gauge"}
{"do":"size","size":"6","metal":"stainless steel","method":"leg gauge","slot":6}
{"do":"bird","species":"Bubo virginianus","leg":"right"}
{"caliper":"+12.04\r","feathers":"over"}
{"do":"width","mm":"11.20","feathers":"under"}
{"do":"width","mm":"11.20","feathers":"beside"}`)
	out, err := b.Outcome(t.Context())
	require.NoError(t, err)
	require.Len(t, out.Refused, 2)
	assert.Equal(t, bench.SlotMissing, out.Refused[0].Blockers[0].Code)
	assert.Equal(t, bench.FeathersUnknown, out.Refused[1].Blockers[0].Code)
	gull, err := records.Load(t.Context(), b.Opened()[0])
	require.NoError(t, err)
	assert.Equal(t, bench.MethodLegGauge, gull.Choice.Method)
	assert.Equal(t, "6", gull.Choice.Slot)
	owl, err := records.Load(t.Context(), b.Opened()[1])
	require.NoError(t, err)
	require.Len(t, owl.Readings, 2)
	assert.Equal(t, bench.FeathersOver, owl.Readings[0].Feathers)
	assert.Equal(t, bench.FeathersUnder, owl.Readings[1].Feathers)
	assert.Equal(t, 1, out.Handlings[1].Leg.N, "those under the feathers alone")
}
