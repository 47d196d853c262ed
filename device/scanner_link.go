package device

import (
	"context"
	"errors"
	"strings"
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
	reach[*Scanner, ScanEvent]
	opts ScannerOptions
}

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
	s := &ScannerLink{opts: opts}
	s.reach = reach[*Scanner, ScanEvent]{
		cfg: cfg, open: open, list: list, made: s.made, listen: s.listen, worded: ofScanner,
		told: func(state State) ScanEvent { return ScanEvent{Kind: EventState, State: state} },
	}
	s.begin()
	return s, nil
}

func (s *ScannerLink) made(cfg SerialConfig, port Port) *Scanner {
	dec, _ := NewScanDecoder(s.opts) // the options have been checked
	return newScanner(cfg, port, dec)
}

func (s *ScannerLink) listen(ctx context.Context, src *Scanner) error {
	scan, err := src.Next(ctx)
	switch {
	case err == nil:
		s.alive()
		s.pending = append(s.pending, ScanEvent{Kind: EventScan, Scan: scan})
	case GoesOn(err):
		s.pending = append(s.pending, ScanEvent{Kind: EventFrame, Err: err})
	case errors.Is(err, ErrGone):
		_ = src.Close() // its port is released already; an unwilling system is told of at the next attempt
		s.lose()
	}
	return ctx.Err()
}

// ofScanner puts a state, whose mends are a caliper's, into a scanner's words.
func ofScanner(state State) State {
	if state.Kind == StateLost {
		state.Mend = "plug its cable in again; numbers can be typed meanwhile"
	}
	state.Mend = strings.ReplaceAll(state.Mend, "caliper", "scanner")
	return state
}
