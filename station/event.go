package station

import (
	"time"

	"seamfit/device"
	"seamfit/internal/bench"
	"seamfit/internal/fit"
	"seamfit/internal/seam"
)

// Event is something that happened. The concrete types are the structs of
// this file; each carries its time.
type Event interface{ moment() time.Time }

// Moment is the time of an event.
type Moment struct{ At time.Time }

func (m Moment) moment() time.Time { return m.At }

// Code names a key.
type Code int

// The keys. CodeRune is a printable character, in Key.Rune; CodeControl is
// Ctrl with the small letter in Key.Rune.
const (
	CodeRune Code = iota
	CodeControl
	CodeEnter
	CodeTab
	CodeBackTab
	CodeUp
	CodeDown
	CodeLeft
	CodeRight
	CodeBackspace
	CodeDelete
	CodeEscape
	CodeF1
	CodeF2
	CodeF3
	CodeF4
	CodeF5
	CodeF6
	CodeF7
	CodeF8
	CodeF9
	CodeOther
)

// Key is one key from the keyboard, or from a scanner that types. ID is a
// fresh identifier for what the key may open.
type Key struct {
	Moment
	ID   string
	Code Code
	Rune rune
}

// Paste is text pasted into the terminal. It is never a scan.
type Paste struct {
	Moment
	Text string
}

// Resize is the terminal's new size in cells.
type Resize struct {
	Moment
	Width, Height int
}

// Tick is the passing of time. It comes every second, and when a Wake asked
// for it.
type Tick struct{ Moment }

// Read is a reading from the caliper.
type Read struct {
	Moment
	Reading device.Reading
}

// Live is a value of a caliper that sends without a button, on its way to a
// steady one. It is shown, and is no reading.
type Live struct {
	Moment
	Reading device.Reading
}

// Scanned is a code from a scanner on a port of its own.
type Scanned struct {
	Moment
	ID   string
	Text string
}

// Linked is the state of the link to a device. Open says that readings can
// come; Trouble says why not, with its mend. Neither: it is being opened.
type Linked struct {
	Moment
	Device  Device
	Open    bool
	Trouble string
	Mend    string
}

// Remarked is something that a device said that is neither a reading nor a
// change of its link. Low marks a battery that runs low.
type Remarked struct {
	Moment
	Device Device
	What   string
	Mend   string
	Low    bool
}

// Saved says that the first Count facts of the queue are on the disk.
type Saved struct {
	Moment
	Count int
}

// SaveFailed says that the first Count facts of the queue were not saved.
// Refused: a rule of the records said no; otherwise it is tried again.
type SaveFailed struct {
	Moment
	Count   int
	Refused bool
	What    string
	Mend    string
}

// LookedUp is what the records know of a number. Trouble: they could not be
// read.
type LookedUp struct {
	Moment
	Ticket   int
	Standing bench.Standing
	Trouble  string
}

// Reloaded is a handling as the records have it; without an ID there is no
// such handling in them. Trouble: they could not be read.
type Reloaded struct {
	Moment
	Handling string
	Record   bench.Handling
	Trouble  string
}

// LookedBack is what the bench measured on such birds. Trouble: it could not
// be read.
type LookedBack struct {
	Moment
	Like    bench.Likeness
	History fit.History
	Trouble string
}

// Offered is what the stock offers on a tubing. Trouble: it could not be read.
type Offered struct {
	Moment
	Tubing  bench.Tubing
	Offer   bench.Offer
	Trouble string
}

// Traced is what the records tell of the band that a bird wears.
type Traced struct {
	Moment
	Tracks Tracks
}

// StringTold is what was measured on the string of a number; empty where
// nothing was, or it could not be read.
type StringTold struct {
	Moment
	Number   string
	Measures seam.StringMeasures
}

// Doubted is something that was found to stand against the bench while it is
// worked at.
type Doubted struct {
	Moment
	What string
}

// Squeezed is the answer of the simulated caliper when it could not be
// squeezed.
type Squeezed struct {
	Moment
	Trouble string
}
