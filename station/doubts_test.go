package station_test

import (
	"testing"

	"seamfit/internal/bench"
)

// What stands against the caliper is shown before the first bird and with one
// in the hand, whatever else is asked.
func TestDoubtsOfTheCaliperAreShownAllTheTime(t *testing.T) {
	const doubt = "! CALIPER IN DOUBT: the check lies out of limits. Calibrate it."
	told := options()
	told.Doubts = []string{doubt[2:]}
	r := open(t, bench.State{Setup: setup(t), Shift: shift()}, told)
	r.shows(doubt)
	r.told().shows(doubt)
	r.readings(302, 301, 303).shows(doubt)
}
