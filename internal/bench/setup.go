package bench

import (
	"maps"
	"strings"
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
	// Inner is the inner diameter of bands of which the stock was measured where
	// they come closed; the table's holds for all others.
	Inner map[BandKind]fit.Inner
	// Place is what the settings say of wear where the bench stands.
	Place fit.Place
	// People are those whose role the bench's settings give for every shift.
	People People
	// Further are the measures that the bench takes beside the leg.
	Further []FurtherMeasure
	// Wear is what bands of this bench have lost by species and metal.
	Wear []catalogue.Wear
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
	known := h.Bird.Known()
	return Likeness{Species: known.Species, Sex: known.Sex, Age: known.Age, Except: h.ID}
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

// answer is what Fit said of a handling of so many facts.
type answer struct {
	handling string
	seq      int
	result   fit.Result
	err      error
}

// Answered returns s with Fit's answer for h worked out, for one who asks
// for it many times while nothing changes, as the drawing of a screen does.
// It is for looking at: commands are applied to s.
func (s State) Answered(h Handling) State {
	result, err := s.Fit(h)
	s.answer = &answer{h.ID, h.Seq, result, err}
	return s
}

// Fit answers which sizes fit the leg of h, as far as it is measured. It
// returns fit's error when no reading counts.
func (s State) Fit(h Handling) (fit.Result, error) {
	if a := s.answer; a != nil && a.handling == h.ID && a.seq == h.Seq {
		return a.result, a.err
	}
	if s.Setup.calibratedFor(h) == CalibrationLate {
		return s.FitLate(h)
	}
	return s.fitBy(h, s.Setup.model(h.measured()))
}

func (s State) fitBy(h Handling, m fit.Model) (fit.Result, error) {
	widths, _ := h.Counted()
	question := s.question(h)
	s.whole(&question, h, m)
	return fit.Fit(widths, question, m)
}

// whole puts into the question what else has been measured on the leg, and
// what has been chosen for it. What can't be estimated is left out.
func (s State) whole(q *fit.Question, h Handling, m fit.Model) {
	estimate := func(axis Axis) *fit.Leg {
		widths := h.Along(axis)
		if len(widths) == 0 {
			return nil
		}
		leg, _, err := fit.Estimate(widths, m)
		if err != nil {
			return nil
		}
		return &leg
	}
	q.Cross, q.UpperStop, q.LowerStop = estimate(AxisCross), estimate(AxisUpperStop), estimate(AxisLowerStop)
	q.Tarsus, q.OtherMarks = mean(h.Along(AxisTarsus)), mean(h.Along(AxisMarks))
	metal := ""
	if c := h.Choice; c != nil {
		metal, q.Closure = c.Metal, c.Closure
		if chosen, ok := s.Setup.Book.Metal(c.Metal); ok {
			q.Metal = &chosen
		}
	}
	q.Inner = s.Setup.InnerOf(metal)
}

// mean returns the mean of what was read; 0 of nothing.
func mean(widths []fit.Width) length.Length {
	values := make([]length.Length, len(widths))
	for i, w := range widths {
		values[i] = w.Value
	}
	return length.Mean(values)
}

// InnerOf returns the measured inner diameters of bands of a metal, by their
// size. While no metal is chosen, a size is meant whose bands of one metal alone
// were measured.
func (s *Setup) InnerOf(metal string) map[string]fit.Inner {
	inner := map[string]fit.Inner{}
	metals := map[string]int{}
	for kind, value := range s.Inner {
		if metal == "" || kind.Metal == metal {
			inner[kind.Size] = value
			metals[kind.Size]++
		}
	}
	maps.DeleteFunc(inner, func(size string, _ fit.Inner) bool { return metals[size] > 1 })
	return inner
}

// Listed returns the sizes that the office's list gives for the bird of h, in
// its order.
func (s State) Listed(h Handling) []catalogue.Recommendation { return s.question(h).Listed() }

// MetalAdvice returns what speaks for hard metal on the bird of h, and how long
// a band of the named metal stays readable on it.
func (s State) MetalAdvice(h Handling, metal string) fit.MetalAdvice {
	sp, known := s.Setup.Book.SpeciesNamed(h.Bird.Species)
	if !known {
		return fit.AdviseMetal(catalogue.Species{}, nil, fit.Place{})
	}
	return s.Setup.AdviseMetal(sp, metal)
}

// enoughWorn is how many bands of its own a bench's rate of wear rests on before
// it goes before a published one (bench setting).
const enoughWorn = 5

// AdviseMetal returns what speaks for hard metal on a species at this place, and
// how long a band of the named metal stays readable: by the bench's own rate of
// wear, which a published one goes before while it rests on few bands.
func (s *Setup) AdviseMetal(sp catalogue.Species, metal string) fit.MetalAdvice {
	published, known := s.Book.WearOf(sp.Scientific, metal)
	for _, own := range s.Wear {
		if strings.EqualFold(own.Species, sp.Scientific) && own.Metal == metal && (own.Birds >= enoughWorn || !known) {
			return fit.AdviseMetal(sp, &own, s.Place)
		}
	}
	if known {
		return fit.AdviseMetal(sp, &published, s.Place)
	}
	return fit.AdviseMetal(sp, nil, s.Place)
}

// question is what the leg of h is judged against.
func (s State) question(h Handling) fit.Question {
	known := h.Bird.Known()
	question := fit.Question{Catalogue: s.Catalogue(), Sex: known.Sex, Age: known.Age, Feathers: string(h.Feathers()), Place: s.Setup.Place}
	if sp, ok := s.Setup.Book.SpeciesNamed(h.Bird.Species); ok {
		question.Species = &sp
	}
	if history, ok := s.History(h); ok && history.N > 0 && h.Feathers() == FeathersNone {
		question.History = &history
	}
	return question
}
