package device

import (
	"bytes"
	"context"
	"time"

	"seamfit/internal/length"
)

// Reading is one value from a device, as the device sent it: never
// corrected, never rounded.
type Reading struct {
	// Raw holds the frame's bytes without its line end.
	Raw []byte
	// Value is exact: Unit's number times its length.
	Value length.Length
	// Unit is the unit in which the device showed the value.
	Unit length.Unit
	// UnitAssumed: the frame had no unit and the setting was used.
	UnitAssumed bool
	// UnitChanged: the reading before it (or, for the first one, the
	// setting) was in another unit.
	UnitChanged bool
	// Resolution is the setting's, or else the step of the last digit.
	Resolution length.Length
	// At is the arrival of the frame's last byte.
	At time.Time
	// Device is the name that the settings give the device.
	Device string
	// Channel tells the gauges behind one multiplexer apart; else empty.
	Channel string
}

// Clone returns r with bytes of its own.
func (r Reading) Clone() Reading {
	r.Raw = bytes.Clone(r.Raw)
	return r
}

// Frame is what one line from a device came to.
type Frame struct {
	Reading
	// Err is nil for a reading; a *FrameError for a frame that carries none;
	// a *Notice for a line that is neither (a battery answer, an echo). The
	// Reading then holds only Raw, At, Device and Channel, so far as known.
	Err error
}

// Owned returns f with bytes that outlive the decoder's next Feed.
func (f Frame) Owned() Frame {
	f.Reading = f.Clone()
	switch e := f.Err.(type) { //nolint:errorlint // the decoder sets Err itself and never wraps it
	case *FrameError:
		e.Raw = f.Raw
	case *Notice:
		e.Raw = f.Raw
	}
	return f
}

// Source delivers the readings of one device.
type Source interface {
	// Next waits for the next reading. Its errors:
	//
	//   - *FrameError and *Notice: a frame that is no reading; call again;
	//   - ErrSilent: nothing came in the quiet time that was set; call again;
	//   - ErrGone: the device or its port has vanished, or a recording has
	//     ended; all readings that arrived before have been delivered;
	//   - ErrClosed: Close was called;
	//   - ctx.Err(): the context ended first; nothing is lost by it.
	//
	// GoesOn tells the first two kinds from the rest.
	Next(ctx context.Context) (Reading, error)
	// Close releases the device and any Next that waits. It may be called
	// more than once and from any goroutine.
	Close() error
	// Name returns the device's name for screens and files.
	Name() string
}
