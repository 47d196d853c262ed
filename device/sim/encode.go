package sim

import (
	"fmt"
	"strings"

	"seamfit/device"
	"seamfit/internal/length"
)

// shown is a value as a gauge shows it: a whole number of steps in a unit.
type shown struct {
	value    length.Length
	unit     length.Unit
	decimals int
}

// show rounds a width to whole steps, half away from zero, as displays do.
func show(width, step length.Length, unit length.Unit) shown {
	steps := (width.Abs() + step/2) / step
	value := steps * step
	if width < 0 {
		value = -value
	}
	return shown{value: value, unit: unit, decimals: length.Decimals(step, unit)}
}

// digits returns the number without its sign.
func (s shown) digits() string { return s.value.Abs().Format(s.unit, s.decimals) }

func (s shown) sign(plus string) string {
	if s.value < 0 {
		return "-"
	}
	return plus
}

// encode writes one frame with its line end. It fails when the value does not
// fit the form's field.
func encode(form device.Form, channel int, s shown) ([]byte, error) {
	digits := s.digits()
	switch form {
	case device.Plain:
		return []byte(s.sign("+") + digits + "\r"), nil
	case device.Print:
		return []byte(s.sign("") + digits + " " + s.unit.String() + "\r\n"), nil
	case device.Typed:
		return []byte(s.sign("") + digits + "\r"), nil
	case device.Multiplexed:
		return fmt.Appendf(nil, "%d MW%s%s %s\r\n", channel, s.sign("+"), zeros(digits, 8), s.unit), nil
	case device.Channel:
		if len(digits) > 8 {
			return nil, tooWide(digits, form)
		}
		return fmt.Appendf(nil, "0%dA%s%s\r", channel, s.sign("+"), zeros(digits, 8)), nil
	case device.Wide:
		if len(digits) > 8 {
			return nil, tooWide(digits, form)
		}
		return fmt.Appendf(nil, "%s%8s %s\r\n", s.sign("+"), digits, strings.ToUpper(s.unit.String())), nil
	case device.Nibbles:
		return encodeNibbles(s, digits)
	default:
		return nil, fmt.Errorf("the simulator does not speak wire form %q", form)
	}
}

func encodeNibbles(s shown, digits string) ([]byte, error) {
	whole := strings.Replace(digits, ".", "", 1)
	if len(whole) > 6 || s.decimals > 5 {
		return nil, tooWide(digits, device.Nibbles)
	}
	signed, unit := "0", "0"
	if s.value < 0 {
		signed = "8"
	}
	if s.unit == length.In {
		unit = "1"
	}
	return fmt.Appendf(nil, "FFFF%s%s%d%s\r\n", signed, zeros(whole, 6), s.decimals, unit), nil
}

// zeros fills digits up to n characters from the left.
func zeros(digits string, n int) string {
	return strings.Repeat("0", max(0, n-len(digits))) + digits
}

func tooWide(digits string, form device.Form) error {
	return fmt.Errorf("%s does not fit the field of wire form %q; choose a coarser resolution", digits, form)
}
