package device

import (
	"context"
	"fmt"
	"sync"
	"sync/atomic"
	"time"
)

// queueLength is how many frames may wait for Next: half a minute of a
// stream of 100 a second.
const queueLength = 4096

// Serial is a Source on a serial port.
//
// One goroutine of its own drains the port as long as it is open, because
// what is unread at a hang-up is lost. It alone sends on the queue and
// closes it when it ends. When the queue is full it drops the newest frame
// and counts it; the next call of Next says how many were lost.
type Serial struct {
	cfg   SerialConfig
	port  *guarded
	dec   *Decoder
	start starting
	queue chan Frame // closed by drain; drops and counts when full
	done  chan struct{}
	quit  chan struct{} // closed by Close, releases Next
	once  sync.Once
	err   error // why drain ended; set before queue is closed
	lost  atomic.Int64

	mu    sync.Mutex // guards stats
	stats SerialStats
}

var _ Source = (*Serial)(nil)

// SerialStats count what a serial source has seen.
type SerialStats struct {
	DecoderStats
	Settled   int64 // bytes dropped because their line began too soon after opening
	Fragments int64 // first lines dropped because they did not decode or began too soon
	Dropped   int64 // frames dropped because the queue was full
}

// OpenSerial opens cfg's port with open and starts to drain it. Its errors
// are a *PortError when the port cannot be opened, or say which setting is
// wrong.
func OpenSerial(cfg SerialConfig, open Opener) (*Serial, error) {
	cfg, err := cfg.complete()
	if err != nil {
		return nil, err
	}
	dec, err := cfg.decoder()
	if err != nil {
		return nil, err
	}
	port, err := openPort(cfg, open)
	if err != nil {
		return nil, err
	}
	s := &Serial{
		cfg: cfg, port: guard(port), dec: dec,
		start: starting{until: cfg.Clock().Add(max(cfg.Settle, 0)), first: true},
		queue: make(chan Frame, queueLength),
		done:  make(chan struct{}),
		quit:  make(chan struct{}),
	}
	go s.drain()
	return s, nil
}

// Name returns the device's name.
func (s *Serial) Name() string { return s.cfg.Device }

// Stats returns the counts so far.
func (s *Serial) Stats() SerialStats {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.stats
}

// Next is as Source says. After a hang-up it delivers what had arrived
// before and then returns ErrGone for good.
func (s *Serial) Next(ctx context.Context) (Reading, error) {
	if n := s.lost.Swap(0); n > 0 {
		return Reading{}, &FrameError{Kind: KindDropped, Count: int(n)}
	}
	if err := ctx.Err(); err != nil {
		return Reading{}, err
	}
	var silence <-chan time.Time
	if s.cfg.Quiet > 0 {
		timer := time.NewTimer(s.cfg.Quiet)
		defer timer.Stop()
		silence = timer.C
	}
	select {
	case <-s.quit: // before the queue: after Close nothing is delivered
		return Reading{}, s.closedError()
	default:
	}
	select {
	case frame, ok := <-s.queue:
		if !ok {
			return Reading{}, s.err
		}
		return frame.Reading, frame.Err
	case <-s.quit:
		return Reading{}, s.closedError()
	case <-silence:
		return Reading{}, fmt.Errorf("%s: %w for %v", s.cfg.Device, ErrSilent, s.cfg.Quiet)
	case <-ctx.Done():
		return Reading{}, ctx.Err()
	}
}

func (s *Serial) closedError() error { return fmt.Errorf("%s: %w", s.cfg.Device, ErrClosed) }

// Close releases Next at once and returns when no goroutine is left, which
// takes one read timeout at most. It fails when the system does not let go of
// the port within a second after that; nobody can use the port even then.
func (s *Serial) Close() error {
	s.once.Do(func() { close(s.quit) })
	s.port.Close()
	limit := time.NewTimer(s.cfg.ReadTimeout + time.Second)
	defer limit.Stop()
	select {
	case <-s.done:
		return nil
	case <-limit.C:
		return fmt.Errorf("%s: the system does not let go of the port; unplug the cable", s.cfg.Device)
	}
}

// drain reads until the port is gone or closed.
func (s *Serial) drain() {
	defer close(s.done)
	defer close(s.queue)
	buf := make([]byte, 4096)
	for {
		n, err := s.port.Read(buf)
		if n > 0 {
			s.take(buf[:n])
		}
		if err == nil {
			continue
		}
		if s.port.isClosing() {
			s.err = s.closedError()
			return
		}
		s.err = fmt.Errorf("%s: %w: %w", s.cfg.Device, ErrGone, err)
		// Released at once: while the descriptor is open, the system gives
		// a replugged device another name.
		s.port.Close()
		return
	}
}

// take decodes bytes that arrived and queues their frames.
func (s *Serial) take(p []byte) {
	var dropped int64
	for _, frame := range s.dec.Feed(s.start.trim(p, s.cfg.Clock())) {
		if s.start.isFragment(frame) {
			continue
		}
		select {
		case s.queue <- frame.Owned():
		default:
			dropped++
		}
	}
	s.lost.Add(dropped)
	s.mu.Lock()
	defer s.mu.Unlock()
	s.stats.DecoderStats = s.dec.Stats()
	s.stats.Settled, s.stats.Fragments = s.start.settled, s.start.fragments
	s.stats.Dropped += dropped
}
