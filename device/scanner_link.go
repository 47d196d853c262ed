package device

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"sync"
	"time"
)

// EventScan brings a label that a scanner has read, or one that is refused.
const EventScan EventKind = "scan"

// ScanEvent is something that happened on a scanner's link: EventScan,
// EventFrame (scans were lost because nobody took them in time) or
// EventState.
type ScanEvent struct {
	Kind  EventKind
	Scan  Scan
	Err   error // of EventFrame: a *FrameError of KindDropped
	State State
}

// ScannerLink keeps a scanner's link up as a Supervisor does a caliper's: it
// reopens the port with growing waits, follows the device to another name, and
// tells every change as a state in words. Half a scan from before a loss is
// never joined to one from after it. A scanner has no silence: nobody knows
// when it should be heard.
//
// One goroutine calls Next; Close may be called from any.
type ScannerLink struct {
	cfg  SerialConfig
	opts ScannerOptions
	open Opener
	list Lister
	quit chan struct{}

	// Of the goroutine that calls Next.
	port    string
	id      string
	next    time.Time
	wait    time.Duration
	state   State
	pending []ScanEvent

	mu      sync.Mutex // guards all below
	opening *opening
	src     *Scanner
	closed  bool
}

// The waits between attempts to open a scanner's port; those of a Supervisor.
const (
	scannerFirstWait   = 250 * time.Millisecond
	scannerLongestWait = 5 * time.Second
)

// NewScannerLink returns a link that has not opened anything yet; list may be
// nil. It fails when a setting makes no sense.
func NewScannerLink(cfg SerialConfig, opts ScannerOptions, open Opener, list Lister) (*ScannerLink, error) {
	cfg, err := cfg.complete()
	if err != nil {
		return nil, err
	}
	cfg.Quiet = 0
	opts.Device, opts.Clock = cfg.Device, cfg.Clock
	if _, err := NewScanDecoder(opts); err != nil {
		return nil, err
	}
	if list == nil {
		list = func() ([]PortInfo, error) { return nil, nil }
	}
	return &ScannerLink{
		cfg: cfg, opts: opts, open: open, list: list, quit: make(chan struct{}), port: cfg.Port, wait: scannerFirstWait,
	}, nil
}

// Name returns the scanner's name.
func (s *ScannerLink) Name() string { return s.cfg.Device }

// Next waits for the next event. It returns ErrClosed after Close, and ctx's
// error when that ends first, by which nothing is lost.
func (s *ScannerLink) Next(ctx context.Context) (ScanEvent, error) {
	for {
		select {
		case <-s.quit:
			return ScanEvent{}, fmt.Errorf("%s: %w", s.cfg.Device, ErrClosed)
		default:
		}
		if err := ctx.Err(); err != nil {
			return ScanEvent{}, err
		}
		if len(s.pending) > 0 {
			event := s.pending[0]
			s.pending = s.pending[1:]
			return event, nil
		}
		s.step(ctx)
	}
}

// Close ends the link and releases Next.
func (s *ScannerLink) Close() error {
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

// step does what comes next and may leave events pending.
func (s *ScannerLink) step(ctx context.Context) {
	s.mu.Lock()
	src, opening := s.src, s.opening
	s.mu.Unlock()
	switch {
	case src != nil:
		s.listen(ctx, src)
	case opening != nil:
		s.await(ctx, opening)
	default:
		s.attempt(ctx)
	}
}

func (s *ScannerLink) listen(ctx context.Context, src *Scanner) {
	scan, err := src.Next(ctx)
	switch {
	case err == nil:
		s.wait = scannerFirstWait
		s.pending = append(s.pending, ScanEvent{Kind: EventScan, Scan: scan})
	case GoesOn(err):
		s.pending = append(s.pending, ScanEvent{Kind: EventFrame, Err: err})
	case errors.Is(err, ErrGone):
		_ = src.Close() // its port is released already; an unwilling system is told of at the next attempt
		s.hold(nil, nil)
		s.postpone()
		s.become(stateLost(s.cfg.Device, Escape([]byte(s.port))))
	}
}

// attempt waits for its time and begins to open the port that the scanner is
// on.
func (s *ScannerLink) attempt(ctx context.Context) {
	timer := time.NewTimer(time.Until(s.next))
	defer timer.Stop()
	select {
	case <-timer.C:
	case <-s.quit:
		return
	case <-ctx.Done():
		return
	}
	// A listing that fails leaves the port's name to go by.
	ports, _ := s.list()
	name, other := choosePort(s.port, s.id, ports)
	if other {
		s.postpone()
		s.become(stateOther(s.cfg.Device, Escape([]byte(name))))
		return
	}
	if s.id == "" {
		s.id = idOf(name, ports)
	}
	s.port = name
	if s.state.Kind == "" {
		s.become(stateOpening(Escape([]byte(name))))
	}
	cfg := s.cfg
	cfg.Port = name
	s.hold(beginOpening(cfg, s.open), nil)
}

// hold keeps what is open or being opened, and gives it up if the link was
// closed meanwhile.
func (s *ScannerLink) hold(o *opening, src *Scanner) {
	s.mu.Lock()
	s.opening, s.src = o, src
	closed := s.closed
	s.mu.Unlock()
	switch {
	case !closed:
	case o != nil:
		o.abandon()
	case src != nil:
		_ = src.Close() // nobody waits for it any more
	}
}

func (s *ScannerLink) postpone() {
	s.next = time.Now().Add(s.wait)
	s.wait = min(2*s.wait, scannerLongestWait)
}

// await waits for the opening that is under way. One that hangs is told, and
// awaited on.
func (s *ScannerLink) await(ctx context.Context, o *opening) {
	port, err := o.wait(ctx)
	var fault *PortError
	switch {
	case err == nil:
		dec, _ := NewScanDecoder(s.opts) // the options have been checked
		s.hold(nil, newScanner(o.cfg, port, dec))
		s.become(stateReady(s.cfg.Device, Escape([]byte(s.port))))
	case errors.As(err, &fault):
		if fault.Fault != PortHangs {
			s.hold(nil, nil)
			s.postpone()
		}
		if fault.Fault != PortMissing || s.state.Kind != StateLost {
			s.become(stateFailed(Escape([]byte(s.port)), fault))
		}
	}
}

// become sets the state, and tells it if it is another. The mends are a
// caliper's and hold for a scanner too.
func (s *ScannerLink) become(state State) {
	if state.Kind == StateLost {
		state.Mend = "plug its cable in again; numbers can be typed meanwhile"
	}
	state.Mend = strings.ReplaceAll(state.Mend, "caliper", "scanner")
	if s.state != state {
		s.state = state
		s.pending = append(s.pending, ScanEvent{Kind: EventState, State: state})
	}
}
