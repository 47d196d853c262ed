package device

import (
	"context"
	"errors"
	"time"
)

// attempt waits for the next attempt's time and begins to open the port that
// the device is on.
func (s *Supervisor) attempt(ctx context.Context) error {
	timer := time.NewTimer(time.Until(s.next))
	defer timer.Stop()
	select {
	case <-timer.C:
	case <-s.quit:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
	// A listing that fails leaves the port's name to go by.
	ports, _ := s.list()
	name, other := choosePort(s.port, s.id, ports)
	if other {
		s.postpone()
		s.become(stateOther(s.Name(), s.shown(name)))
		return nil
	}
	if s.id == "" {
		s.id = idOf(name, ports)
	}
	s.port = name
	cfg := s.cfg.Serial
	cfg.Port = name
	s.mu.Lock()
	first := s.state.Kind == ""
	if !s.closed {
		s.opening = beginOpening(cfg, s.open)
	}
	s.mu.Unlock()
	if first {
		s.become(stateOpening(s.shown(name)))
	}
	return nil
}

// postpone sets the time of the next attempt, and makes the wait after it
// longer.
func (s *Supervisor) postpone() {
	s.next = time.Now().Add(s.wait)
	s.wait = min(2*s.wait, s.cfg.LongestWait)
}

// await waits for the opening that is under way. One that hangs is told, and
// awaited on: beginning another would only pile them up.
func (s *Supervisor) await(ctx context.Context, o *opening) error {
	port, err := o.wait(ctx)
	if err != nil {
		var fault *PortError
		if !errors.As(err, &fault) {
			return ctx.Err()
		}
		if fault.Fault != PortHangs {
			s.setOpening(nil)
			s.postpone()
		}
		s.failed(fault)
		return nil
	}
	s.mu.Lock()
	s.opening = nil
	closed := s.closed
	if !closed {
		s.src = newSerial(o.cfg, port, s.dec)
		s.heard, s.asked = time.Now(), time.Time{}
	}
	s.mu.Unlock()
	if closed {
		_ = port.Close()
		return nil
	}
	s.become(stateReady(s.Name(), s.shown(o.cfg.Port)))
	return nil
}

func (s *Supervisor) setOpening(o *opening) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.opening = o
}

// failed tells why the port cannot be opened. While the device is away its
// port is missing as a matter of course, and lost says it better.
func (s *Supervisor) failed(err *PortError) {
	if err.Fault == PortMissing && s.State().Kind == StateLost {
		return
	}
	s.become(stateFailed(s.shown(err.Port), err))
}

// become sets the state, and tells it if it is another.
func (s *Supervisor) become(state State) {
	s.mu.Lock()
	changed := s.state != state
	s.state = state
	s.mu.Unlock()
	if changed {
		s.pending = append(s.pending, Event{Kind: EventState, State: state})
	}
}

func (s *Supervisor) shown(port string) string { return Escape([]byte(port)) }
