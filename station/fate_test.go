package station_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"seamfit/station"
)

func TestF9AsksForTheFateWhereItAloneIsMissing(t *testing.T) {
	r := newRig(t).told().keys("F9")
	assert.Equal(t, station.StepLeg, r.s.Desk.Step, "a bird in the hand is not asked to leave it")
	r.keys("F8", "F9")
	assert.Equal(t, station.StepFate, r.s.Desk.Step)
	r.shows("How the bird left the hand is not told yet.", "How does the bird leave the hand?")
	r.keys("u", "too young", "Enter", "F9").shows("The record of bird 1 is complete.")
	r = newRig(t).sized().keys("F8", "1232", "F9")
	assert.Equal(t, "1232", r.s.Desk.Typed, "what is half typed stays")
}
