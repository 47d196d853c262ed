package main

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"seamfit/internal/catalogue"
	"seamfit/internal/length"
	"seamfit/internal/seam"
	"seamfit/internal/store"
)

// knownString is what the stock knows of the string that a number is of. The
// zero value is of a band whose string nobody has named.
type knownString struct {
	number   string // of the string
	size     catalogue.Size
	measures seam.StringMeasures // of closed bands of it; may be empty
	step     length.Length       // of the display that measured
}

// errNoString is wrapped where the stock has no string with a number.
var errNoString = errors.New("is of no string in the stock; receive its string, or leave it out")

// stringOf returns what the stock knows of the string of a number; records may
// be nil. It returns an error that wraps errNoString where the stock does not
// have it, and the pattern's for what is no number.
func (f benchFiles) stringOf(ctx context.Context, records *store.Store, text string) (knownString, error) {
	number, err := f.setup.Pattern.Parse(text)
	if err != nil {
		return knownString{}, fmt.Errorf("%q: %w", text, err)
	}
	s := knownString{number: number.String(), step: f.settings.Measure.Resolution.Length}
	if records == nil {
		return s, fmt.Errorf("%s %w", s.number, errNoString)
	}
	standing, err := records.Standing(ctx, s.number)
	if err != nil {
		return s, err
	}
	if standing.Size == "" {
		return s, fmt.Errorf("%s %w", s.number, errNoString)
	}
	table, _ := f.setup.Book.Catalogue(f.setup.Catalogue)
	s.size, _ = table.Size(standing.Size)
	s.measures, err = records.LastMeasures(ctx, s.number)
	return s, err
}

// complete fills in what was not given of a closed band. It returns a note on
// what the string gave.
func (s knownString) complete(c *seam.Closed) (note string) {
	whole, took := s.measures.Complete(*c, s.size, s.step)
	*c = whole
	if len(took) == 0 {
		return ""
	}
	return fmt.Sprintf("%s as measured on the string of %s", joined(took), s.number)
}

// joined writes words as a list.
func joined(words []string) string {
	text := ""
	for i, w := range words {
		switch {
		case i == 0:
		case i == len(words)-1:
			text += " and "
		default:
			text += ", "
		}
		text += w
	}
	return text
}

// judged judges a closed band with the bench's caliper; note, if any, heads
// the judgement's notes.
func (f benchFiles) judged(a *app, c seam.Closed, note string) (seam.Judgement, error) {
	j, err := seam.Judge(c, f.setup.SeamCaliper(c.Widths, a.now()), seamLimits(f.settings.Seam))
	if note != "" {
		j.Notes = slices.Insert(j.Notes, 0, note)
	}
	return j, err
}
