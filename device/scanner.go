package device

import (
	"context"
	"time"
)

// Scanner reads a bar-code scanner on a serial port. As Serial, it drains
// the port in a goroutine of its own, and drops, counts and tells scans only
// when 4,096 of them wait.
type Scanner struct {
	*link[Scan]
	cfg SerialConfig
}

// OpenScanner opens a scanner's port. Of cfg, Form, Unit, Resolution and
// DecimalComma are not heeded, and cfg's Device and Clock count for opts too.
// Its errors are OpenSerial's, and NewScanDecoder's.
func OpenScanner(cfg SerialConfig, opts ScannerOptions, open Opener) (*Scanner, error) {
	cfg, err := cfg.complete()
	if err != nil {
		return nil, err
	}
	opts.Device, opts.Clock = cfg.Device, cfg.Clock
	dec, err := NewScanDecoder(opts)
	if err != nil {
		return nil, err
	}
	opening := beginOpening(cfg, open)
	defer opening.abandon()
	port, err := opening.wait(context.Background())
	if err != nil {
		return nil, err
	}
	return newScanner(cfg, port, dec), nil
}

// newScanner drains port, which is open, through dec, which nobody else uses.
func newScanner(cfg SerialConfig, port Port, dec *ScanDecoder) *Scanner {
	start := starting{until: cfg.Clock().Add(max(cfg.Settle, 0))}
	s := &Scanner{cfg: cfg}
	s.link = newLink(cfg, port, func(p []byte, now time.Time) []Scan {
		return dec.Feed(start.trim(p, now))
	})
	go s.drain()
	return s
}

// Name returns the scanner's name.
func (s *Scanner) Name() string { return s.cfg.Device }

// Next waits for the next scan. A scan that was refused has its Err set and
// comes without an error here; the errors of Next itself are those of Source,
// *FrameError only with KindDropped.
func (s *Scanner) Next(ctx context.Context) (Scan, error) {
	return s.next(ctx, s.cfg.Quiet)
}

// Close is as Serial's.
func (s *Scanner) Close() error { return s.close(s.cfg.ReadTimeout + time.Second) }
