package device_test

import (
	"errors"
	"sync"
	"time"

	"go.bug.st/serial"

	"seamfit/device"
)

var errUnplugged = errors.New("input/output error")

// fakePort is a port without a system behind it, for tests on synctest's
// clock.
type fakePort struct {
	in   chan []byte   // what the device sends; closed by unplug
	gone chan struct{} // closed by Close

	mu       sync.Mutex
	timeout  time.Duration
	reads    int
	before   bool // a read came before the timeout was set
	closes   int
	inside   int
	overlap  bool // Close came while a call was inside
	written  []byte
	stuck    chan struct{} // while not nil, Write hangs until it is closed
	flushed  int
	leftover []byte
}

func newFakePort() *fakePort {
	return &fakePort{in: make(chan []byte, 10_000), gone: make(chan struct{})}
}

func (p *fakePort) send(s string) { p.in <- []byte(s) }
func (p *fakePort) unplug()       { close(p.in) }

func (p *fakePort) enter() func() {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.inside++
	return func() {
		p.mu.Lock()
		defer p.mu.Unlock()
		p.inside--
	}
}

func (p *fakePort) Read(buf []byte) (int, error) {
	defer p.enter()()
	p.mu.Lock()
	p.reads++
	p.before = p.before || p.timeout == 0
	if len(p.leftover) > 0 {
		n := copy(buf, p.leftover)
		p.leftover = p.leftover[n:]
		p.mu.Unlock()
		return n, nil
	}
	timeout := p.timeout
	p.mu.Unlock()
	timer := time.NewTimer(timeout)
	defer timer.Stop()
	select {
	case b, ok := <-p.in:
		if !ok {
			return 0, errUnplugged
		}
		n := copy(buf, b)
		p.mu.Lock()
		p.leftover = b[n:]
		p.mu.Unlock()
		return n, nil
	case <-timer.C:
		return 0, nil
	}
}

func (p *fakePort) Write(b []byte) (int, error) {
	defer p.enter()()
	p.mu.Lock()
	stuck := p.stuck
	p.written = append(p.written, b...)
	p.mu.Unlock()
	if stuck != nil {
		<-stuck
	}
	return len(b), nil
}

func (p *fakePort) SetReadTimeout(t time.Duration) error {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.timeout = t
	return nil
}

func (p *fakePort) ResetOutputBuffer() error {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.flushed++
	if p.stuck != nil {
		close(p.stuck)
		p.stuck = nil
	}
	return nil
}

func (p *fakePort) Close() error {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.overlap = p.overlap || p.inside > 0
	if p.closes++; p.closes == 1 {
		close(p.gone)
	}
	return nil
}

func (p *fakePort) sent() string {
	p.mu.Lock()
	defer p.mu.Unlock()
	return string(p.written)
}

// opener opens p, and keeps the mode it was asked for.
func (p *fakePort) opener(mode **serial.Mode) device.Opener {
	return func(_ string, m *serial.Mode) (device.Port, error) {
		if mode != nil {
			*mode = m
		}
		return p, nil
	}
}

// pass lets d go by on synctest's clock.
func pass(d time.Duration) { <-time.After(d) }
