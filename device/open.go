package device

import (
	"time"

	"go.bug.st/serial"
)

// openPort opens cfg's port with its read timeout set, or fails with a
// *PortError when the limit is over: some systems hang in opening a wireless
// port. An opening that succeeds after that is closed again at once.
func openPort(cfg SerialConfig, open Opener) (Port, error) {
	type result struct {
		port Port
		err  error
	}
	// One slot, so that a late opener never waits for a reader; this
	// function takes at most one result and the late one is dealt with below.
	results := make(chan result, 1)
	go func() {
		port, err := open(cfg.Port, cfg.framing.mode(cfg.Baud))
		results <- result{port, err}
	}()
	limit := time.NewTimer(cfg.OpenLimit)
	defer limit.Stop()
	select {
	case r := <-results:
		if r.err != nil {
			return nil, openFailed(cfg, open, r.err)
		}
		if err := r.port.SetReadTimeout(cfg.ReadTimeout); err != nil {
			_ = r.port.Close()
			return nil, cfg.portError(PortFailed, err)
		}
		return r.port, nil
	case <-limit.C:
		go func() {
			if r := <-results; r.err == nil {
				_ = r.port.Close()
			}
		}()
		return nil, cfg.portError(PortHangs, nil)
	}
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
