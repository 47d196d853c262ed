package device

import (
	"context"
	"errors"
	"fmt"
	"io"
	"sync"
	"time"
)

// source is what listens on an open port.
type source interface {
	comparable
	io.Closer
}

// reach keeps a device's port open: it opens it, tries again with growing waits
// after a loss, follows the device to another name, and tells every change as a
// state in words. What listens on the open port is an S, and what Next brings
// an E.
//
// It has no goroutine of its own beyond that of an opening: all this happens
// inside Next, which one goroutine calls. Close may be called from any.
type reach[S source, E any] struct {
	cfg            SerialConfig
	open           Opener
	list           Lister
	first, longest time.Duration // bounds of the waits
	// made puts a source on a port that was opened; the lock is held. listen
	// waits for what the source brings and puts it into pending; its error is
	// ctx's. told makes an event of a state.
	made   func(SerialConfig, Port) S
	listen func(context.Context, S) error
	told   func(State) E
	// worded, if set, puts a state into the device's own words.
	worded func(State) State

	quit chan struct{}

	// Of the goroutine that calls Next.
	port    string // to open next
	id      string
	next    time.Time     // of the next attempt
	wait    time.Duration // before the one after it
	ready   time.Time     // when the open source is told to be; zero: it was
	pending []E

	mu      sync.Mutex // guards all below
	opening *opening   // while a port is being opened
	src     S          // while one is open; else the zero value
	state   State
	closed  bool
}

// The usual bounds of the waits between attempts to open a port.
const (
	usualFirstWait   = 250 * time.Millisecond
	usualLongestWait = 5 * time.Second
)

// begin readies a reach whose settings are in place; list may be nil, and then
// the port's name alone counts.
func (r *reach[S, E]) begin() {
	if r.list == nil {
		r.list = func() ([]PortInfo, error) { return nil, nil }
	}
	setDefault(&r.first, usualFirstWait)
	setDefault(&r.longest, usualLongestWait)
	r.quit, r.port, r.wait = make(chan struct{}), r.cfg.Port, r.first
}

func setDefault(d *time.Duration, value time.Duration) {
	if *d <= 0 {
		*d = value
	}
}

// Name returns the device's name.
func (r *reach[S, E]) Name() string { return r.cfg.Device }

// Close ends the link and releases Next. The port is released when it returns,
// or as soon as an opening that hangs comes to an end.
func (r *reach[S, E]) Close() error {
	var none S
	r.mu.Lock()
	src, opening, again := r.src, r.opening, r.closed
	r.closed = true
	r.mu.Unlock()
	if again {
		return nil
	}
	close(r.quit)
	if opening != nil {
		opening.abandon()
	}
	if src == none {
		return nil
	}
	return src.Close()
}

// Next waits for the next event. It returns ErrClosed after Close, and ctx's
// error when that ends first, by which nothing is lost.
func (r *reach[S, E]) Next(ctx context.Context) (event E, err error) {
	for {
		if err := r.ended(ctx); err != nil {
			return event, err
		}
		if len(r.pending) > 0 {
			event, r.pending = r.pending[0], r.pending[1:]
			return event, nil
		}
		if err := r.step(ctx); err != nil {
			return event, err
		}
	}
}

func (r *reach[S, E]) ended(ctx context.Context) error {
	select {
	case <-r.quit:
		return fmt.Errorf("%s: %w", r.Name(), ErrClosed)
	default:
		return ctx.Err()
	}
}

// step does what comes next and may leave events pending. Its error is ctx's:
// what Close has brought about shows in ended.
func (r *reach[S, E]) step(ctx context.Context) error {
	var none S
	r.mu.Lock()
	src, opening := r.src, r.opening
	r.mu.Unlock()
	switch {
	case src != none && !r.ready.IsZero():
		return r.settle(ctx, src)
	case src != none:
		return r.listen(ctx, src)
	case opening != nil:
		return r.await(ctx, opening)
	default:
		return r.attempt(ctx)
	}
}

// attempt waits for the next attempt's time and begins to open the port that
// the device is on.
func (r *reach[S, E]) attempt(ctx context.Context) error {
	timer := time.NewTimer(time.Until(r.next))
	defer timer.Stop()
	select {
	case <-timer.C:
	case <-r.quit:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
	// A listing that fails leaves the port's name to go by.
	ports, _ := r.list()
	name, other := choosePort(r.port, r.id, ports)
	if other {
		r.postpone()
		r.become(stateOther(r.Name(), shown(name)))
		return nil
	}
	if r.id == "" {
		r.id = idOf(name, ports)
	}
	r.port = name
	cfg := r.cfg
	cfg.Port = name
	r.mu.Lock()
	first := r.state.Kind == ""
	if !r.closed {
		r.opening = beginOpening(cfg, r.open)
	}
	r.mu.Unlock()
	if first {
		r.become(stateOpening(shown(name)))
	}
	return nil
}

// postpone sets the time of the next attempt, and makes the wait after it
// longer.
func (r *reach[S, E]) postpone() {
	r.next = time.Now().Add(r.wait)
	r.wait = min(2*r.wait, r.longest)
}

// alive makes the waits short again: the device is there.
func (r *reach[S, E]) alive() { r.wait = r.first }

// await waits for the opening that is under way. One that hangs is told, and
// awaited on: beginning another would only pile them up.
func (r *reach[S, E]) await(ctx context.Context, o *opening) error {
	port, err := o.wait(ctx)
	var fault *PortError
	switch {
	case err == nil:
	case !errors.As(err, &fault):
		return ctx.Err()
	default:
		if fault.Fault != PortHangs {
			r.mu.Lock()
			r.opening = nil
			r.mu.Unlock()
			r.postpone()
		}
		r.failed(fault)
		return nil
	}
	r.mu.Lock()
	r.opening = nil
	closed := r.closed
	if !closed {
		r.src = r.made(o.cfg, port)
	}
	r.mu.Unlock()
	if closed {
		_ = port.Close()
		return nil
	}
	r.ready = time.Now().Add(max(o.cfg.Settle, 0))
	return nil
}

// settle listens until the time is past in which an opening's noise is dropped,
// and only then tells that the device is ready: what is sent before is lost.
func (r *reach[S, E]) settle(ctx context.Context, src S) error {
	if time.Now().Before(r.ready) {
		until, stop := context.WithDeadline(ctx, r.ready)
		defer stop()
		if err := r.listen(until, src); err == nil || ctx.Err() != nil {
			return err
		}
	}
	r.ready = time.Time{}
	r.become(stateReady(r.Name(), shown(r.port)))
	return nil
}

// failed tells why the port cannot be opened. While the device is away its
// port is missing as a matter of course, and lost says it better.
func (r *reach[S, E]) failed(err *PortError) {
	if err.Fault == PortMissing && r.standing().Kind == StateLost {
		return
	}
	r.become(stateFailed(shown(err.Port), err))
}

// lose gives up a source whose port has vanished and that is closed.
func (r *reach[S, E]) lose() {
	var none S
	r.mu.Lock()
	r.src = none
	closed := r.closed
	r.mu.Unlock()
	if closed {
		return
	}
	r.ready = time.Time{}
	r.postpone()
	r.become(stateLost(r.Name(), shown(r.port)))
}

func (r *reach[S, E]) standing() State {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.state
}

// become sets the state, and tells it if it is another.
func (r *reach[S, E]) become(state State) {
	if r.worded != nil {
		state = r.worded(state)
	}
	r.mu.Lock()
	changed := r.state != state
	r.state = state
	r.mu.Unlock()
	if changed {
		r.pending = append(r.pending, r.told(state))
	}
}

func shown(port string) string { return Escape([]byte(port)) }
