package device

import (
	"fmt"
	"strings"

	"seamfit/internal/length"
)

// Form names a wire form: the grammar of a device's frames.
type Form string

// The wire forms. Each has its grammar beside its parser.
const (
	// Plain is a signed decimal in a line, without a unit.
	Plain Form = "plain"
	// Print is a bridge's print-out: a decimal and its unit, streamed.
	Print Form = "print"
)

// Forms returns every wire form, in the order in which lists show them.
func Forms() []Form {
	return []Form{Plain, Print}
}

// ParseForm reads a form's name as settings and flags write it. The error
// names the forms there are.
func ParseForm(s string) (Form, error) {
	names := make([]string, 0, len(Forms()))
	for _, f := range Forms() {
		if string(f) == s {
			return f, nil
		}
		names = append(names, string(f))
	}
	return "", fmt.Errorf("wire form %q is not known; use one of %s", s, strings.Join(names, ", "))
}

// fields are the parts of a frame that carries a value. Number is digits, a
// point and digits; unit is UnknownUnit when the frame names none.
type fields struct {
	negative bool
	number   []byte
	unit     length.Unit
	channel  byte
}

// parser splits one line, without its end, by a form's whole grammar. It
// returns "" for a frame with a value, else the kind of what it is.
type parser func(line []byte, f *fields) Kind

// parserOf returns the parser of a form, or nil.
func parserOf(form Form) parser {
	switch form {
	case Plain:
		return parsePlain
	case Print:
		return parsePrint
	default:
		return nil
	}
}

// namesUnit reports whether every frame of the form carries its unit.
func (f Form) namesUnit() bool { return f == Print }

// isDecimal reports whether b is digits, a point, digits, with at least one
// digit on either side and at most 12 in all. A frame without decimals is
// refused: every gauge that measures legs shows some, and a cut frame often
// does not.
func isDecimal(b []byte) bool {
	digits, point := 0, -1
	for i, c := range b {
		switch {
		case c >= '0' && c <= '9':
			digits++
		case c == '.' && point < 0:
			point = i
		default:
			return false
		}
	}
	return point > 0 && point < len(b)-1 && digits <= 12
}

// sign reads a sign byte; a space stands for plus where the form says so.
func sign(c byte, spaceToo bool) (negative, ok bool) {
	switch c {
	case '+':
		return false, true
	case '-':
		return true, true
	case ' ':
		return false, spaceToo
	default:
		return false, false
	}
}
