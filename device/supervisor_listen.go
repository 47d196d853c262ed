package device

import (
	"context"
	"errors"
	"time"
)

// listen waits for the next frame of src, or for what its lack means.
func (s *Supervisor) listen(ctx context.Context, src *Serial) error {
	if s.takeRearm() && s.steady != nil {
		s.steady.Rearm()
	}
	if n := src.lost.Swap(0); n > 0 {
		s.frame(Frame{Err: &FrameError{Kind: KindDropped, Count: int(n)}})
		return nil
	}
	timer := time.NewTimer(s.patience())
	defer timer.Stop()
	select {
	case frame, ok := <-src.queue:
		if ok {
			s.frame(frame)
		} else {
			s.lost(src)
		}
	case <-timer.C:
		s.missed(src)
	case <-s.wake:
		s.relax(src)
	case <-s.quit:
	case <-ctx.Done():
		return ctx.Err()
	}
	return nil
}

func (s *Supervisor) takeRearm() bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	rearm := s.rearm
	s.rearm = false
	return rearm
}

// patience is how long nothing may come before there is something to tell.
func (s *Supervisor) patience() time.Duration {
	s.mu.Lock()
	defer s.mu.Unlock()
	until := time.Now().Add(time.Hour) // whatever happens wakes us before
	if !s.asked.IsZero() {
		until = s.asked.Add(s.answerLimit)
	}
	if quiet := s.heard.Add(s.cfg.Quiet); s.tellsSilence() && quiet.Before(until) {
		until = quiet
	}
	return time.Until(until)
}

// tellsSilence: the lock is held. Silence is told once.
func (s *Supervisor) tellsSilence() bool {
	return s.expected && s.cfg.Quiet > 0 && s.state.Kind == StateReady
}

// missed tells what has not come in time.
func (s *Supervisor) missed(src *Serial) {
	now, port := time.Now(), shown(src.cfg.Port)
	s.mu.Lock()
	unanswered := !s.asked.IsZero() && !now.Before(s.asked.Add(s.answerLimit))
	silent := s.tellsSilence() && !now.Before(s.heard.Add(s.cfg.Quiet))
	if unanswered {
		s.asked = time.Time{}
	}
	s.mu.Unlock()
	switch {
	case unanswered:
		s.become(stateUnanswered(s.Name(), port, s.answerLimit))
	case silent:
		s.become(stateSilent(s.Name(), port, s.cfg.Quiet))
	}
}

// relax takes silence back when readings are no longer expected.
func (s *Supervisor) relax(src *Serial) {
	s.mu.Lock()
	back := s.state.Kind == StateSilent && !s.expected
	s.mu.Unlock()
	if back {
		s.become(stateReady(s.Name(), shown(src.cfg.Port)))
	}
}

// frame tells what came. Any frame but an echo shows that the device is
// there; an echo may be the cable's own.
func (s *Supervisor) frame(f Frame) {
	var notice *Notice
	echo := errors.As(f.Err, &notice) && notice.Kind == KindEcho
	s.mu.Lock()
	answer := !s.asked.IsZero() && !echo
	if !echo {
		s.heard, s.asked = time.Now(), time.Time{}
	}
	port := s.state.Port
	s.mu.Unlock()
	if !echo {
		s.alive()
		s.become(stateReady(s.Name(), port))
	}
	s.pending = append(s.pending, s.event(f, answer))
}

// event sorts a frame. An answer to a question is a reading even of a device
// that also streams.
func (s *Supervisor) event(f Frame, answer bool) Event {
	if f.Err != nil {
		if s.steady != nil {
			s.steady.Lose()
		}
		return Event{Kind: EventFrame, Err: f.Err}
	}
	if answer && s.steady != nil {
		s.steady.Take(f.Reading)
	}
	if s.steady == nil || answer || s.steady.See(f.Reading) {
		return Event{Kind: EventReading, Reading: f.Reading}
	}
	return Event{Kind: EventLive, Reading: f.Reading}
}

// lost gives up a source whose port has vanished.
func (s *Supervisor) lost(src *Serial) {
	if src.Close() != nil {
		// Its goroutine may still hold the decoder.
		s.dec, _ = s.cfg.decoder()
	}
	if s.steady != nil {
		s.steady.Lose()
	}
	s.lose()
}
