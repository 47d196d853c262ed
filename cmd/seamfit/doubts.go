package main

import (
	"context"
	"errors"
	"fmt"
	"time"

	"seamfit/internal/bench"
	"seamfit/internal/fit"
	"seamfit/internal/store"
)

// doubts returns what the station is to show of the caliper as long as it
// stands: a check out of limits without a stated reason, and a calibration
// that has run out or that the settings require. The setup has the last
// calibration already.
func (f *benchFiles) doubts(ctx context.Context, records *store.Store, now time.Time) ([]string, error) {
	open, err := openChecks(ctx, records, f.settings.Caliper.Name, now)
	if err != nil {
		return nil, err
	}
	var doubts []string
	for _, check := range open {
		doubts = append(doubts, fmt.Sprintf("CALIPER IN DOUBT: %s. Calibrate it, or state why the bench goes on: seamfit check --go-on REASON.", check.Words()))
	}
	switch state := f.setup.Calibrated(now); {
	case state == bench.CalibrationExpired:
		doubts = append(doubts, fmt.Sprintf("The caliper's calibration ran out on %s: readings are not corrected. Calibrate it.", f.setup.Calibration.ValidUntil.Format("2006-01-02")))
	case state == bench.CalibrationMissing && f.setup.RequireCalibration:
		doubts = append(doubts, "This bench requires a calibration, and the caliper has none: calibrate it before the first bird.")
	}
	return doubts, nil
}

// fromRecords puts into the setup what the records know of the caliper, where
// there are records. It makes none.
func (a *app) fromRecords(ctx context.Context, f *benchFiles) (err error) {
	records, err := a.existing(ctx, f.setup)
	if err != nil || records == nil {
		return err
	}
	defer func() { err = errors.Join(err, records.Close()) }()
	return f.calibrated(ctx, records, a.now())
}

// modelNow returns the model of an estimate from readings of this moment, with
// the warning that the caliper's calibration has run out. It returns an error
// where the settings require a calibration and none is in force.
func (f *benchFiles) modelNow(now time.Time) (fit.Model, []fit.Warning, error) {
	m := f.setup.Model
	state := f.setup.Calibrated(now)
	switch {
	case state == bench.CalibrationInForce:
		m.Correction = f.setup.Calibration.Result
		return m, nil, nil
	case f.setup.RequireCalibration:
		return m, nil, fmt.Errorf("the calibration of caliper %q is %s, and this bench requires one; calibrate it, or set require_calibration = false", f.settings.Caliper.Name, state)
	case state == bench.CalibrationExpired:
		return m, []fit.Warning{{Code: "expired", Text: fmt.Sprintf("the caliper's calibration ran out on %s: no correction until it is calibrated anew", f.setup.Calibration.ValidUntil.Format("2006-01-02"))}}, nil
	default:
		return m, nil, nil
	}
}
