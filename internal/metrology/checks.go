package metrology

import (
	"fmt"
	"slices"
	"time"
)

// Checks are the checks of one caliper, the newest first.
type Checks []Check

// History returns the errors, in millimetres and in order of time, of those
// checks on a rod that set the limits of the next one: the ones in limits,
// made since the given time (zero: all). A new calibration begins a new
// history.
func (c Checks) History(rod string, since time.Time) []float64 {
	var history []float64
	for _, check := range slices.Backward(c) {
		if check.Rod == rod && check.Answers == "" && check.InLimits && !check.At.Before(since) {
			history = append(history, check.Error.MM())
		}
	}
	return history
}

// Open returns the checks that are out of limits and stand: the last on its
// rod, made since the given time, and without a stated reason to go on.
func (c Checks) Open(since time.Time) []Check {
	answered, seen := map[string]bool{}, map[string]bool{}
	for _, check := range c {
		answered[check.Answers] = true
	}
	var open []Check
	for _, check := range c {
		if check.Answers != "" || seen[check.Rod] {
			continue
		}
		seen[check.Rod] = true
		if !check.InLimits && check.Reason == "" && !answered[check.ID] && !check.At.Before(since) {
			open = append(open, check)
		}
	}
	return open
}

// Words says how a check stands to its limits.
func (c Check) Words() string {
	where := "within"
	if !c.InLimits {
		where = "outside"
	}
	return fmt.Sprintf("the check on rod %s of %s reads %+.4f mm off, %s the limits %+.4f to %+.4f mm",
		c.Rod, c.At.Format("2006-01-02 15:04"), c.Error.MM(), where, c.Low.MM(), c.High.MM())
}
