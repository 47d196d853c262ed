package device

import (
	"fmt"
	"time"
)

// SupervisorConfig are the settings of a link that is kept up.
type SupervisorConfig struct {
	// Serial is the port and the device; Serial.Quiet counts while readings
	// are expected.
	Serial SerialConfig
	// ID identifies the device (PortInfo.ID), where the bench has stored it
	// before; empty: taken from the first port that is opened.
	ID string
	// FirstWait and LongestWait bound the waits between attempts to open; each
	// is twice the one before until a frame has come. 0: 250 ms and 5 s.
	FirstWait, LongestWait time.Duration
	// AnswerLimit is how long an asked device may take; 0: 2 s.
	AnswerLimit time.Duration
	// Steady, if set, makes a stream's frames live values, and readings only
	// of those that are captured.
	Steady *SteadyConfig
}

// EventKind says what an Event brings.
type EventKind string

// The kinds of events.
const (
	EventReading EventKind = "reading" // a reading to take
	EventLive    EventKind = "live"    // a value of a stream, to show only
	EventFrame   EventKind = "frame"   // Err: a *FrameError or *Notice
	EventState   EventKind = "state"   // State has changed
)

// Event is something that happened on a supervised link.
type Event struct {
	Kind    EventKind
	Reading Reading // of EventReading and EventLive
	Err     error   // of EventFrame
	State   State   // of EventState
}

// Supervisor keeps a device's link up: it opens the port, reopens it with
// growing waits after a loss, follows the device to another name, and tells
// every change as a state in words. Half a frame from before a loss is never
// joined to one from after it.
//
// One goroutine calls Next, inside of which all this happens. The other methods
// may be called from any.
type Supervisor struct {
	reach[*Serial, Event]

	answerLimit time.Duration
	dec         *Decoder        // of the source that is open, or of nobody
	wake        chan struct{}   // one slot: something that Next waits by has changed
	steady      *SteadyChannels // nil: every frame counts; of the goroutine that calls Next

	// Guarded by the lock of reach.
	expected bool
	heard    time.Time // when the last frame came, or readings began to be expected
	asked    time.Time // zero: no answer is awaited
	rearm    bool
}

// NewSupervisor returns a supervisor that has not opened anything yet; list
// may be nil, and then the port's name alone counts. It fails when a setting
// makes no sense.
func NewSupervisor(cfg SupervisorConfig, open Opener, list Lister) (*Supervisor, error) {
	serial, err := cfg.Serial.complete()
	if err != nil {
		return nil, err
	}
	dec, err := serial.decoder()
	if err != nil {
		return nil, err
	}
	var steady *SteadyChannels
	if cfg.Steady != nil {
		if steady, err = NewSteadyChannels(*cfg.Steady); err != nil {
			return nil, err
		}
	}
	setDefault(&cfg.AnswerLimit, 2*time.Second)
	s := &Supervisor{answerLimit: cfg.AnswerLimit, dec: dec, wake: make(chan struct{}, 1), steady: steady}
	s.reach = reach[*Serial, Event]{
		cfg: serial, open: open, list: list, id: cfg.ID, first: cfg.FirstWait, longest: cfg.LongestWait,
		made: s.made, listen: s.listen, told: func(state State) Event { return Event{Kind: EventState, State: state} },
	}
	s.begin()
	return s, nil
}

// made begins to listen on a port; the lock is held.
func (s *Supervisor) made(cfg SerialConfig, port Port) *Serial {
	s.heard, s.asked = time.Now(), time.Time{}
	return newSerial(cfg, port, s.dec)
}

// State returns how the link stands.
func (s *Supervisor) State() State { return s.standing() }

// Expect says whether readings are expected: silence is told only then.
func (s *Supervisor) Expect(on bool) {
	s.mu.Lock()
	if on && !s.expected {
		s.heard = time.Now()
	}
	s.expected = on
	s.mu.Unlock()
	s.nudge()
}

// Rearm makes the next steady value of a stream count even if the jaws have
// not moved.
func (s *Supervisor) Rearm() {
	s.mu.Lock()
	s.rearm = true
	s.mu.Unlock()
	s.nudge()
}

// Ask asks the device; the answer comes through Next, or StateUnanswered
// when it does not come in time. It fails with ErrGone while the link is
// down, and as Serial.Ask does.
func (s *Supervisor) Ask(q Question) error {
	s.mu.Lock()
	src := s.src
	if src != nil {
		s.asked = time.Now() // before it is sent: the answer may be quick
	}
	s.mu.Unlock()
	if src == nil {
		return fmt.Errorf("%s: %w", s.Name(), ErrGone)
	}
	err := src.Ask(q)
	if err != nil {
		s.mu.Lock()
		s.asked = time.Time{}
		s.mu.Unlock()
	}
	s.nudge()
	return err
}

func (s *Supervisor) nudge() {
	select {
	case s.wake <- struct{}{}:
	default: // it is awake already
	}
}
