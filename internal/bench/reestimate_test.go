package bench_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/bench"
	"seamfit/internal/length"
	"seamfit/internal/metrology"
)

// lateCalibration is one of a caliper that shows 0.02 mm too much, done when
// the desk's clock stands later than its readings.
func lateCalibration(t *testing.T, d *desk) metrology.Record {
	var rows []metrology.RodReading
	for _, diameter := range []length.Length{4, 8, 12} {
		for _, um := range []length.Length{10, 20, 30} {
			reference := diameter * length.Millimetre
			rows = append(rows, metrology.RodReading{Reference: reference, Reading: reference + um*length.Micrometre})
		}
	}
	result, err := metrology.Calibrate(rows, metrology.CalibrationSetup{Pivot: 8, Resolution: 10_000})
	require.NoError(t, err)
	return metrology.Record{ID: "late one", Caliper: "caliper", At: d.active().Opened.AddDate(0, 0, 7), Result: result}
}

func TestALateCalibrationMakesANewEstimateThatNamesTheOld(t *testing.T) {
	d := newDesk(t)
	d.gull("1236-56701")
	d.flush("701")
	d.banded()
	before := d.active()
	require.True(t, before.Complete)
	d.refused(bench.ReEstimate{Why: "calibrated late"}, bench.NotCalibrated)

	setup := *d.state.Setup
	record := lateCalibration(t, d)
	setup.Calibration = &record
	d.state.Setup = &setup
	d.refused(bench.ReEstimate{}, bench.ReasonMissing)
	d.do(bench.ReEstimate{Why: "calibrated late"})
	after := d.active()
	assert.Equal(t, before.Estimate.Seq, after.Estimate.Replaces)
	assert.Equal(t, "calibrated late", after.Estimate.Why)
	assert.Equal(t, bench.CalibrationLate, after.Estimate.CalibrationState)
	assert.Equal(t, record.ID, after.Estimate.Calibration)
	assert.InDelta(t, before.Estimate.Leg.MeanMM-0.02, after.Estimate.Leg.MeanMM, 1e-4)
	assert.Equal(t, before.Readings, after.Readings, "readings stay as they were")
	assert.Equal(t, before.Choice, after.Choice, "and so does the choice")
	assert.True(t, after.Complete)

	facts := len(d.facts)
	d.do(bench.ReEstimate{Why: "once more"})
	assert.Len(t, d.facts, facts, "there is nothing new to say")
}

func TestOnlyAnEstimatedLegIsEstimatedAnew(t *testing.T) {
	d := newDesk(t)
	d.do(bench.OpenBird{ID: "a", Bird: bench.Bird{Species: "Larus argentatus"}})
	d.refused(bench.ReEstimate{Why: "late"}, bench.LegMissing)
}
