package device

import (
	"context"
	"fmt"
	"sync"
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
// It has no goroutine of its own beyond the open source's: all this happens
// inside Next, which one goroutine calls. The other methods may be called
// from any.
type Supervisor struct {
	cfg  SupervisorConfig
	open Opener
	list Lister
	dec  *Decoder // of the source that is open, or of nobody
	quit chan struct{}
	wake chan struct{} // one slot: something that Next waits by has changed

	// Of the goroutine that calls Next.
	port    string // to open next
	id      string
	next    time.Time       // of the next attempt
	wait    time.Duration   // before the one after it
	steady  *SteadyChannels // nil: every frame counts
	pending []Event

	mu       sync.Mutex // guards all below
	opening  *opening   // while a port is being opened
	src      *Serial    // while one is open
	state    State
	closed   bool
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
	cfg.Serial = serial
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
	setDefault(&cfg.FirstWait, 250*time.Millisecond)
	setDefault(&cfg.LongestWait, 5*time.Second)
	setDefault(&cfg.AnswerLimit, 2*time.Second)
	if list == nil {
		list = func() ([]PortInfo, error) { return nil, nil }
	}
	return &Supervisor{
		cfg: cfg, open: open, list: list, dec: dec, wait: cfg.FirstWait,
		quit: make(chan struct{}), wake: make(chan struct{}, 1),
		port: serial.Port, id: cfg.ID, steady: steady,
	}, nil
}

func setDefault(d *time.Duration, value time.Duration) {
	if *d <= 0 {
		*d = value
	}
}

// Name returns the device's name.
func (s *Supervisor) Name() string { return s.cfg.Serial.Device }

// State returns how the link stands.
func (s *Supervisor) State() State {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.state
}

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

// Close ends the supervisor and releases Next. The port is released when it
// returns, or as soon as an opening that hangs comes to an end.
func (s *Supervisor) Close() error {
	s.mu.Lock()
	src, opening, again := s.src, s.opening, s.closed
	s.closed = true
	s.mu.Unlock()
	if again {
		return nil
	}
	close(s.quit)
	if opening != nil {
		opening.abandon()
	}
	if src == nil {
		return nil
	}
	return src.Close()
}

// Next waits for the next event. It returns ErrClosed after Close, and ctx's
// error when that ends first, by which nothing is lost.
func (s *Supervisor) Next(ctx context.Context) (Event, error) {
	for {
		if err := s.ended(ctx); err != nil {
			return Event{}, err
		}
		if len(s.pending) > 0 {
			event := s.pending[0]
			s.pending = s.pending[1:]
			return event, nil
		}
		if err := s.step(ctx); err != nil {
			return Event{}, err
		}
	}
}

// step does what comes next and may leave events pending. Its error is ctx's:
// what Close has brought about shows in ended.
func (s *Supervisor) step(ctx context.Context) error {
	s.mu.Lock()
	src, opening := s.src, s.opening
	s.mu.Unlock()
	switch {
	case src != nil:
		return s.listen(ctx, src)
	case opening != nil:
		return s.await(ctx, opening)
	default:
		return s.attempt(ctx)
	}
}

func (s *Supervisor) ended(ctx context.Context) error {
	select {
	case <-s.quit:
		return fmt.Errorf("%s: %w", s.Name(), ErrClosed)
	default:
		return ctx.Err()
	}
}
