package station_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"seamfit/station"
)

// gull is a measured herring gull: its size is made butt-end and lock-on.
func (r *rig) gull() *rig {
	return r.keys("F2", "herring gull larus arg", "Enter", "a", "u", "r").readings(722, 720, 723)
}

// A bander with cold fingers is not asked what goes without saying.
func TestTheUsualClosureGoesWithoutSaying(t *testing.T) {
	r := newRig(t).gull().keys("1").shows("Size 6: which metal?", "another closure than butt-end").keys("s")
	assert.Equal(t, station.StepNumber, r.s.Desk.Step)
	assert.Equal(t, "butt-end", r.bird().Choice.Closure)
	r.shows("6 stainless steel, butt-end, fits")
}

func TestAKeyTakesAnotherClosure(t *testing.T) {
	r := newRig(t).gull().keys("1", "c").shows("Which closure?").keys("2").shows("another closure than lock-on").keys("s")
	assert.Equal(t, "lock-on", r.bird().Choice.Closure)
	r.shows("6 stainless steel, lock-on, fits")

	// Also after the choice, which then stands with the same size and metal.
	r.keys("BackTab").shows("c closure").keys("c", "1")
	assert.Equal(t, "butt-end", r.bird().Choice.Closure)
	assert.Equal(t, "stainless steel", r.bird().Choice.Metal)
	assert.Equal(t, "6", r.bird().Choice.Size)

	// A size with one kind has no other.
	newRig(t).measured().keys("1").hides("another closure").keys("c").shows("made with one closure kind for this bird: butt-end").keys("a").shows("2 aluminium, fits")
}

// Changing the closure kind of a band that is closed is a correction, and
// takes its reason.
func TestAClosureKindIsCorrectedWithItsReason(t *testing.T) {
	r := newRig(t).gull().keys("1", "s", "1236-56701", "Enter", "f").keys("Esc", "BackTab", "BackTab")
	assert.Equal(t, station.StepSize, r.s.Desk.Step)
	r.keys("c", "2").shows("reason:")
	assert.Equal(t, "butt-end", r.bird().Choice.Closure)
	r.keys("told wrongly", "Enter")
	assert.Equal(t, "lock-on", r.bird().Choice.Closure)
	assert.Equal(t, "told wrongly", r.bird().Choice.Reason)
}

// Eagles take rivets only (US Geological Survey, notes of its species list).
func TestTheSpeciesClosureComesFirst(t *testing.T) {
	r := newRig(t).keys("F2", "bald eagle", "Enter", "a", "u", "r").readings(1500, 1501, 1502).keys("1").shows("Size 8A: which metal?").hides("another closure")
	r.keys("s")
	assert.Equal(t, "rivet", r.bird().Choice.Closure)
}
