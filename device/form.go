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
	// Channel is a gauge multiplexer's line without a unit.
	Channel Form = "channel"
	// Wide is a signed field of 8 characters and a unit.
	Wide Form = "wide"
	// Multiplexed is a line with channel, flags, value and unit.
	Multiplexed Form = "multiplexed"
	// Nibbles is a frame of 13 nibbles as hexadecimal digits.
	Nibbles Form = "nibbles"
	// Typed is what a caliper types that acts as a keyboard.
	Typed Form = "typed"
)

// Forms returns every wire form, in the order in which lists show them.
func Forms() []Form { return append(SerialForms(), Typed) }

// SerialForms returns the forms that come over a serial port.
func SerialForms() []Form {
	return []Form{Plain, Print, Channel, Wide, Multiplexed, Nibbles}
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

// NamesUnit reports whether every frame of the form carries its unit; the
// others need a setting.
func (f Form) NamesUnit() bool { return f == Print || f == Wide || f == Multiplexed }

// fields are the parts of a frame that carries a value. Number is digits, a
// point and digits; unit is UnknownUnit when the frame names none.
type fields struct {
	negative bool
	number   []byte
	unit     length.Unit
	channel  byte
	scratch  [maxLine]byte // for a number that is not in the line as it stands
}

// parser splits one line, without its end, by a form's whole grammar. It
// returns "" for a frame with a value, else the kind of what it is. Lines are
// never empty.
type parser func(line []byte, f *fields) Kind

// parserOf returns the parser of a form, or nil.
func parserOf(form Form, decimalComma bool) parser {
	switch form {
	case Plain:
		return parsePlain
	case Print:
		return parsePrint
	case Channel:
		return parseChannel
	case Wide:
		return parseWide
	case Multiplexed:
		return parseMultiplexed
	case Nibbles:
		return parseNibbles
	case Typed:
		if decimalComma {
			return parseTypedComma
		}
		return parseTyped
	default:
		return nil
	}
}

// isDecimal reports whether b is digits, a point, digits, with at least one
// digit on either side and at most 12 in all. A frame without decimals is
// refused: every gauge that measures legs shows some, and a cut frame often
// does not.
func isDecimal(b []byte) bool {
	digits, point := 0, -1
	for i, c := range b {
		switch {
		case isDigit(c):
			digits++
		case c == '.' && point < 0:
			point = i
		default:
			return false
		}
	}
	return point > 0 && point < len(b)-1 && digits <= 12
}

func isDigit(c byte) bool { return c >= '0' && c <= '9' }

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
