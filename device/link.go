package device

import (
	"context"
	"fmt"
	"sync"
	"sync/atomic"
	"time"
)

// queueLength is how many frames may wait for Next: some seconds of the
// fastest stream, for as long as a slow card may keep the bench.
const queueLength = 4096

// link drains a port and queues what its bytes decode to.
//
// One goroutine of its own reads as long as the port is open, because what is
// unread at a hang-up is lost. It alone sends on the queue and closes it when
// it ends. When the queue is full it drops the newest item and counts it; the
// next call of next says how many were lost.
type link[T any] struct {
	name string // the device's
	port *guarded
	// decode is called by drain alone; the items own their bytes.
	decode func(p []byte, now time.Time) []T
	clock  func() time.Time
	tap    func(at time.Time, p []byte, sent bool)

	queue chan T // closed by drain; drops and counts when full
	done  chan struct{}
	quit  chan struct{} // closed by close, releases next
	once  sync.Once
	err   error // why drain ended; set before queue is closed
	lost  atomic.Int64
	drops atomic.Int64 // all that were lost since opening
}

func newLink[T any](cfg SerialConfig, port Port, decode func([]byte, time.Time) []T) *link[T] {
	return &link[T]{
		name: cfg.Device, port: guard(port), decode: decode, clock: cfg.Clock, tap: cfg.Tap,
		queue: make(chan T, queueLength),
		done:  make(chan struct{}),
		quit:  make(chan struct{}),
	}
}

// next waits for an item as Source says, at most quiet if that is above 0.
func (l *link[T]) next(ctx context.Context, quiet time.Duration) (item T, err error) {
	if err := l.checked(ctx); err != nil {
		return item, err
	}
	var silence <-chan time.Time
	if quiet > 0 {
		timer := time.NewTimer(quiet)
		defer timer.Stop()
		silence = timer.C
	}
	select {
	case item, ok := <-l.queue:
		if !ok {
			return item, l.err
		}
		return item, nil
	case <-l.quit:
		return item, l.closedError()
	case <-silence:
		return item, fmt.Errorf("%s: %w for %v", l.name, ErrSilent, quiet)
	case <-ctx.Done():
		return item, ctx.Err()
	}
}

// checked returns what comes before any item.
func (l *link[T]) checked(ctx context.Context) error {
	select {
	case <-l.quit: // after Close nothing is delivered
		return l.closedError()
	default:
	}
	if n := l.lost.Swap(0); n > 0 {
		return &FrameError{Kind: KindDropped, Count: int(n)}
	}
	return ctx.Err()
}

func (l *link[T]) closedError() error { return fmt.Errorf("%s: %w", l.name, ErrClosed) }

// drain reads until the port is gone or closed.
func (l *link[T]) drain() {
	defer close(l.done)
	defer close(l.queue)
	buf := make([]byte, 4096)
	for {
		n, err := l.port.Read(buf)
		if n > 0 {
			l.take(buf[:n])
		}
		if err == nil {
			continue
		}
		if l.port.isClosing() {
			l.err = l.closedError()
			return
		}
		l.err = fmt.Errorf("%s: %w: %w", l.name, ErrGone, err)
		// Released at once: while the descriptor is open, the system gives
		// a replugged device another name.
		l.port.Close()
		return
	}
}

func (l *link[T]) take(p []byte) {
	now := l.clock()
	if l.tap != nil {
		l.tap(now, p, false)
	}
	for _, item := range l.decode(p, now) {
		select {
		case l.queue <- item:
		default:
			l.lost.Add(1)
			l.drops.Add(1)
		}
	}
}

// close releases next at once and waits at most limit for the goroutine to
// end and the port to be released.
func (l *link[T]) close(limit time.Duration) error {
	l.once.Do(func() { close(l.quit) })
	l.port.Close()
	timer := time.NewTimer(limit)
	defer timer.Stop()
	select {
	case <-l.done:
		return nil
	case <-timer.C:
		return fmt.Errorf("%s: the system does not let go of the port; unplug the cable", l.name)
	}
}

// ask sends the command by which a device of form f is asked.
func (l *link[T]) ask(f Form, q Question) error {
	command := f.Command(q)
	if command == nil {
		return fmt.Errorf("wire form %q has no command to ask for the %s; press the caliper's button", f, q)
	}
	return l.send(command, time.Second)
}

// send writes p, waiting at most limit. A write that hangs (a port whose
// other end takes nothing) goes on in its own goroutine until the port is
// closed; the error says so.
func (l *link[T]) send(p []byte, limit time.Duration) error {
	result := make(chan error, 1) // one slot: the writer never waits for us
	p = append([]byte(nil), p...)
	go func() {
		_, err := l.port.Write(p)
		result <- err
	}()
	timer := time.NewTimer(limit)
	defer timer.Stop()
	select {
	case err := <-result:
		if err != nil {
			return fmt.Errorf("%s: asking: %w", l.name, err)
		}
		if l.tap != nil {
			l.tap(l.clock(), p, true)
		}
		return nil
	case <-timer.C:
		return fmt.Errorf("%s: %w: it takes no command for %v", l.name, ErrSilent, limit)
	}
}
