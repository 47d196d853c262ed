package bands

import "slices"

// State is where a band is. Each number of the stock is in exactly one.
type State string

// The states of a number.
const (
	InStock   State = "in stock"  // received, still in its string
	Opened    State = "opened"    // opened onto tubing, issued to a bander
	OnBird    State = "on bird"   // on a leg
	Destroyed State = "destroyed" // taken off, or spoilt
	Lost      State = "lost"      // can't be found; never used again when found
	Rejected  State = "rejected"  // refused at inspection
	Returned  State = "returned"  // sent back
)

// States lists all states, in the order of a band's life.
func States() []State {
	return []State{InStock, Opened, OnBird, Destroyed, Lost, Rejected, Returned}
}

// Valid reports whether s is one of the states.
func (s State) Valid() bool { return slices.Contains(States(), s) }

// Usable reports whether a number in this state may be planned for a bird.
// Lost-then-found bands are not used (US Geological Survey, Bird Banding
// Laboratory).
func (s State) Usable() bool { return s == InStock || s == Opened }
