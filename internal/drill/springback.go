package drill

import (
	"fmt"
	"math"

	"seamfit/internal/length"
)

// Alloy is what the springy band needs to know of a metal.
type Alloy struct {
	ModulusGPa float64 // Young's modulus
	YieldMPa   float64 // yield strength of the strip that bands are made of
	Hard       bool
}

// alloy returns typical values of a metal [memory]: they set how strongly a
// practice band springs, and are no property of any maker's band.
func alloy(metal string) (Alloy, bool) {
	switch metal {
	case "aluminium":
		return Alloy{ModulusGPa: 70, YieldMPa: 160}, true
	case "stainless steel":
		return Alloy{ModulusGPa: 193, YieldMPa: 520, Hard: true}, true
	case "incoloy":
		return Alloy{ModulusGPa: 196, YieldMPa: 450, Hard: true}, true
	case "monel":
		return Alloy{ModulusGPa: 179, YieldMPa: 480, Hard: true}, true
	case "titanium":
		return Alloy{ModulusGPa: 105, YieldMPa: 480, Hard: true}, true
	default:
		return Alloy{}, false
	}
}

// Blank is a band as it comes: its size and its metal.
type Blank struct {
	Inner, Thickness, Height length.Length
	Metal                    string
}

// Spring returns by how many millimetres a band that was bent all round to its
// closed shape springs open again. For a strip of thickness t bent to the
// radius R (mid-thickness) by pure bending, with a metal that is elastic up to
// its yield strength Y and then flows,
//
//	1 − R/R′ = 3X − 4X³,   X = R·Y/(E·t), at most ½
//
// (the springback relation of Gardiner 1957, Trans. ASME 79:1–9 [memory]; the
// tests derive it anew), and the gap is the part of the circumference 2πR that
// opens. It returns an error for a metal that it does not know, or for a band
// without a size.
func (b Blank) Spring() (float64, error) {
	a, known := alloy(b.Metal)
	switch {
	case !known:
		return 0, fmt.Errorf("how %q springs is not known; practise with another metal", b.Metal)
	case b.Inner <= 0 || b.Thickness <= 0 || b.Height <= 0:
		return 0, fmt.Errorf("a band of %v inner diameter, %v thick and %v high can't be practised with; choose another size", b.Inner, b.Thickness, b.Height)
	}
	r := (b.Inner + b.Thickness).MM() / 2
	return 2 * math.Pi * r * springback(r, b.Thickness.MM(), a), nil
}

// springback is the part of its curvature that a strip loses.
func springback(r, t float64, a Alloy) float64 {
	x := min(r*a.YieldMPa/(1000*a.ModulusGPa*t), 0.5)
	return 3*x - 4*x*x*x
}
