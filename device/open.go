package device

import (
	"context"
	"sync"
	"time"

	"go.bug.st/serial"
)

// opening is a port that is being opened, in a goroutine of its own: some
// systems hang in opening a wireless port, and the bench must not.
type opening struct {
	cfg      SerialConfig
	deadline time.Time   // of the wait that is under way
	results  chan opened // one result, to whoever waits; else it is discarded
	dropped  chan struct{}
	once     sync.Once
}

type opened struct {
	port Port
	err  error
}

// beginOpening starts to open the port of cfg, which is complete.
func beginOpening(cfg SerialConfig, open Opener) *opening {
	o := &opening{
		cfg: cfg, deadline: time.Now().Add(cfg.OpenLimit),
		results: make(chan opened), dropped: make(chan struct{}),
	}
	go func() {
		r := openPort(cfg, open)
		select {
		case o.results <- r:
		case <-o.dropped:
			if r.err == nil {
				_ = r.port.Close()
			}
		}
	}()
	return o
}

// wait returns the open port or a *PortError. After PortHangs, and when ctx
// ends first, the opening still runs: wait again, or abandon it.
func (o *opening) wait(ctx context.Context) (Port, error) {
	limit := time.NewTimer(time.Until(o.deadline))
	defer limit.Stop()
	select {
	case r := <-o.results:
		return r.port, r.err
	case <-limit.C:
		o.deadline = time.Now().Add(o.cfg.OpenLimit)
		return nil, o.cfg.portError(PortHangs, nil)
	case <-o.dropped:
		return nil, ErrClosed
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}

// abandon gives the opening up; the port is closed again should it ever
// open. After a wait that returned the port it does nothing.
func (o *opening) abandon() { o.once.Do(func() { close(o.dropped) }) }

// openPort opens the port and sets its read timeout before anybody reads:
// without one, Close would wait for ever.
func openPort(cfg SerialConfig, open Opener) opened {
	port, err := open(cfg.Port, cfg.framing.mode(cfg.Baud))
	if err != nil {
		return opened{err: openFailed(cfg, open, err)}
	}
	if err := port.SetReadTimeout(cfg.ReadTimeout); err != nil {
		_ = port.Close()
		return opened{err: cfg.portError(PortFailed, err)}
	}
	return opened{port: port}
}

// openFailed names the fault. The library reports a refused speed and a file
// that is no port in the same way; a port that opens with the library's
// defaults is one, and it was the mode that it refused.
func openFailed(cfg SerialConfig, open Opener, err error) error {
	fault := faultOf(err)
	if fault == PortNotSerial {
		if port, again := open(cfg.Port, &serial.Mode{}); again == nil {
			_ = port.Close()
			fault = PortMode
		}
	}
	return cfg.portError(fault, err)
}

func (cfg SerialConfig) portError(fault PortFault, err error) error {
	return &PortError{
		Port: cfg.Port, Fault: fault, Baud: cfg.Baud, Framing: cfg.framing, Limit: cfg.OpenLimit, Err: err,
	}
}
