package capture

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"time"

	"seamfit/device"
	"seamfit/internal/length"
)

// ErrEnd is the cause of the ErrGone that a Playback ends with.
var ErrEnd = errors.New("the recording has ended")

// PlaybackOptions say how a recording is played.
type PlaybackOptions struct {
	Device     string        // the name in readings; empty: the instrument
	Resolution length.Length // 0: the last digit's step
	// Paced keeps the recording's timing; otherwise it plays as fast as
	// readings are taken.
	Paced bool
	// Clock tells the arrival times; nil gives those of the recording: its
	// date and the offsets.
	Clock func() time.Time
}

// Playback plays a recording as a Source. Next must be called by one
// goroutine at a time; Close by any.
type Playback struct {
	name   string
	opts   PlaybackOptions
	chunks []Chunk
	dec    *device.Decoder
	quit   chan struct{} // closed by Close
	once   sync.Once

	next   int
	begun  time.Time     // of a paced playback: the first call of Next
	played time.Duration // offset reached
	frames []device.Frame
}

var _ device.Source = (*Playback)(nil)

// NewPlayback plays c from its beginning. It fails when c's form or unit
// makes no decoder.
func NewPlayback(c *Capture, opts PlaybackOptions) (*Playback, error) {
	p := &Playback{name: opts.Device, opts: opts, chunks: c.Chunks, quit: make(chan struct{})}
	if p.name == "" {
		p.name = c.Header.Instrument
	}
	clock := opts.Clock
	if clock == nil {
		clock = func() time.Time { return c.Header.Date.Add(p.played) }
	}
	dec, err := device.NewDecoder(c.Header.Form, device.DecoderOptions{
		Unit: c.Header.Unit, Resolution: opts.Resolution, Device: p.name, Clock: clock,
	})
	if err != nil {
		return nil, err
	}
	p.dec = dec
	return p, nil
}

// Name returns the device's name.
func (p *Playback) Name() string { return p.name }

// Next is as device.Source says; after the last chunk it returns ErrGone
// with ErrEnd as its cause.
func (p *Playback) Next(ctx context.Context) (device.Reading, error) {
	for {
		select {
		case <-p.quit:
			return device.Reading{}, fmt.Errorf("%s: %w", p.name, device.ErrClosed)
		default:
		}
		if err := ctx.Err(); err != nil {
			return device.Reading{}, err
		}
		if len(p.frames) > 0 {
			frame := p.frames[0]
			p.frames = p.frames[1:]
			return frame.Reading, frame.Err
		}
		if p.next == len(p.chunks) {
			return device.Reading{}, fmt.Errorf("%s: %w: %w", p.name, device.ErrGone, ErrEnd)
		}
		if err := p.play(ctx); err != nil && !errors.Is(err, device.ErrClosed) {
			return device.Reading{}, err
		}
	}
}

// play waits for the next chunk's time and decodes it. When the wait is cut
// short the chunk stays next, and its time does not move.
func (p *Playback) play(ctx context.Context) error {
	chunk := p.chunks[p.next]
	if p.opts.Paced {
		if p.begun.IsZero() {
			p.begun = time.Now()
		}
		if err := p.wait(ctx, time.Until(p.begun.Add(chunk.Offset))); err != nil {
			return err
		}
	}
	p.next++
	p.played = chunk.Offset
	if chunk.Direction != FromDevice {
		return nil
	}
	for _, frame := range p.dec.Feed(chunk.Bytes) {
		p.frames = append(p.frames, frame.Owned())
	}
	return nil
}

// wait waits d; it returns ctx's error, or ErrClosed.
func (p *Playback) wait(ctx context.Context, d time.Duration) error {
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-timer.C:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	case <-p.quit:
		return device.ErrClosed
	}
}

// Close ends the playback.
func (p *Playback) Close() error {
	p.once.Do(func() { close(p.quit) })
	return nil
}
