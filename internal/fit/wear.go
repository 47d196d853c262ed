package fit

import (
	"fmt"
	"strings"

	"seamfit/internal/catalogue"
)

// MetalAdvice is what speaks for hard metal on a bird, and how long a band of
// the metal in hand stays readable where its wear is known.
type MetalAdvice struct {
	HardAdvised bool          `json:"hard_advised"`
	Reasons     []string      `json:"reasons"`
	Wear        *WearEstimate `json:"wear"` // null: no rate is known
}

// WearEstimate is how long a band's number can be read. What is not known is
// null.
type WearEstimate struct {
	PerYear         float64  `json:"per_year"`
	UPerYear        *float64 `json:"u_per_year"`
	ReadableYears   float64  `json:"readable_years"`
	UReadableYears  *float64 `json:"u_readable_years"`
	LongevityYears  *float64 `json:"longevity_years"`
	Source          string   `json:"source"`
	LongevitySource string   `json:"longevity_source"`
}

// Place is what the bench's own settings say of wear there.
type Place struct {
	// Water is "salt", "abrasive" or "" (neither): what the birds of this place
	// stand in.
	Water string
	// ReadablePart is the part of a new band's wall at which its number can't be
	// read any more.
	ReadablePart float64
}

// AdviseMetal tells which metal is advised for a species at a place, with the
// reasons, and for a metal with a known rate of wear r a year how long a number
// can be read: with p the part of the wall at which it no longer can,
//
//	years = (1 − p)/r,   u(years) = (1 − p)·u(r)/r²
//
// as long as the wall thins by the same amount each year and in the proportion
// in which the metal goes. wear is nil where no rate is known; a species' years
// stand beside only when their source is named.
func AdviseMetal(sp catalogue.Species, wear *catalogue.Wear, at Place) MetalAdvice {
	advice := MetalAdvice{HardAdvised: sp.HardMetal, Reasons: append([]string{}, sp.MetalReasons...)}
	if at.Water != "" {
		advice.HardAdvised = true
		advice.Reasons = append(advice.Reasons, at.Water+" water at this place")
	}
	if wear == nil || !(wear.PerYear > 0) || !(at.ReadablePart > 0 && at.ReadablePart < 1) {
		return advice
	}
	estimate := &WearEstimate{
		PerYear: wear.PerYear, ReadableYears: (1 - at.ReadablePart) / wear.PerYear, Source: wear.Source,
	}
	if wear.U > 0 {
		u, uYears := wear.U, (1-at.ReadablePart)*wear.U/(wear.PerYear*wear.PerYear)
		estimate.UPerYear, estimate.UReadableYears = &u, &uYears
	}
	if sp.LongevityYears > 0 && sp.LongevitySource != "" {
		years := sp.LongevityYears
		estimate.LongevityYears, estimate.LongevitySource = &years, sp.LongevitySource
	}
	advice.Wear = estimate
	return advice
}

// Words says the advice in short sentences: why hard metal, and for how long
// the number can be read.
func (a MetalAdvice) Words(metal string) []string {
	var lines []string
	if a.HardAdvised {
		text := "hard metal advised: " + strings.Join(a.Reasons, ", ")
		lines = append(lines, strings.TrimSuffix(text, ": "))
	}
	w := a.Wear
	if w == nil {
		return lines
	}
	years := fmt.Sprintf("%.0f", w.ReadableYears)
	if w.UReadableYears != nil {
		years += fmt.Sprintf(" ± %.0f", 2**w.UReadableYears)
	}
	text := fmt.Sprintf("%s wears by %.2f %% a year and stays readable for about %s years (%s)", metal, 100*w.PerYear, years, w.Source)
	if w.LongevityYears != nil {
		word := "longer than"
		if w.ReadableYears < *w.LongevityYears {
			word = "LESS than"
		}
		text += fmt.Sprintf("; %s the %.0f years that this species lives (%s)", word, *w.LongevityYears, w.LongevitySource)
	}
	return append(lines, text)
}
