package bench

import (
	"seamfit/internal/bands"
	"seamfit/internal/catalogue"
	"seamfit/internal/fit"
	"seamfit/internal/length"
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
	return fit.Fit(widths, question, s.Setup.Model)
}
