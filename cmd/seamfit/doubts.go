package main

import (
	"context"
	"fmt"
	"time"

	"seamfit/internal/bench"
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
