// Package length holds exact lengths: whole nanometres in an int64, and the
// units in which instruments and people write them.
//
// Every step that an instrument shows is a whole number of nanometres
// (0.01 mm = 10 000, 0.0005 in = 12 700, 0.00005 in = 1 270), so nothing is
// rounded on the way in. Conversion to float64 is for statistics only.
//
// The package does no input or output; its values may be shared freely
// between goroutines.
package length

import (
	"errors"
	"math"
)

// Length is a distance in whole nanometres. The zero value is no length.
// An int64 reaches ±9.2e9 mm, far beyond any leg or band.
type Length int64

// The units of which other lengths are multiples.
const (
	Nanometre  Length = 1
	Micrometre        = 1_000 * Nanometre
	Millimetre        = 1_000_000 * Nanometre
	Inch              = 25_400_000 * Nanometre // exact by definition (international inch, 1959)
)

// ErrRange is returned when a value is too large for a Length, is infinite,
// or is not a number.
var ErrRange = errors.New("length out of range")

// MM returns l in millimetres, for statistics and display only: the result
// may differ from the exact value by half a unit in the last place.
func (l Length) MM() float64 { return float64(l) / float64(Millimetre) }

// FromMM returns the length nearest to mm millimetres, for results of a
// computation. Readings and typed values go through Parse, which never
// rounds. It returns ErrRange for NaN, infinities and values that do not fit.
func FromMM(mm float64) (Length, error) {
	nm := math.Round(mm * float64(Millimetre))
	if math.IsNaN(nm) || nm >= math.MaxInt64 || nm <= math.MinInt64 {
		return 0, ErrRange
	}
	return Length(nm), nil
}

// Mean returns the mean of lengths, 0 for none.
func Mean(values []Length) (m Length) {
	for _, v := range values {
		m += v
	}
	return m / Length(max(len(values), 1))
}

// Abs returns the magnitude of l.
func (l Length) Abs() Length {
	if l < 0 {
		return -l
	}
	return l
}

// Unit is the unit in which a value was written.
type Unit uint8

// The units that calipers show.
const (
	UnknownUnit Unit = iota
	MM
	In
)

// Length returns the length of one unit; 0 for UnknownUnit.
func (u Unit) Length() Length {
	switch u {
	case MM:
		return Millimetre
	case In:
		return Inch
	default:
		return 0
	}
}

// String returns the unit's symbol: "mm", "in", or "?".
func (u Unit) String() string {
	switch u {
	case MM:
		return "mm"
	case In:
		return "in"
	default:
		return "?"
	}
}

// ParseUnit reads a unit's symbol in either case. It returns ErrSyntax for
// anything but mm, in, inch and ".
func ParseUnit(s string) (Unit, error) {
	switch s {
	case "mm", "MM", "Mm":
		return MM, nil
	case "in", "IN", "In", "inch", "INCH", "\"":
		return In, nil
	default:
		return UnknownUnit, ErrSyntax
	}
}
