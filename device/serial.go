package device

import (
	"context"
	"sync"
	"time"
)

// Serial is a Source on a serial port. A goroutine of its own drains the
// port; frames that wait for Next are dropped, counted and told only when
// 4,096 of them wait.
type Serial struct {
	*link[Frame]
	cfg   SerialConfig
	dec   *Decoder
	start starting
	owned []Frame // scratch of the drain goroutine

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
	opening := beginOpening(cfg, open)
	defer opening.abandon()
	port, err := opening.wait(context.Background())
	if err != nil {
		return nil, err
	}
	return newSerial(cfg, port, dec), nil
}

// newSerial drains port, which is open, through dec, which nobody else uses
// any more. A line that dec had begun is forgotten.
func newSerial(cfg SerialConfig, port Port, dec *Decoder) *Serial {
	dec.Reset()
	s := &Serial{
		cfg: cfg, dec: dec,
		start: starting{until: cfg.Clock().Add(max(cfg.Settle, 0)), first: true},
	}
	s.link = newLink(cfg, port, s.decode)
	go s.drain()
	return s
}

// Name returns the device's name.
func (s *Serial) Name() string { return s.cfg.Device }

// Stats returns the counts so far.
func (s *Serial) Stats() SerialStats {
	s.mu.Lock()
	defer s.mu.Unlock()
	stats := s.stats
	stats.Dropped = s.drops.Load()
	return stats
}

// Next is as Source says. After a hang-up it delivers what had arrived
// before and then returns ErrGone for good.
func (s *Serial) Next(ctx context.Context) (Reading, error) {
	frame, err := s.next(ctx, s.cfg.Quiet)
	if err != nil {
		return Reading{}, err
	}
	return frame.Reading, frame.Err
}

// Ask sends the command that asks q; the answer comes through Next. It fails
// when the form has no such command, when the port is closed or gone, and
// with ErrSilent when the port takes no bytes within a second.
func (s *Serial) Ask(q Question) error {
	return s.ask(s.cfg.Form, q)
}

// Close releases Next at once and returns when no goroutine is left, which
// takes one read timeout at most. It fails when the system does not let go of
// the port within a second after that; nobody can use the port even then.
func (s *Serial) Close() error {
	return s.close(s.cfg.ReadTimeout + time.Second)
}

// decode runs on the drain goroutine.
func (s *Serial) decode(p []byte, now time.Time) []Frame {
	s.owned = s.owned[:0]
	for _, frame := range s.dec.Feed(s.start.trim(p, now)) {
		if !s.start.isFragment(frame) {
			s.owned = append(s.owned, frame.Owned())
		}
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.stats.DecoderStats = s.dec.Stats()
	s.stats.Settled, s.stats.Fragments = s.start.settled, s.start.fragments
	return s.owned
}
