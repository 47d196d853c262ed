package device

import (
	"sync"
	"time"

	"go.bug.st/serial"
)

// Port is what a serial source needs of an open port. Read returns 0, nil
// when the read timeout passes with nothing read.
type Port interface {
	Read(p []byte) (int, error)
	Write(p []byte) (int, error)
	SetReadTimeout(t time.Duration) error
	ResetOutputBuffer() error
	Close() error
}

// Opener opens a port. SystemOpener is the real one; tests pass their own.
type Opener func(name string, mode *serial.Mode) (Port, error)

// SystemOpener opens a port of this computer.
func SystemOpener(name string, mode *serial.Mode) (Port, error) {
	port, err := serial.Open(name, mode)
	if err != nil {
		return nil, err
	}
	return port, nil
}

// guarded lets nobody into a port that is closed, and closes the port only
// when nobody is inside. The library does neither: a call that reaches it
// after Close works on whatever file has taken over the descriptor's number,
// which on a bench may be the database.
type guarded struct {
	port Port

	mu      sync.Mutex
	closing bool
	inside  int
	writers int // of those inside
}

func guard(port Port) *guarded {
	return &guarded{port: port}
}

// enter admits a caller; leave must follow when it returns true.
func (g *guarded) enter() bool {
	g.mu.Lock()
	defer g.mu.Unlock()
	if g.closing {
		return false
	}
	g.inside++
	return true
}

func (g *guarded) leave() {
	g.mu.Lock()
	g.inside--
	last := g.closing && g.inside == 0
	g.mu.Unlock()
	if last {
		g.shut()
	}
}

func (g *guarded) shut() {
	// The port is given up either way; nothing could act on its error.
	_ = g.port.Close()
}

// Read reads as Port does; ErrClosed after Close.
func (g *guarded) Read(p []byte) (int, error) {
	if !g.enter() {
		return 0, ErrClosed
	}
	defer g.leave()
	return g.port.Read(p)
}

// Write writes as Port does; ErrClosed after Close.
func (g *guarded) Write(p []byte) (int, error) {
	if !g.enter() {
		return 0, ErrClosed
	}
	defer g.leave()
	g.count(+1)
	defer g.count(-1)
	return g.port.Write(p)
}

// isClosing reports whether Close was called: an error from a read tells a
// hang-up from our own Close by nothing else.
func (g *guarded) isClosing() bool {
	g.mu.Lock()
	defer g.mu.Unlock()
	return g.closing
}

func (g *guarded) count(writers int) {
	g.mu.Lock()
	defer g.mu.Unlock()
	g.writers += writers
}

// Close lets nobody in from now on and releases the descriptor as soon as
// the last caller is out: at once when there is none, after the read timeout
// when there is a reader. A Write that hangs is helped out by discarding the
// output that waits; should it hang even so, the descriptor stays its own
// until it returns.
func (g *guarded) Close() {
	g.mu.Lock()
	if g.closing {
		g.mu.Unlock()
		return
	}
	g.closing = true
	empty := g.inside == 0
	if g.writers > 0 {
		// Still inside the lock, so that the last caller cannot close under
		// this call.
		_ = g.port.ResetOutputBuffer()
	}
	g.mu.Unlock()
	if empty {
		g.shut()
	}
}
