package length

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
)

// The errors of Parse and ParsePerson.
var (
	// ErrSyntax: the text is not a decimal number.
	ErrSyntax = errors.New("not a decimal number")
	// ErrTooFine: the text has digits below one nanometre.
	ErrTooFine = errors.New("finer than a nanometre")
)

// Parse reads a decimal number of unit u exactly. The grammar is
//
//	[+|-] digits [. digits]   or   [+|-] . digits
//
// with no blanks, no exponent and no thousands mark. The second result is
// the step of the last digit written (8.40 mm: 10 µm), which for a gauge is
// the finest its display could show; a 0.0005 in gauge writes steps of
// 0.0001 in and its true resolution is a setting of the device.
//
// It returns ErrSyntax, ErrTooFine (a non-zero digit below 1 nm: the value
// is never rounded) or ErrRange.
func Parse(s string, u Unit) (value, step Length, err error) {
	if u.Length() == 0 {
		return 0, 0, fmt.Errorf("unit %v: %w", u, ErrSyntax)
	}
	body, negative := s, false
	if body != "" && (body[0] == '+' || body[0] == '-') {
		negative = body[0] == '-'
		body = body[1:]
	}
	whole, frac, point := strings.Cut(body, ".")
	if whole+frac == "" || (point && frac == "") || !allDigits(whole) || !allDigits(frac) {
		return 0, 0, ErrSyntax
	}
	unit := int64(u.Length())
	if whole != "" {
		w, err := strconv.ParseInt(whole, 10, 64)
		if err != nil || w > (1<<62)/unit {
			return 0, 0, ErrRange
		}
		value = Length(w * unit)
	}
	step = u.Length()
	for _, digit := range []byte(frac) {
		d := Length(digit - '0')
		if step%10 != 0 {
			if d != 0 {
				return 0, 0, ErrTooFine
			}
			continue
		}
		step /= 10
		value += d * step
	}
	if negative {
		value = -value
	}
	return value, step, nil
}

// Typed is a length as a person typed it: its value, the step of the last
// digit, and the unit, the text's own or the one that was meant without.
type Typed struct {
	Value Length
	Step  Length
	Unit  Unit
}

// ParsePerson reads what a person types: as Parse, and also blanks around
// the number, a decimal comma, and a unit behind it ("8,42", "0.3315 in").
// Without a unit, u is meant. Its errors are Parse's.
func ParsePerson(s string, u Unit) (Typed, error) {
	s = strings.TrimSpace(s)
	for _, suffix := range []string{"mm", "MM", "inch", "in", "IN", "\""} {
		if rest, found := strings.CutSuffix(s, suffix); found {
			unit, err := ParseUnit(suffix)
			if err != nil {
				return Typed{}, err
			}
			s, u = strings.TrimRight(rest, " "), unit
			break
		}
	}
	if strings.Count(s, ",") == 1 && !strings.Contains(s, ".") {
		s = strings.Replace(s, ",", ".", 1)
	}
	value, step, err := Parse(s, u)
	return Typed{Value: value, Step: step, Unit: u}, err
}

// Decimals returns how many decimals of unit u it takes to write multiples
// of step exactly: 2 for 0.01 mm, 4 for 0.0005 in, 5 for 0.00005 in. At most
// 9; a step that no such number of decimals writes exactly gives 9.
func Decimals(step Length, u Unit) int {
	place := u.Length()
	n := 0
	for ; n < 9 && place != 0 && step%place != 0 && place%10 == 0; n++ {
		place /= 10
	}
	return n
}

// Format writes l in unit u with the given number of decimals (0 to 9),
// rounding half away from zero, as a gauge's display does. The sign of a
// value that rounds to zero is dropped.
func (l Length) Format(u Unit, decimals int) string {
	unit := int64(u.Length())
	if unit == 0 {
		return "?"
	}
	decimals = min(max(decimals, 0), 9)
	scale := int64(1)
	for range decimals {
		scale *= 10
	}
	// Whole units first, so that the product below stays in range.
	magnitude := int64(l.Abs())
	whole, rest := magnitude/unit, magnitude%unit
	frac := (rest*scale*2 + unit) / (2 * unit)
	if frac >= scale {
		whole, frac = whole+1, frac-scale
	}
	var b strings.Builder
	if l < 0 && (whole != 0 || frac != 0) {
		b.WriteByte('-')
	}
	b.WriteString(strconv.FormatInt(whole, 10))
	if decimals > 0 {
		fmt.Fprintf(&b, ".%0*d", decimals, frac)
	}
	return b.String()
}

// String writes l in millimetres with as many decimals as it takes to be
// exact, at least two: "8.42 mm", "8.3947 mm".
func (l Length) String() string {
	return l.Exact() + " mm"
}

// Exact writes l in millimetres without its unit, exact, with at least two
// decimals. Parse reads it back to the same Length.
func (l Length) Exact() string {
	s := l.Format(MM, 6)
	twoPlaces := strings.IndexByte(s, '.') + 3
	return s[:twoPlaces] + strings.TrimRight(s[twoPlaces:], "0")
}

func allDigits(s string) bool {
	for i := range len(s) {
		if s[i] < '0' || s[i] > '9' {
			return false
		}
	}
	return true
}
