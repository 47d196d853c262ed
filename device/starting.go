package device

import (
	"errors"
	"time"
)

// tearGap: bytes of one line follow one another sooner than this, even over
// a slow wireless link.
const tearGap = 300 * time.Millisecond

// starting keeps the bytes of the first moments after opening away from the
// decoder. Opening a port makes some boards reboot and print; and a line
// that began before anybody listened has lost its head: "28.42 mm" cut to
// "8.42 mm" would even decode.
type starting struct {
	until time.Time // bytes before this are dropped; zero once it is over
	torn  bool      // the last dropped byte was inside a line
	last  time.Time // when it came
	first bool      // no frame has been seen yet

	settled   int64 // bytes dropped
	fragments int64 // lines dropped
}

// trim returns what of p is not dropped: nothing before the time is over,
// and then nothing of a line whose beginning was dropped.
func (s *starting) trim(p []byte, now time.Time) []byte {
	if !s.until.IsZero() {
		if now.Before(s.until) {
			s.settled += int64(len(p))
			s.torn, s.last = !endsLine(p[len(p)-1]), now
			return nil
		}
		s.until = time.Time{}
	}
	if !s.torn {
		return p
	}
	if now.Sub(s.last) >= tearGap {
		s.torn = false
		return p
	}
	s.last = now
	for i, c := range p {
		if endsLine(c) {
			s.torn = false
			s.fragments++
			s.settled += int64(i) + 1
			return p[i+1:]
		}
	}
	s.settled += int64(len(p))
	return nil
}

// isFragment reports whether frame is the first since opening and does not
// decode: the rest of a line that began before.
func (s *starting) isFragment(frame Frame) bool {
	if !s.first {
		return false
	}
	s.first = false
	var e *FrameError
	torn := errors.As(frame.Err, &e) && (e.Kind == KindGrammar || e.Kind == KindTooLong)
	if torn {
		s.fragments++
	}
	return torn
}

func endsLine(c byte) bool { return c == '\r' || c == '\n' }
