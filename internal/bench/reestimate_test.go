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

func TestOnlyAMeasuredLegIsEstimatedAnew(t *testing.T) {
	d := newDesk(t)
	d.do(bench.OpenBird{ID: "a", Bird: bench.Bird{Species: "Larus argentatus"}})
	d.refused(bench.ReEstimate{Why: "late"}, bench.LegMissing)
}

// A bench that requires a calibration keeps a bird that was measured before
// any: its first estimate comes late, by the calibration that was done since.
func TestABirdMeasuredBeforeAnyCalibrationGetsItsEstimateLate(t *testing.T) {
	d := newDesk(t)
	setup := *d.state.Setup
	setup.RequireCalibration = true
	d.state.Setup = &setup
	d.bird("Larus argentatus")
	d.widths("8.42", "8.45", "8.40")
	choice := bench.ChooseSize{Size: "6", Metal: "stainless steel"}
	d.refused(choice, bench.NotCalibrated)
	d.refused(bench.ReEstimate{Why: "calibrated late"}, bench.NotCalibrated)

	record := lateCalibration(t, d)
	calibrated := setup
	calibrated.Calibration = &record
	d.state.Setup = &calibrated
	d.refused(choice, bench.NotCalibrated)
	d.do(bench.ReEstimate{Why: "calibrated late"})
	first := d.active().Estimate
	assert.Zero(t, first.Replaces, "there was no estimate before")
	assert.Equal(t, bench.CalibrationLate, first.CalibrationState)
	assert.Equal(t, record.ID, first.Calibration)
	d.do(choice)
	assert.Equal(t, first.Seq, d.active().Choice.Estimate, "the choice rests on the late estimate")
	d.do(bench.GiveNumber{Number: "1236-56701"})
	d.flush("701")
	d.banded()
}
