package capture

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	"seamfit/device"
	"seamfit/internal/length"
)

// magic is the first line of every recording, with the form's version.
const magic = "seamfit capture 1"

// Header says what was recorded and how.
type Header struct {
	Instrument string // in general words: no maker, no serial number
	Form       device.Form
	Baud       int         // 0: not a serial line
	Framing    string      // as device.ParseFraming reads it; empty with Baud 0
	Unit       length.Unit // the setting for frames that name none
	Date       time.Time
}

// Direction tells who sent a chunk.
type Direction byte

// The directions of a chunk.
const (
	FromDevice Direction = '<'
	ToDevice   Direction = '>'
)

// Chunk is a piece of a recording: bytes that came, or went, at once.
type Chunk struct {
	Offset    time.Duration // since the recording began, whole microseconds
	Direction Direction
	Bytes     []byte
}

// Capture is a whole recording. It is read-only once made.
type Capture struct {
	Header Header
	Chunks []Chunk
}

// text returns the header's lines with the empty line that ends them.
func (h Header) text() (string, error) {
	if err := h.check(); err != nil {
		return "", err
	}
	var b strings.Builder
	line := func(key, value string) {
		if value != "" {
			fmt.Fprintf(&b, "%s: %s\n", key, value)
		}
	}
	fmt.Fprintln(&b, magic)
	line("instrument", h.Instrument)
	line("form", string(h.Form))
	if h.Baud != 0 {
		line("baud", strconv.Itoa(h.Baud))
		line("framing", h.Framing)
	}
	if h.Unit != length.UnknownUnit {
		line("unit", h.Unit.String())
	}
	line("date", h.Date.UTC().Format(time.RFC3339))
	return b.String() + "\n", nil
}

// check refuses what text could not write or read would not take back.
func (h Header) check() error {
	if device.Escape([]byte(h.Instrument)) != h.Instrument || strings.TrimSpace(h.Instrument) != h.Instrument {
		return fmt.Errorf("the instrument %q must be plain ASCII without quotes or blanks around it", h.Instrument)
	}
	if h.Instrument == "" {
		return errors.New("the instrument is missing; describe it in general words")
	}
	if _, err := device.ParseForm(string(h.Form)); err != nil {
		return err
	}
	if h.Baud < 0 {
		return fmt.Errorf("a speed of %d baud makes no sense", h.Baud)
	}
	if h.Baud != 0 {
		if _, err := device.ParseFraming(h.Framing); err != nil {
			return err
		}
	}
	return nil
}
