package device

import (
	"errors"
	"fmt"
	"strings"

	"seamfit/internal/length"
)

// Certainty says how sure a recognition is.
type Certainty string

// The degrees of certainty.
const (
	// Certain: three lines or more with a value, every line fits, and no
	// other form fits at all.
	Certain Certainty = "certain"
	// Likely: no other form fits, but there are fewer values, or one line in
	// ten at most does not fit.
	Likely Certainty = "likely"
	// Undecided: several forms fit; the person must say which it is.
	Undecided Certainty = "undecided"
	// Unknown: no form fits.
	Unknown Certainty = "unknown"
)

// certainValues is how many values make a recognition certain: three presses.
const certainValues = 3

// Candidate is a form that fits what was heard.
type Candidate struct {
	Form Form
	// Lines, Values and Misfits count the lines with their end, those with a
	// value, and those that the form does not know. A first fragment and a
	// last line without its end count in none.
	Lines, Values, Misfits int
	Readings               []Reading // the values; with the unit mm where UnitAssumed
}

// Recognition is what bytes from an unknown device may be.
type Recognition struct {
	Certainty  Certainty
	Candidates []Candidate // one if Certain or Likely, several if Undecided
}

// Form returns the recognised form. It is false unless exactly one form
// fits: of two that fit, none is ever chosen.
func (r Recognition) Form() (Form, bool) {
	if len(r.Candidates) != 1 {
		return "", false
	}
	return r.Candidates[0].Form, true
}

// NeedsUnit reports whether the values heard carry no unit, so that the person
// must say it, or measure a rod that is known.
func (r Recognition) NeedsUnit() bool {
	for _, c := range r.Candidates {
		for _, reading := range c.Readings {
			if reading.UnitAssumed {
				return true
			}
		}
	}
	return false
}

// String says how sure it is and why, in one line.
func (r Recognition) String() string {
	switch r.Certainty {
	case Unknown:
		return "no wire form that is known fits; check speed and framing, or press the caliper's button again"
	case Undecided:
		names := make([]string, 0, len(r.Candidates))
		for _, c := range r.Candidates {
			names = append(names, string(c.Form))
		}
		return fmt.Sprintf("several wire forms fit: %s; choose the one that the caliper's papers name", strings.Join(names, ", "))
	default:
		c := r.Candidates[0]
		return fmt.Sprintf("%s: %s (%d values in %d lines, %d lines that do not fit; no other form fits)",
			r.Certainty, c.Form, c.Values, c.Lines, c.Misfits)
	}
}

// Recognise tells which of the forms fit what a device has sent. A form fits
// when at least one line is a value in it and at most one line in ten is
// none of its lines. A first line that does not fit is passed over, as it may
// have begun before anybody listened. Whether a decimal comma is in use is
// not tried: a comma that ends a line and one inside a number look alike.
func Recognise(data []byte, among []Form) Recognition {
	var fits []Candidate
	for _, form := range among {
		if c, ok := fit(data, form); ok {
			fits = append(fits, c)
		}
	}
	r := Recognition{Candidates: fits}
	switch {
	case len(fits) == 0:
		r.Certainty = Unknown
	case len(fits) > 1:
		r.Certainty = Undecided
	case fits[0].Values >= certainValues && fits[0].Misfits == 0:
		r.Certainty = Certain
	default:
		r.Certainty = Likely
	}
	return r
}

// fit reads data as form.
func fit(data []byte, form Form) (Candidate, bool) {
	c := Candidate{Form: form}
	dec, err := NewDecoder(form, DecoderOptions{Unit: length.MM})
	if err != nil {
		return c, false
	}
	for i, frame := range dec.Feed(data) {
		var e *FrameError
		misfit := errors.As(frame.Err, &e) && (e.Kind == KindGrammar || e.Kind == KindTooLong)
		switch {
		case misfit && i == 0:
			continue
		case misfit:
			c.Misfits++
		case frame.Err == nil:
			c.Values++
			c.Readings = append(c.Readings, frame.Clone())
		}
		c.Lines++
	}
	return c, c.Values > 0 && 10*c.Misfits <= c.Lines
}

// UnitByRod tells the unit of readings that named none, from readings of a
// rod whose diameter the person has stated: the unit in which every one of
// them lies within a tenth of the rod. It is false when neither or both do.
// The rod decides, never the size of a number alone.
func UnitByRod(readings []Reading, rod length.Length) (length.Unit, bool) {
	if len(readings) == 0 || rod <= 0 {
		return length.UnknownUnit, false
	}
	var found length.Unit
	for _, unit := range []length.Unit{length.MM, length.In} {
		if !allNear(readings, unit, rod) {
			continue
		}
		if found != length.UnknownUnit {
			return length.UnknownUnit, false
		}
		found = unit
	}
	return found, found != length.UnknownUnit
}

// allNear reports whether every reading, taken as a number of unit, is
// within a tenth of the rod.
func allNear(readings []Reading, unit length.Unit, rod length.Length) bool {
	for _, r := range readings {
		if r.Unit.Length() == 0 {
			return false
		}
		// In floating point: a comparison within a tenth needs no exactness.
		as := r.Value.MM() / r.Unit.Length().MM() * unit.Length().MM()
		if diff := as - rod.MM(); diff > rod.MM()/10 || diff < -rod.MM()/10 {
			return false
		}
	}
	return true
}
