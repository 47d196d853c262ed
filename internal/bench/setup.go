package bench

import (
	"maps"
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
	// Established are species, by any of their names, whose listed size is taken
	// without measuring.
	Established []string
	// Place is what the settings say of wear where the bench stands.
	Place fit.Place
	// Practice is who has met the bench target for which bands.
	Practice Practice
	// BandsLimit is how many bands may have been put on one bird and taken off
	// again before another is refused as a plan; 0: no limit.
	BandsLimit int
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

// calibratedFor returns how the calibration stands to the readings of h: late
// once its estimate was made anew by it.
func (s *Setup) calibratedFor(h Handling) CalibrationState {
	if e := h.Estimate; e != nil && e.CalibrationState == CalibrationLate && s.Calibration != nil && e.Calibration == s.Calibration.ID {
		return CalibrationLate
	}
	return s.Calibrated(h.measured())
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

// ClockBehind returns by how much a clock that shows now stands behind the
// last stored fact; 0 when it does not. A small board may have no clock of its
// own.
func (s State) ClockBehind(now time.Time) time.Duration {
	return max(0, s.LastFact.Sub(now))
}

// Likeness is what birds of a history have in common with one: its species
// and, where they are known, its sex and age. Except is that bird's handling.
type Likeness struct {
	Species, Sex, Age string
	Except            string
}

// Like returns the likeness of a handling's bird.
func (h Handling) Like() Likeness {
	return Likeness{Species: h.Bird.Species, Sex: h.Bird.Sex, Age: h.Bird.Age, Except: h.ID}
}

// Remember returns the state with what the bench measured on such birds
// before. The history is read once a bird, and travels as a value.
func (s State) Remember(like Likeness, h fit.History) State {
	s.histories = maps.Clone(s.histories)
	if s.histories == nil {
		s.histories = map[Likeness]fit.History{}
	}
	// Only birds in the state are looked up; others' are let go.
	maps.DeleteFunc(s.histories, func(l Likeness, _ fit.History) bool {
		_, open := s.Handling(l.Except)
		return !open
	})
	s.histories[like] = h
	return s
}

// History returns what was remembered for a handling's bird as it is described
// now.
func (s State) History(h Handling) (fit.History, bool) {
	history, ok := s.histories[h.Like()]
	return history, ok
}

// Fit answers which sizes fit the leg of h, as far as it is measured. It
// returns fit's error when no reading counts.
func (s State) Fit(h Handling) (fit.Result, error) {
	if s.Setup.calibratedFor(h) == CalibrationLate {
		return s.FitLate(h)
	}
	return s.fitBy(h, s.Setup.model(h.measured()))
}

func (s State) fitBy(h Handling, m fit.Model) (fit.Result, error) {
	widths, _ := h.Counted()
	return fit.Fit(widths, s.question(h), m)
}

// Listed returns the sizes that the office's list gives for the bird of h, in
// its order.
func (s State) Listed(h Handling) []catalogue.Recommendation { return s.question(h).Listed() }

// MetalAdvice returns what speaks for hard metal on the bird of h, and how long
// a band of the named metal stays readable on it.
func (s State) MetalAdvice(h Handling, metal string) fit.MetalAdvice {
	book := s.Setup.Book
	sp, known := book.SpeciesNamed(h.Bird.Species)
	if !known {
		return fit.AdviseMetal(catalogue.Species{}, nil, fit.Place{})
	}
	if wear, ok := book.WearOf(sp.Scientific, metal); ok {
		return fit.AdviseMetal(sp, &wear, s.Setup.Place)
	}
	return fit.AdviseMetal(sp, nil, s.Setup.Place)
}

// question is what the leg of h is judged against.
func (s State) question(h Handling) fit.Question {
	question := fit.Question{Catalogue: s.Catalogue(), Sex: h.Bird.Sex, Age: h.Bird.Age, Feathers: string(h.Feathers()), Place: s.Setup.Place}
	if sp, ok := s.Setup.Book.SpeciesNamed(h.Bird.Species); ok {
		question.Species = &sp
	}
	if history, ok := s.History(h); ok && history.N > 0 && h.Feathers() == FeathersNone {
		question.History = &history
	}
	return question
}
