package bench

import (
	"slices"
	"strings"

	"seamfit/internal/fit"
)

// CalibrationLate says that the calibration was done after the leg was measured, and
// the estimate was made anew with it, on purpose.
const CalibrationLate CalibrationState = "late"

// ReEstimate estimates the leg anew by a calibration of the caliper that was
// done after it was measured. The old estimate stays, and the new one names
// it; the readings and the choice of size stay as they were. A bench that
// requires a calibration gets a leg's first estimate so, and then its size. It
// is taken for a complete record too, as a correction.
type ReEstimate struct {
	When
	Why string
}

// reEstimate refuses what gives no new estimate; an estimate that rests on
// this calibration and these readings already is left as it is.
func (a *applying) reEstimate(h Handling, c ReEstimate) []Blocker {
	calibration := a.state.Setup.Calibration
	why := strings.TrimSpace(c.Why)
	_, seqs := h.Counted()
	switch {
	case len(seqs) == 0:
		return refuse(LegMissing, "This leg has no reading that counts: measure it first.")
	case calibration == nil:
		return refuse(NotCalibrated, "The caliper has no calibration: calibrate it first.")
	case why == "":
		return refuse(ReasonMissing, "An estimate is made anew only with the reason: say why.")
	}
	if h.Estimate != nil && h.Estimate.Calibration == calibration.ID && h.Estimate.Leg.Calibrated && slices.Equal(h.Estimate.Readings, seqs) {
		return nil
	}
	result, err := a.state.FitLate(h)
	if err != nil {
		return refuse(LegMissing, "The readings give no estimate (%v): they stay as they are.", err)
	}
	head := a.head(h.ID)
	head.Why = why
	if h.Estimate != nil {
		head.Replaces = h.Estimate.Seq
	}
	state := CalibrationLate
	if a.state.Setup.Calibrated(h.measured()) == CalibrationInForce {
		state = CalibrationInForce
	}
	a.record(LegEstimated{
		Head: head, Leg: result.Leg, Agreement: result.Agreement, Readings: seqs,
		Calibration: calibration.ID, CalibrationState: state, Feathers: h.Feathers(),
	})
	return nil
}

// FitLate is Fit with the setup's calibration, whether or not it was in force
// when the leg was measured.
func (s State) FitLate(h Handling) (fit.Result, error) {
	m := s.Setup.Model
	if s.Setup.Calibration != nil {
		m.Correction = s.Setup.Calibration.Result
	}
	return s.fitBy(h, m)
}
