package device

import (
	"time"

	"go.bug.st/serial"
)

// opening is a port that is being opened, in a goroutine of its own: some
// systems hang in opening a wireless port, and the bench must not.
type opening struct {
	cfg SerialConfig
	// results has one slot, so that a late opener never waits; one result is
	// sent, and wait or abandon takes it.
	results chan opened
	taken   bool // by wait; of the one goroutine that waits and abandons
}

type opened struct {
	port Port
	err  error
}

// beginOpening starts to open the port of cfg, which is complete.
func beginOpening(cfg SerialConfig, open Opener) *opening {
	o := &opening{cfg: cfg, results: make(chan opened, 1)}
	go func() {
		port, err := open(cfg.Port, cfg.framing.mode(cfg.Baud))
		if err != nil {
			o.results <- opened{err: openFailed(cfg, open, err)}
			return
		}
		// Before anybody reads: without a timeout Close would wait for ever.
		if err := port.SetReadTimeout(cfg.ReadTimeout); err != nil {
			_ = port.Close()
			o.results <- opened{err: cfg.portError(PortFailed, err)}
			return
		}
		o.results <- opened{port: port}
	}()
	return o
}

// wait returns the open port, or a *PortError. After PortHangs the opening
// still runs: wait again, or abandon it.
func (o *opening) wait() (Port, error) {
	limit := time.NewTimer(o.cfg.OpenLimit)
	defer limit.Stop()
	select {
	case r := <-o.results:
		o.taken = true
		return r.port, r.err
	case <-limit.C:
		return nil, o.cfg.portError(PortHangs, nil)
	}
}

// abandon closes the port again should it ever open. After a wait that
// returned a result it does nothing.
func (o *opening) abandon() {
	if o.taken {
		return
	}
	o.taken = true
	go func() {
		if r := <-o.results; r.err == nil {
			_ = r.port.Close()
		}
	}()
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
