package sim

import (
	"context"
	"fmt"
	"sync"

	"seamfit/device"
)

// outbox keeps what a simulated device has delivered until it is taken. It is
// unbounded and drops nothing: a person squeezes, or a test counts.
type outbox[T any] struct {
	name  string
	quit  chan struct{} // closed by close
	ready chan struct{} // one slot: something has changed; never closed

	mu     sync.Mutex
	items  []T
	closed bool
	gone   bool
}

func newOutbox[T any](name string) *outbox[T] {
	return &outbox[T]{name: name, quit: make(chan struct{}), ready: make(chan struct{}, 1)}
}

// put adds items; the device sends them.
func (o *outbox[T]) put(items ...T) {
	o.mu.Lock()
	o.items = append(o.items, items...)
	o.mu.Unlock()
	o.nudge()
}

// setGone says whether the device is unplugged.
func (o *outbox[T]) setGone(gone bool) {
	o.mu.Lock()
	o.gone = gone
	o.mu.Unlock()
	o.nudge()
}

func (o *outbox[T]) nudge() {
	select {
	case o.ready <- struct{}{}:
	default:
	}
}

// state returns ErrClosed or ErrGone when the device cannot send.
func (o *outbox[T]) state() error {
	o.mu.Lock()
	defer o.mu.Unlock()
	switch {
	case o.closed:
		return fmt.Errorf("%s: %w", o.name, device.ErrClosed)
	case o.gone:
		return fmt.Errorf("%s: %w: unplugged", o.name, device.ErrGone)
	default:
		return nil
	}
}

// next waits for the oldest item; what was sent before an unplug comes
// before ErrGone.
func (o *outbox[T]) next(ctx context.Context) (item T, err error) {
	for {
		if err := ctx.Err(); err != nil {
			return item, err
		}
		if item, ok := o.pop(); ok {
			return item, nil
		}
		if err := o.state(); err != nil {
			return item, err
		}
		select {
		case <-o.ready:
		case <-o.quit:
		case <-ctx.Done():
		}
	}
}

func (o *outbox[T]) pop() (item T, ok bool) {
	o.mu.Lock()
	defer o.mu.Unlock()
	if o.closed || len(o.items) == 0 {
		return item, false
	}
	item, o.items = o.items[0], o.items[1:]
	return item, true
}

// close drops what waits.
func (o *outbox[T]) close() {
	o.mu.Lock()
	defer o.mu.Unlock()
	if !o.closed {
		o.closed = true
		close(o.quit)
	}
}
