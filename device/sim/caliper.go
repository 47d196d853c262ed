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
	// Unit of the display; UnknownUnit is mm. The decoder is told the same.
	Unit length.Unit
	// Channel is the digit of forms that have one, 0 to 9.
	Channel int
	// Device is the name in readings; empty is "simulated caliper".
	Device string
	// Script names the presses that go wrong, and how.
	Script []Step
	// Rates are the chances of further faults on each press, 0 to 1.
	Rates map[Fault]float64
	// Delay is how late the second half of a frame is on a slow link; 0 is
	// 400 ms.
	Delay time.Duration
	// Clock tells the arrival times; nil is time.Now.
	Clock func() time.Time
}

// complete checks cfg and fills in the defaults.
func (cfg Config) complete() (Config, error) {
	if math.IsNaN(cfg.NoiseSD) || cfg.NoiseSD < 0 || cfg.NoiseSD > 10 {
		return cfg, fmt.Errorf("a noise of %g mm makes no sense; choose 0 to 10 mm", cfg.NoiseSD)
	}
	if cfg.Channel < 0 || cfg.Channel > 9 {
		return cfg, fmt.Errorf("channel %d is not one digit", cfg.Channel)
	}
	if cfg.Resolution < 0 {
		return cfg, errors.New("a negative resolution; choose a length above 0")
	}
	for _, step := range cfg.Script {
		if err := step.check(); err != nil {
			return cfg, err
		}
	}
	for fault, rate := range cfg.Rates {
		if err := (Step{Press: 1, Fault: fault}).check(); err != nil {
			return cfg, err
		}
		if math.IsNaN(rate) || rate < 0 || rate > 1 {
			return cfg, fmt.Errorf("a rate of %g for %s makes no sense; choose 0 to 1", rate, fault)
		}
	}
	if cfg.Unit == length.UnknownUnit {
		cfg.Unit = length.MM
	}
	if cfg.Resolution == 0 {
		cfg.Resolution = usualStep(cfg.Unit)
	}
	if cfg.Device == "" {
		cfg.Device = "simulated caliper"
	}
	if cfg.Delay <= 0 {
		cfg.Delay = 400 * time.Millisecond
	}
	return cfg, nil
}

// usualStep is the step of most displays in unit.
func usualStep(unit length.Unit) length.Length {
	if unit == length.In {
		return length.Inch / 2000
	}
	return 10 * length.Micrometre
}

// Caliper is a simulated caliper and the Source of its readings.
type Caliper struct {
	cfg Config
	out *outbox[device.Frame]

	mu      sync.Mutex // guards all below
	rng     *rand.Rand
	dec     *device.Decoder
	jaws    length.Length // between the jaws now
	press   int           // number of the last press
	last    *shown        // what the display showed last
	drifted length.Length
	battery int         // presses left; -1: well
	half    []byte      // of a frame on a slow link: still on its way
	late    *time.Timer // until it is there
}

var _ device.Source = (*Caliper)(nil)

// New returns a caliper with nothing in its jaws. It fails when a setting
// makes no sense.
func New(cfg Config) (*Caliper, error) {
	cfg, err := cfg.complete()
	if err != nil {
		return nil, err
	}
	dec, err := device.NewDecoder(cfg.Form, device.DecoderOptions{
		Unit: cfg.Unit, Resolution: cfg.Resolution, Device: cfg.Device, Clock: cfg.Clock,
	})
	if err != nil {
		return nil, err
	}
	return &Caliper{
		cfg: cfg, dec: dec, battery: -1,
		rng: rand.New(rand.NewPCG(cfg.Seed, 0x5eaf17)),
		out: newOutbox[device.Frame](cfg.Device),
	}, nil
}

// Name returns the device's name.
func (c *Caliper) Name() string { return c.cfg.Device }

// Next is as device.Source says. After an Unplug it returns ErrGone until
// Replug is called.
func (c *Caliper) Next(ctx context.Context) (device.Reading, error) {
	frame, err := c.out.next(ctx)
	if err != nil {
		return device.Reading{}, err
	}
	return frame.Reading, frame.Err
}

// Press returns the bytes that one press emits with width between the jaws:
// noise is added, the sum rounded to the display's step, and what the script
// says for this press done to it. Nothing reaches Next; it is for tests that
// put the bytes on a port. After an Unplug, whose half frame it returns, it
// returns ErrGone until Replug; a SlowLink is the caller's affair.
func (c *Caliper) Press(width length.Length) ([]byte, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	raw, _, err := c.emit(width)
	return raw, err
}

// Squeeze presses the button once with width between the jaws; the frames
// that its bytes decode to wait for Next. It returns ErrClosed after Close
// and ErrGone after an Unplug, until Replug.
func (c *Caliper) Squeeze(width length.Length) error {
	c.mu.Lock()
	defer c.mu.Unlock()
	raw, slow, err := c.emit(width)
	if err != nil {
		return err
	}
	if !slow || len(raw) < 2 {
		c.feed(raw)
		return nil
	}
	half := len(raw) / 2
	c.feed(raw[:half])
	c.half = raw[half:]
	c.late = time.AfterFunc(c.cfg.Delay, func() {
		c.mu.Lock()
		defer c.mu.Unlock()
		c.feed(nil)
	})
	return nil
}

// feed decodes bytes behind those that are still on their way; the lock is
// held.
func (c *Caliper) feed(raw []byte) {
	if c.late != nil {
		c.late.Stop()
		raw = append(c.half, raw...)
		c.half, c.late = nil, nil
	}
	for _, frame := range c.dec.Feed(raw) {
		c.out.put(frame.Owned())
	}
}

// Replug puts the cable back in. Half a frame from before is forgotten.
func (c *Caliper) Replug() {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.lose()
	c.out.setGone(false)
}

// ChangeBattery makes the battery well again.
func (c *Caliper) ChangeBattery() {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.battery = -1
}

// Close ends the caliper; frames that wait, or are late, are dropped.
func (c *Caliper) Close() error {
	c.out.close()
	c.mu.Lock()
	defer c.mu.Unlock()
	c.lose()
	return nil
}

// lose forgets what is on its way; the lock is held.
func (c *Caliper) lose() {
	if c.late != nil {
		c.late.Stop()
	}
	c.half, c.late = nil, nil
	c.dec.Reset()
}
