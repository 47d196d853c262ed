package bench

import (
	"time"

	"seamfit/internal/bands"
	"seamfit/internal/catalogue"
	"seamfit/internal/fit"
	"seamfit/internal/length"
	"seamfit/internal/metrology"
)

// Setup is what a bench has decided before any bird: the lists, the pattern
// of its numbers, and the settings of the estimate. It is never changed while
// a state refers to it.
type Setup struct {
	Book       *catalogue.Book
	Catalogue  string // the catalogue in use where a shift names none
	Model      fit.Model
	Pattern    *bands.Pattern
	Readings   int           // wanted before the size is chosen
	AbsurdOver length.Length // a width above this is refused
	// Calibration is the last calibration of the bench's caliper; nil: none.
	Calibration *metrology.Record
	// RequireCalibration refuses a size by a caliper without a calibration in
	// force.
	RequireCalibration bool
}

// CalibrationState says whether a calibration held when a leg was measured.
type CalibrationState string

// The states of a calibration.
const (
	CalibrationInForce CalibrationState = "in force"
	CalibrationExpired CalibrationState = "expired"
	CalibrationMissing CalibrationState = "missing"
)

// Calibrated returns how the caliper's calibration stands at a time.
func (s *Setup) Calibrated(at time.Time) CalibrationState {
	switch {
	case s.Calibration == nil || at.Before(s.Calibration.At):
		return CalibrationMissing
	case !s.Calibration.InForce(at):
		return CalibrationExpired
	default:
		return CalibrationInForce
	}
}

// model returns the model of an estimate from readings of that time: with the
// calibration's correction while one is in force.
func (s *Setup) model(at time.Time) fit.Model {
	m := s.Model
	if s.Calibrated(at) == CalibrationInForce {
		m.Correction = s.Calibration.Result
	}
	return m
}

// Catalogue returns the catalogue of the shift, else the setup's.
func (s State) Catalogue() *catalogue.Catalogue {
	name := s.Setup.Catalogue
	if s.Shift != nil && s.Shift.Catalogue != "" {
		name = s.Shift.Catalogue
	}
	c, ok := s.Setup.Book.Catalogue(name)
	if !ok {
		return &catalogue.Catalogue{Name: name}
	}
	return c
}

// Fit answers which sizes fit the leg of h, as far as it is measured. It
// returns fit's error when no reading counts.
func (s State) Fit(h Handling) (fit.Result, error) {
	widths, _ := h.Counted()
	question := fit.Question{Catalogue: s.Catalogue(), Sex: h.Bird.Sex, Age: h.Bird.Age}
	if sp, ok := s.Setup.Book.SpeciesNamed(h.Bird.Species); ok {
		question.Species = &sp
	}
	return fit.Fit(widths, question, s.Setup.model(h.measured()))
}
