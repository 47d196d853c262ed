package sim

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"sync"
	"time"

	"seamfit/device"
	"seamfit/internal/length"
)

// Config describes a simulated caliper.
type Config struct {
	Seed uint64
	Form device.Form
	// NoiseSD is the standard deviation of one press in millimetres.
	NoiseSD float64
	// Resolution is the step of the display; 0 is 0.01 mm, or 0.0005 in.
	Resolution length.Length
	// Unit of the display; UnknownUnit is mm.
	Unit length.Unit
	// Channel is the digit of forms that have one, 0 to 9.
	Channel int
	// Device is the name in readings; empty is "simulated caliper".
	Device string
	// Clock tells the arrival times; nil is time.Now.
	Clock func() time.Time
}

// Caliper is a simulated caliper and the Source of its readings.
type Caliper struct {
	cfg   Config
	quit  chan struct{} // closed by Close
	ready chan struct{} // one slot: frames may wait; never closed, a full slot is enough

	mu     sync.Mutex // guards all below
	rng    *rand.Rand
	dec    *device.Decoder
	frames []device.Frame // unbounded: a person squeezes, and nothing is dropped
	closed bool
}

var _ device.Source = (*Caliper)(nil)

// New returns a caliper with nothing in its jaws. It fails when the form is
// not known or the noise or resolution makes no sense.
func New(cfg Config) (*Caliper, error) {
	if math.IsNaN(cfg.NoiseSD) || cfg.NoiseSD < 0 || cfg.NoiseSD > 10 {
		return nil, fmt.Errorf("a noise of %g mm makes no sense; choose 0 to 10 mm", cfg.NoiseSD)
	}
	if cfg.Channel < 0 || cfg.Channel > 9 {
		return nil, fmt.Errorf("channel %d is not one digit", cfg.Channel)
	}
	if cfg.Resolution < 0 {
		return nil, errors.New("a negative resolution; choose a length above 0")
	}
	if cfg.Unit == length.UnknownUnit {
		cfg.Unit = length.MM
	}
	if cfg.Resolution == 0 {
		cfg.Resolution = 10 * length.Micrometre
		if cfg.Unit == length.In {
			cfg.Resolution = length.Inch / 2000
		}
	}
	if cfg.Device == "" {
		cfg.Device = "simulated caliper"
	}
	dec, err := device.NewDecoder(cfg.Form, device.DecoderOptions{
		Unit: cfg.Unit, Resolution: cfg.Resolution, Device: cfg.Device, Clock: cfg.Clock,
	})
	if err != nil {
		return nil, err
	}
	return &Caliper{
		cfg: cfg, dec: dec,
		rng:   rand.New(rand.NewPCG(cfg.Seed, 0x5eaf17)),
		quit:  make(chan struct{}),
		ready: make(chan struct{}, 1),
	}, nil
}

// Press returns the bytes that one press emits with width between the jaws:
// noise is added and the sum rounded to the display's step. Nothing reaches
// Next; it is for tests that put the bytes on a port.
func (c *Caliper) Press(width length.Length) ([]byte, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.press(width)
}

func (c *Caliper) press(width length.Length) ([]byte, error) {
	noise, err := length.FromMM(c.rng.NormFloat64() * c.cfg.NoiseSD)
	if err != nil {
		return nil, err
	}
	return encode(c.cfg.Form, c.cfg.Channel, show(width+noise, c.cfg.Resolution, c.cfg.Unit))
}

// Squeeze presses the button once with width between the jaws; the frame that
// its bytes decode to waits for Next. It returns ErrClosed after Close.
func (c *Caliper) Squeeze(width length.Length) error {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.closed {
		return fmt.Errorf("%s: %w", c.cfg.Device, device.ErrClosed)
	}
	raw, err := c.press(width)
	if err != nil {
		return err
	}
	c.feed(raw)
	return nil
}

// feed decodes bytes; the lock is held.
func (c *Caliper) feed(raw []byte) {
	for _, frame := range c.dec.Feed(raw) {
		c.frames = append(c.frames, frame.Owned())
	}
	select {
	case c.ready <- struct{}{}:
	default:
	}
}

// Name returns the device's name.
func (c *Caliper) Name() string { return c.cfg.Device }

// Next is as device.Source says; a simulated caliper is never gone by
// itself.
func (c *Caliper) Next(ctx context.Context) (device.Reading, error) {
	for {
		if err := ctx.Err(); err != nil {
			return device.Reading{}, err
		}
		frame, ok, err := c.pop()
		if err != nil {
			return device.Reading{}, err
		}
		if ok {
			return frame.Reading, frame.Err
		}
		select {
		case <-c.ready:
		case <-c.quit:
		case <-ctx.Done():
		}
	}
}

// pop takes the oldest frame that waits.
func (c *Caliper) pop() (frame device.Frame, ok bool, err error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.closed {
		return device.Frame{}, false, fmt.Errorf("%s: %w", c.cfg.Device, device.ErrClosed)
	}
	if len(c.frames) == 0 {
		return device.Frame{}, false, nil
	}
	frame, c.frames = c.frames[0], c.frames[1:]
	return frame, true, nil
}

// Close ends the caliper; frames that wait are dropped with it.
func (c *Caliper) Close() error {
	c.mu.Lock()
	defer c.mu.Unlock()
	if !c.closed {
		c.closed = true
		close(c.quit)
	}
	return nil
}
