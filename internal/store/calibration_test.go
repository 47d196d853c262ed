package store

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/bench"
	"seamfit/internal/fit"
	"seamfit/internal/length"
	"seamfit/internal/metrology"
)

func day(text string) time.Time {
	t, err := time.Parse(dateLayout, text)
	if err != nil {
		panic(err)
	}
	return t
}

func someRod() metrology.Rod {
	return metrology.Rod{
		ID: newID(), Name: "R-6", Diameter: 6 * length.Millimetre, Class: metrology.ClassX, Certified: day("2026-01-15"),
		Due: day("2028-01-15"), Material: "steel", Expansion: metrology.SteelExpansion,
		Entered: time.Date(2026, 5, 1, 9, 0, 0, 0, time.UTC), By: "A. Holm",
	}
}

func someCalibration(t require.TestingT, at time.Time) metrology.Record {
	mm := length.Millimetre
	var readings []metrology.RodReading
	var recorded []metrology.RecordedReading
	for _, reference := range []length.Length{4 * mm, 8 * mm, 12 * mm} {
		for _, error := range []length.Length{10, 20, 30} {
			r := metrology.RodReading{Reference: reference, Reading: reference + error*length.Micrometre}
			readings = append(readings, r)
			recorded = append(recorded, metrology.RecordedReading{Raw: []byte("+4.01"), At: at, Reference: r.Reference, Reading: r.Reading})
		}
	}
	result, err := metrology.Calibrate(readings, metrology.CalibrationSetup{Pivot: 8, Resolution: 10_000, MPE: metrology.DIN862()})
	require.NoError(t, err)
	return metrology.Record{
		ID: newID(), Caliper: "caliper", At: at, ValidUntil: at.AddDate(0, 3, 0), By: "A. Holm",
		Conditions: metrology.Conditions{
			Temperatures: metrology.Temperatures{Known: true, Scale: 12.5, Rods: 12.5, U: 1, ScaleExpansion: metrology.SteelExpansion},
			Resolution:   10_000, MPE: metrology.DIN862(), Rods: []metrology.PlannedRod{{Rod: someRod(), Reference: 6_000_010, CertificateU: 0.0006, ThermalU: 0.0001}},
		},
		Readings: recorded, Result: result,
	}
}

func someCheck(at time.Time) metrology.Check {
	return metrology.Check{
		ID: newID(), Caliper: "caliper", At: at, By: "A. Holm", Rod: "R-6", N: 3, Mean: 6_010_000, Error: 10_000,
		Low: -30_000, High: 30_000, InLimits: true,
		Readings: []metrology.RecordedReading{{Rod: newID(), Raw: []byte("+6.01"), At: at, Reference: 6_000_000, Reading: 6_010_000}},
	}
}

func TestRodsCalibrationsAndChecksAreKept(t *testing.T) {
	w := newWorked(t)
	ctx := t.Context()
	old := someRod()
	require.NoError(t, w.store.SaveRod(ctx, old))
	newer := someRod()
	newer.Diameter, newer.Due = 6_000_500, time.Time{}
	require.NoError(t, w.store.SaveRod(ctx, newer))
	rods, err := w.store.Rods(ctx)
	require.NoError(t, err)
	assert.Equal(t, []metrology.Rod{newer}, rods, "the newer certificate takes the older one's place")
	require.ErrorIs(t, w.store.SaveRod(ctx, newer), bench.ErrRefused)

	first := someCalibration(t, w.now)
	require.NoError(t, w.store.SaveCalibration(ctx, first))
	second := someCalibration(t, w.now.Add(time.Hour))
	require.NoError(t, w.store.SaveCalibration(ctx, second))
	got, err := w.store.LastCalibration(ctx, "caliper", w.now.Add(30*time.Minute))
	require.NoError(t, err)
	assert.Equal(t, first.ID, got.ID)
	assert.Equal(t, first.Result, got.Result, "the result comes back to the last digit")
	assert.Equal(t, first.Readings, got.Readings)
	assert.Equal(t, first.Conditions, got.Conditions)
	assert.True(t, got.InForce(w.now))
	assert.False(t, got.InForce(w.now.AddDate(0, 4, 0)))
	none, err := w.store.LastCalibration(ctx, "another caliper", w.now)
	require.NoError(t, err)
	assert.Nil(t, none)

	var last metrology.Check
	for i := range 3 {
		last = someCheck(w.now.Add(time.Duration(i) * time.Hour))
		require.NoError(t, w.store.SaveCheck(ctx, last))
	}
	checks, err := w.store.Checks(ctx, "caliper", "R-6", 2)
	require.NoError(t, err)
	require.Len(t, checks, 2)
	assert.Equal(t, last, checks[0], "the newest first")
}

func TestHistoryOfTheSpecies(t *testing.T) {
	w := newWorked(t)
	for i, mm := range []string{"8.30", "8.40", "8.50", "8.60", "12.00"} {
		sex := []string{"female", "female", "male", "female", "female"}[i]
		w.do(bench.OpenBird{When: w.when(), ID: newID(), Bird: bench.Bird{Species: "Larus argentatus", Sex: sex, Age: "adult"}})
		c, err := bench.TypedReading(w.when(), mm, length.MM)
		require.NoError(t, err)
		w.do(c)
		w.do(bench.TellFate{When: w.when(), Fate: bench.FateUnbanded})
	}
	last := w.state.Active
	history := func(sex, except string) fit.History {
		h, err := w.store.History(t.Context(), bench.Likeness{Species: "Larus argentatus", Sex: sex, Age: "adult", Except: except})
		require.NoError(t, err)
		return h
	}
	all := history("", "")
	assert.Equal(t, 5, all.N)
	assert.InDelta(t, 8.5, all.Median, 1e-9)
	assert.Less(t, all.SD, 0.3, "one absurd bird hardly widens a robust spread")
	assert.Equal(t, 4, history("female", "").N)
	assert.Equal(t, 3, history("female", last).N, "the bird that is measured is left out")
	none, err := w.store.History(t.Context(), bench.Likeness{Species: "Fulmarus glacialis"})
	require.NoError(t, err)
	assert.Zero(t, none)

	w.do(bench.OpenBird{When: w.when(), ID: newID(), Bird: bench.Bird{Species: "Larus argentatus", Sex: "male"}})
	c, err := bench.TypedReading(w.when(), "9.90", length.MM)
	require.NoError(t, err)
	w.do(c)
	h, _ := w.state.ActiveHandling()
	w.state = w.state.Remember(h.Like(), all)
	result, err := w.state.Fit(h)
	require.NoError(t, err)
	var codes []string
	for _, warning := range result.Warnings {
		codes = append(codes, warning.Code)
	}
	assert.Contains(t, codes, fit.CodeHistory)
}

// A caliper that shows 0.02 mm too much: its readings are corrected while the
// calibration holds, and the estimate says which one it was.
func TestACalibrationInForceCorrectsTheReadings(t *testing.T) {
	w := newWorked(t)
	record := someCalibration(t, w.now)
	estimate := func(setup bench.Setup) bench.LegEstimated {
		w.state.Setup = &setup
		id := w.gull("1236-56701")
		h, err := w.store.Load(t.Context(), id)
		require.NoError(t, err)
		w.do(bench.TellFate{When: w.when(), Fate: bench.FateUnbanded})
		w.do(bench.Complete{When: w.when()})
		return *h.Estimate
	}
	setup := *w.state.Setup
	plain := estimate(setup)
	assert.Equal(t, bench.CalibrationMissing, plain.CalibrationState)

	setup.Calibration = &record
	corrected := estimate(setup)
	assert.Equal(t, bench.CalibrationInForce, corrected.CalibrationState)
	assert.Equal(t, record.ID, corrected.Calibration)
	assert.InDelta(t, plain.Leg.MeanMM-0.02, corrected.Leg.MeanMM, 1e-5)

	w.now = w.now.AddDate(1, 0, 0)
	expired := estimate(setup)
	assert.Equal(t, bench.CalibrationExpired, expired.CalibrationState)
	assert.InDelta(t, plain.Leg.MeanMM, expired.Leg.MeanMM, 1e-9, "an expired calibration corrects nothing")

	setup.RequireCalibration = true
	w.state.Setup = &setup
	w.do(bench.OpenBird{When: w.when(), ID: newID(), Bird: bench.Bird{Species: "Larus argentatus"}})
	c, err := bench.TypedReading(w.when(), "8.42", length.MM)
	require.NoError(t, err)
	w.do(c)
	_, _, blockers := bench.Apply(w.state, bench.ChooseSize{When: w.when(), Size: "6", Metal: "incoloy"})
	require.Len(t, blockers, 1)
	assert.Equal(t, bench.NotCalibrated, blockers[0].Code)
}
