package sim

import (
	"context"
	"fmt"

	"seamfit/device"
)

// ScannerConfig describes a simulated bar-code scanner.
type ScannerConfig struct {
	// Options are prefix, suffix, check character and name, as the bench's
	// decoder has them too.
	Options device.ScannerOptions
	AIM     string // put before the text, as in "]A0"; may be empty
	End     string // ends each scan; empty is CR
}

// Scanner is a simulated scanner and the source of its scans. It is safe for
// one reader calling Next and any number of goroutines calling the rest.
type Scanner struct {
	cfg ScannerConfig
	out *outbox[device.Scan]
}

// NewScanner fails as device.NewScanDecoder does.
func NewScanner(cfg ScannerConfig) (*Scanner, error) {
	if cfg.End == "" {
		cfg.End = "\r"
	}
	if cfg.Options.Device == "" {
		cfg.Options.Device = "simulated scanner"
	}
	if _, err := device.NewScanDecoder(cfg.Options); err != nil {
		return nil, err
	}
	return &Scanner{cfg: cfg, out: newOutbox[device.Scan](cfg.Options.Device)}, nil
}

// Label returns the bytes that scanning a label with text sends. It fails
// when text has a character that the check character's code has not.
func (s *Scanner) Label(text string) ([]byte, error) {
	o := s.cfg.Options
	check := ""
	if o.Code39Check {
		c, err := device.Code39Check(text)
		if err != nil {
			return nil, err
		}
		check = string(c)
	}
	return fmt.Appendf(nil, "%s%s%s%s%s%s", o.Prefix, s.cfg.AIM, text, check, o.Suffix, s.cfg.End), nil
}

// Scan reads a label once; the scans that its bytes decode to wait for Next.
func (s *Scanner) Scan(text string) error {
	if err := s.out.state(); err != nil {
		return err
	}
	raw, err := s.Label(text)
	if err != nil {
		return err
	}
	// A decoder for each label: a scanner sends labels whole.
	dec, err := device.NewScanDecoder(s.cfg.Options)
	if err != nil {
		return err
	}
	s.out.put(dec.Feed(raw)...)
	return nil
}

// Name returns the scanner's name.
func (s *Scanner) Name() string { return s.cfg.Options.Device }

// Next waits for the next scan; its errors are ErrClosed and ctx's.
func (s *Scanner) Next(ctx context.Context) (device.Scan, error) { return s.out.next(ctx) }

// Close ends the scanner; scans that wait are dropped.
func (s *Scanner) Close() error {
	s.out.close()
	return nil
}
