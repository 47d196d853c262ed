package station

import (
	"time"

	"seamfit/internal/bench"
	"seamfit/internal/length"
)

// Effect is something for the loop to do. Effects are values; their results
// come back as events.
type Effect interface{ effect() }

// Save stores the facts in one transaction. Only one is in flight.
type Save struct{ Facts []bench.Fact }

// LookUp asks the records for a number; the answer carries the ticket.
type LookUp struct {
	Ticket int
	Number string
}

// Reload reads a handling from the records.
type Reload struct{ Handling string }

// LookBack asks the records for what the bench measured on such birds.
type LookBack struct{ Like bench.Likeness }

// Trace asks the records what they tell of the band that a bird wears.
type Trace struct{ Inscription string }

// AskStock asks the stock for the next number of a tubing.
type AskStock struct{ Tubing bench.Tubing }

// AskString asks the stock what was measured on the string of a number.
type AskString struct{ Number string }

// Squeeze presses the simulated caliper with the leg between its jaws.
type Squeeze struct{ Width length.Length }

// Poll asks the caliper for the value that it shows.
type Poll struct{}

// Rearm makes the next steady value of a streaming caliper count even if its
// jaws have not moved.
type Rearm struct{}

// Expect tells the caliper's link whether a reading is waited for.
type Expect struct{ On bool }

// Wake asks for a Tick after a time.
type Wake struct{ After time.Duration }

// Bell sounds.
type Bell struct{ Kind BellKind }

// Quit ends the station.
type Quit struct{}

// BellKind tells what a bell says.
type BellKind int

// The bells: one stroke for a capture, two for a refusal.
const (
	BellCapture BellKind = 1
	BellRefusal BellKind = 2
)

func (Save) effect()      {}
func (LookUp) effect()    {}
func (Reload) effect()    {}
func (LookBack) effect()  {}
func (Trace) effect()     {}
func (AskStock) effect()  {}
func (Squeeze) effect()   {}
func (Poll) effect()      {}
func (Rearm) effect()     {}
func (Expect) effect()    {}
func (Wake) effect()      {}
func (Bell) effect()      {}
func (Quit) effect()      {}
func (AskString) effect() {}
