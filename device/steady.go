package device

import (
	"errors"
	"fmt"
	"time"

	"seamfit/internal/length"
)

// SteadyConfig says when the value of a streaming caliper counts as a
// reading. All values are bench settings.
type SteadyConfig struct {
	// Samples is the least number of samples in the steady time.
	Samples int
	// For is how long the samples must stay within one step.
	For time.Duration
	// Gap: samples farther apart than this are no stream, and the wait for
	// a steady value begins anew.
	Gap time.Duration
	// Rearm is how far the jaws must move from a captured value before the
	// next one is captured.
	Rearm length.Length
	// Least is the smallest value that is captured: jaws that rest closed
	// are no reading. 0 captures all.
	Least length.Length
}

// DefaultSteady returns the bench settings for a stream of 5 to 100 samples a
// second.
func DefaultSteady() SteadyConfig {
	return SteadyConfig{
		Samples: 4, For: 600 * time.Millisecond, Gap: time.Second,
		Rearm: 200 * length.Micrometre, Least: 300 * length.Micrometre,
	}
}

// Check returns an error that says which value makes no sense.
func (c SteadyConfig) Check() error {
	switch {
	case c.Samples < 2:
		return fmt.Errorf("a steady value of %d samples is none; set 2 or more", c.Samples)
	case c.For <= 0 || c.Gap <= 0:
		return errors.New("the steady time and the longest gap must be above 0")
	case c.Rearm <= 0 || c.Least < 0:
		return errors.New("the distance that re-arms must be above 0, and the least value not below 0")
	default:
		return nil
	}
}

// SteadyPhase is what a Steady waits for.
type SteadyPhase string

// The phases.
const (
	SteadyMoving SteadyPhase = "moving" // no steady value yet
	SteadyTaken  SteadyPhase = "taken"  // captured; waits for the jaws to move
)

// Steady picks the steady values out of a stream, each once: a capture comes
// when enough samples have stayed within one step of the display for the set
// time, and no other until the jaws have moved away. It is a pure state
// machine: time comes with the samples. Not safe for several goroutines; one
// Steady serves one channel.
type Steady struct {
	cfg SteadyConfig

	run      int // samples within one step, up to now
	begun    time.Time
	last     time.Time
	low      length.Length
	high     length.Length
	phase    SteadyPhase
	captured length.Length
}

// NewSteady returns a machine that waits for a value. It fails as Check does.
func NewSteady(cfg SteadyConfig) (*Steady, error) {
	if err := cfg.Check(); err != nil {
		return nil, err
	}
	return &Steady{cfg: cfg, phase: SteadyMoving}, nil
}

// Phase returns what s waits for.
func (s *Steady) Phase() SteadyPhase { return s.phase }

// See takes the next sample and reports whether it is the one that captures
// a steady value: r itself, with its own raw bytes.
func (s *Steady) See(r Reading) bool {
	s.extend(r)
	if s.phase == SteadyTaken {
		if (r.Value - s.captured).Abs() < s.cfg.Rearm {
			return false
		}
		s.phase = SteadyMoving
		s.restart(r)
	}
	if s.run < s.cfg.Samples || r.At.Sub(s.begun) < s.cfg.For || r.Value < s.cfg.Least {
		return false
	}
	s.take(r)
	return true
}

func (s *Steady) take(r Reading) { s.phase, s.captured = SteadyTaken, r.Value }

// Lose forgets the samples so far, after an error or a lost link. A value
// that was captured stays so: the same jaws on the same leg after a
// reconnection are no new reading.
func (s *Steady) Lose() { s.run = 0 }

// Rearm makes the next steady value count even if the jaws have not moved:
// for a reading that was set aside or asked for again.
func (s *Steady) Rearm() { s.phase, s.run = SteadyMoving, 0 }

// extend adds r to the run of samples, or begins another with it.
func (s *Steady) extend(r Reading) {
	gap := r.At.Sub(s.last)
	s.last = r.At
	low, high := min(s.low, r.Value), max(s.high, r.Value)
	// A clock that was set back would make a run last for ever.
	if s.run == 0 || gap > s.cfg.Gap || gap < 0 || high-low > r.Resolution {
		s.restart(r)
		return
	}
	s.run++
	s.low, s.high = low, high
}

func (s *Steady) restart(r Reading) {
	s.run, s.begun, s.low, s.high = 1, r.At, r.Value, r.Value
}
