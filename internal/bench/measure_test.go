package bench_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/bench"
	"seamfit/internal/length"
)

// measuring is a desk whose settings name further measures.
func measuring(t *testing.T) *desk {
	t.Helper()
	d := newDesk(t)
	setup := *d.state.Setup
	setup.Further = []bench.FurtherMeasure{
		{Name: "tarsus length", Unit: "mm", AtMost: 120}, {Name: "mass", Unit: "g", Method: "balance"}, {Name: "tail", Unit: "in"},
	}
	d.state.Setup = &setup
	return d
}

func TestFurtherMeasuresAreKeptApartFromTheLeg(t *testing.T) {
	d := measuring(t)
	d.gull("1236-56701")
	leg, err := d.state.Fit(d.active())
	require.NoError(t, err)
	d.do(bench.TakeMeasure{Name: "Mass", Means: bench.MeansTyped, Value: "1012,5 g"})
	d.do(bench.TakeMeasure{Name: "tarsus length", Means: bench.MeansTyped, Value: "62.1"})
	m, told := d.active().Measure("mass")
	require.True(t, told)
	assert.Equal(t, "1012.5", m.Value)
	assert.Equal(t, "g", m.Unit)
	again, err := d.state.Fit(d.active())
	require.NoError(t, err)
	assert.Equal(t, leg, again)

	d.refused(bench.TakeMeasure{Name: "wing", Value: "412"}, bench.MeasureUnknown)
	d.refused(bench.TakeMeasure{Name: "tarsus length", Value: "121", Why: "measured again"}, bench.MeasureAbsurd)
	for _, bad := range []string{"", "0", "-3", "1e2", "12.5.1", "heavy", "NaN", "0x10"} {
		d.refused(bench.TakeMeasure{Name: "tail", Value: bad}, bench.MeasureUnclear)
	}
}

func TestAMeasureIsCorrectedByANewRowWithItsReason(t *testing.T) {
	d := measuring(t)
	d.gull("1236-56701")
	d.do(bench.TakeMeasure{Name: "mass", Value: "1012"})
	before, _ := d.active().Measure("mass")
	d.refused(bench.TakeMeasure{Name: "mass", Value: "1021"}, bench.ReasonMissing)
	d.do(bench.TakeMeasure{Name: "mass", Value: "1012"})
	d.do(bench.TakeMeasure{Name: "mass", Value: "1021", Why: "digits swapped"})
	after, _ := d.active().Measure("mass")
	assert.Equal(t, before.Seq, after.Replaces)
	assert.Len(t, d.active().Measures, 1, "the last one stands")

	d.flush("701")
	d.banded()
	d.refused(bench.TakeMeasure{Name: "tail", Value: "6.1"}, bench.ReasonMissing)
	d.do(bench.TakeMeasure{Name: "tail", Value: "6.1", Why: "found on the sheet"})
	assert.True(t, d.active().Done())
}

func TestTheYearsThatABandWasWorn(t *testing.T) {
	d := measuring(t)
	d.bird("Larus argentatus")
	d.refused(bench.TakeMeasure{Name: "years worn", Value: "6.5"}, bench.BandMissing)
	assert.Len(t, d.state.Setup.FurtherOf(d.active()), 3)
	d.do(bench.TellFound{Number: "1236-44401", Then: bench.ThenLeft})
	d.do(bench.TakeMeasure{Name: "Years worn", Value: "6.5"})
	m, _ := d.active().Measure(bench.YearsWorn)
	assert.Equal(t, "a", m.Unit)
	assert.Len(t, d.state.Setup.FurtherOf(d.active()), 4)
}

func TestAMeasureByCaliper(t *testing.T) {
	d := measuring(t)
	d.bird("Larus argentatus")
	reading := bench.TakeReading{Raw: []byte("+62.13\r"), Value: 62_130_000, Unit: length.MM, Resolution: 10_000, Device: "caliper"}
	_, ok := bench.MeasureByCaliper(bench.When{}, d.state.Setup.Further[1], reading)
	assert.False(t, ok, "no caliper weighs")
	c, ok := bench.MeasureByCaliper(bench.When{}, d.state.Setup.Further[0], reading)
	require.True(t, ok)
	d.do(c)
	m, _ := d.active().Measure("tarsus length")
	assert.Equal(t, "62.13", m.Value)
	assert.Equal(t, "0.01", m.Resolution)
	assert.Equal(t, []byte("+62.13\r"), m.Raw)
	inches, ok := bench.MeasureByCaliper(bench.When{}, d.state.Setup.Further[2], reading)
	require.True(t, ok)
	d.do(inches)
	tail, _ := d.active().Measure("tail")
	assert.Equal(t, "2.44606", tail.Value, "62.13 mm / 25.4, to the digits that 0.01 mm has in inches")
	d.do(bench.LeaveHand{})
	d.refused(c, bench.LeftTheHand)
}

func TestTheTimeSinceCaptureAndTheNestsClock(t *testing.T) {
	d := newDesk(t)
	d.bird("Larus argentatus")
	opened := d.active().Opened
	assert.Equal(t, opened, d.active().Captured())
	d.refused(bench.TellCircumstances{Captured: opened.Add(time.Hour)}, bench.CaptureUnclear)
	d.refused(bench.TellCircumstances{Captured: opened.Add(-25 * time.Hour)}, bench.CaptureUnclear)
	d.do(bench.TellCircumstances{Nest: " Burrow  7 ", Captured: opened.Add(-4 * time.Minute)})
	d.do(bench.TellCircumstances{Brood: "2 of 3"})
	assert.Equal(t, "Burrow 7", d.active().Nest(), "what is left empty stands")
	assert.Equal(t, opened.Add(-4*time.Minute), d.active().Captured())

	d.bird("Larus argentatus")
	_, known := d.state.NestSince(d.active())
	assert.False(t, known, "no nest is told")
	d.do(bench.TellCircumstances{Nest: "burrow 7"})
	since, known := d.state.NestSince(d.active())
	assert.True(t, known)
	assert.Equal(t, opened.Add(-4*time.Minute), since, "from its first bird on")
	facts := len(d.facts)
	d.do(bench.TellCircumstances{Nest: "burrow 7"})
	assert.Len(t, d.facts, facts)
	d.do(bench.TellFate{Fate: bench.FateUnbanded})
	d.do(bench.Complete{})
	d.refused(bench.TellCircumstances{ReturnedTo: "its nest"}, bench.ReasonMissing)
	d.do(bench.TellCircumstances{ReturnedTo: "its nest", Why: "found on the sheet"})
	assert.Equal(t, "its nest", d.active().Whence.ReturnedTo)
}
