package sim

import (
	"fmt"

	"seamfit/device"
	"seamfit/internal/length"
)

// shown is a value as a gauge shows it: a whole number of steps in a unit.
type shown struct {
	value    length.Length
	unit     length.Unit
	decimals int
}

// digits returns the number without its sign.
func (s shown) digits() string { return s.value.Abs().Format(s.unit, s.decimals) }

func (s shown) sign(plus string) string {
	if s.value < 0 {
		return "-"
	}
	return plus
}

// encode writes one frame with its line end.
func encode(form device.Form, s shown) ([]byte, error) {
	switch form {
	case device.Plain:
		return []byte(s.sign("+") + s.digits() + "\r"), nil
	case device.Print:
		return []byte(s.sign("") + s.digits() + " " + s.unit.String() + "\r\n"), nil
	default:
		return nil, fmt.Errorf("the simulator does not speak wire form %q", form)
	}
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
