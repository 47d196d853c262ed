package catalogue

import (
	"errors"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"seamfit/internal/length"
)

// Printable returns s with everything that a terminal could take for a
// command, or that cannot be seen, written as an escape.
func Printable(s string) string {
	if isPrintable(s) {
		return s
	}
	quoted := strconv.Quote(s)
	return strings.ReplaceAll(quoted[1:len(quoted)-1], `\"`, `"`)
}

func isPrintable(s string) bool {
	if !utf8.ValidString(s) {
		return false
	}
	for _, r := range s {
		if !unicode.IsPrint(r) {
			return false
		}
	}
	return true
}

// Capital returns text with its first letter large, as a sentence begins.
func Capital(text string) string {
	first, size := utf8.DecodeRuneInString(text)
	if size == 0 {
		return text
	}
	return string(unicode.ToUpper(first)) + text[size:]
}

// errNoUnit is parseLength's error for a bare number: 0.312 may be meant in
// either unit, and the wrong one would hurt a bird.
var errNoUnit = errors.New("has no unit")

// parseLength reads a length with its unit, exactly: "0.078 in", "2.3 mm",
// and fractions of an inch or millimetre, "13/64 in", "1 1/8 in". It returns
// errNoUnit, or the errors of length.Parse; a fraction that is no whole
// number of nanometres is length.ErrTooFine.
func parseLength(s string) (length.Length, error) {
	fields := strings.Fields(s)
	if len(fields) < 2 {
		return 0, errNoUnit
	}
	unit, err := length.ParseUnit(fields[len(fields)-1])
	if err != nil {
		return 0, errNoUnit
	}
	switch numbers := fields[:len(fields)-1]; {
	case len(numbers) == 1 && strings.Contains(numbers[0], "/"):
		return parseFraction(numbers[0], unit)
	case len(numbers) == 1:
		value, _, err := length.Parse(numbers[0], unit)
		return value, err
	case len(numbers) == 2:
		whole, err := strconv.ParseUint(numbers[0], 10, 8)
		if err != nil {
			return 0, length.ErrSyntax
		}
		part, err := parseFraction(numbers[1], unit)
		return length.Length(whole)*unit.Length() + part, err
	default:
		return 0, length.ErrSyntax
	}
}

func parseFraction(s string, unit length.Unit) (length.Length, error) {
	above, below, _ := strings.Cut(s, "/")
	n, errAbove := strconv.ParseUint(above, 10, 16)
	d, errBelow := strconv.ParseUint(below, 10, 16)
	if errAbove != nil || errBelow != nil || d == 0 {
		return 0, length.ErrSyntax
	}
	product := int64(n) * int64(unit.Length())
	if product%int64(d) != 0 {
		return 0, length.ErrTooFine
	}
	return length.Length(product / int64(d)), nil
}
