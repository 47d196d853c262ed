package device

import (
	"bytes"
	"context"
	"time"
)

// Heard are bytes as they came from a port.
type Heard struct {
	At    time.Time
	Bytes []byte
}

// Listener hears a port on which the wire form is not known yet. As Serial,
// it drains the port in a goroutine of its own and drops, counts and tells
// chunks only when 4,096 of them wait; bytes from before the settling time
// are not given, but seen by the tap.
type Listener struct {
	*link[Heard]
	cfg SerialConfig
}

// OpenListener opens cfg's port, of which Form, Unit, Resolution and
// DecimalComma are not heeded. Its errors are OpenSerial's.
func OpenListener(cfg SerialConfig, open Opener) (*Listener, error) {
	cfg, err := cfg.complete()
	if err != nil {
		return nil, err
	}
	opening := beginOpening(cfg, open)
	defer opening.abandon()
	port, err := opening.wait(context.Background())
	if err != nil {
		return nil, err
	}
	start := starting{until: cfg.Clock().Add(max(cfg.Settle, 0))}
	l := &Listener{cfg: cfg}
	l.link = newLink(cfg, port, func(p []byte, now time.Time) []Heard {
		if p = start.trim(p, now); len(p) == 0 {
			return nil
		}
		return []Heard{{At: now, Bytes: bytes.Clone(p)}}
	})
	go l.drain()
	return l, nil
}

// Name returns the device's name.
func (l *Listener) Name() string { return l.cfg.Device }

// Next waits for bytes; its errors are those of Source, *FrameError only with
// KindDropped.
func (l *Listener) Next(ctx context.Context) (Heard, error) { return l.next(ctx, l.cfg.Quiet) }

// Ask sends the command by which a device of form f is asked; its errors are
// Serial.Ask's.
func (l *Listener) Ask(f Form, q Question) error { return l.ask(f, q) }

// Close is as Serial's.
func (l *Listener) Close() error { return l.close(l.cfg.ReadTimeout + time.Second) }
