package capture

import (
	"fmt"
	"io"
	"strconv"
	"sync"
	"time"

	"seamfit/device"
)

// Recorder writes a recording as it happens.
type Recorder struct {
	mu   sync.Mutex
	w    io.Writer
	last time.Duration
	line []byte
}

// NewRecorder writes the header to w. It fails when the header is not
// complete, or with w's error.
func NewRecorder(w io.Writer, h Header) (*Recorder, error) {
	text, err := h.text()
	if err != nil {
		return nil, err
	}
	if _, err := io.WriteString(w, text); err != nil {
		return nil, fmt.Errorf("recording: %w", err)
	}
	return &Recorder{w: w}, nil
}

// Record appends a chunk; empty ones are left out. An offset before the last
// one (a clock that was set back) is written as the last one. Each chunk is
// one Write to w, whose error it returns.
func (r *Recorder) Record(offset time.Duration, dir Direction, p []byte) error {
	if len(p) == 0 {
		return nil
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	r.last = max(r.last, offset.Truncate(time.Microsecond))
	r.line = appendChunk(r.line[:0], Chunk{Offset: r.last, Direction: dir, Bytes: p})
	if _, err := r.w.Write(r.line); err != nil {
		return fmt.Errorf("recording: %w", err)
	}
	return nil
}

func appendChunk(dst []byte, c Chunk) []byte {
	micros := c.Offset.Microseconds()
	dst = strconv.AppendInt(dst, micros/1e6, 10)
	dst = fmt.Appendf(dst, ".%06d %c \"", micros%1e6, c.Direction)
	dst = device.AppendEscaped(dst, c.Bytes)
	return append(dst, "\"\n"...)
}
