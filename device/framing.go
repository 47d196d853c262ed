package device

import (
	"fmt"

	"go.bug.st/serial"
)

// Framing is how a character travels on a serial line.
type Framing struct {
	DataBits int  // 7 or 8
	Parity   byte // 'N' none, 'E' even, 'O' odd
	StopBits int  // 1 or 2
}

// ParseFraming reads the usual three characters: "8N1", "7E2". The error
// says what is meant.
func ParseFraming(s string) (Framing, error) {
	wrong := fmt.Errorf("framing %q is not known; write data bits 7 or 8, parity N, E or O, stop bits 1 or 2, as in 8N1 or 7E2", s)
	if len(s) != 3 {
		return Framing{}, wrong
	}
	f := Framing{DataBits: int(s[0] - '0'), Parity: s[1], StopBits: int(s[2] - '0')}
	if f.check() != nil {
		return Framing{}, wrong
	}
	return f, nil
}

// String returns what ParseFraming reads.
func (f Framing) String() string {
	return fmt.Sprintf("%d%c%d", f.DataBits, f.Parity, f.StopBits)
}

func (f Framing) check() error {
	known := (f.DataBits == 7 || f.DataBits == 8) && (f.StopBits == 1 || f.StopBits == 2) &&
		(f.Parity == 'N' || f.Parity == 'E' || f.Parity == 'O')
	if !known {
		return fmt.Errorf("framing of %d data bits, parity %q, %d stop bits is not known; use for example 8N1 or 7E2",
			f.DataBits, f.Parity, f.StopBits)
	}
	return nil
}

// mode returns the port library's settings for baud and f, which has been
// checked.
func (f Framing) mode(baud int) *serial.Mode {
	m := &serial.Mode{BaudRate: baud, DataBits: f.DataBits, StopBits: serial.OneStopBit}
	if f.StopBits == 2 {
		m.StopBits = serial.TwoStopBits
	}
	switch f.Parity {
	case 'E':
		m.Parity = serial.EvenParity
	case 'O':
		m.Parity = serial.OddParity
	default:
		m.Parity = serial.NoParity
	}
	return m
}
