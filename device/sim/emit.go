package sim

import (
	"fmt"

	"seamfit/device"
	"seamfit/internal/length"
)

// lowPresses is how many presses a low battery lasts.
const lowPresses = 3

// emit returns the bytes of the next press, and whether the link is slow. The
// lock is held.
func (c *Caliper) emit(width length.Length) (raw []byte, slow bool, err error) {
	if err := c.out.state(); err != nil {
		return nil, false, err
	}
	c.press++
	acts := c.faults()
	c.jaws = width
	if acts[LowBattery] && c.battery < 0 {
		c.battery = lowPresses
	}
	// Drawn in any case, so that a fault does not shift the noise after it.
	s := c.display(width, acts)
	if c.dead() || acts[Silence] {
		return nil, false, nil
	}
	raw, err = encode(c.cfg.Form, c.cfg.Channel, s)
	if err != nil {
		return nil, false, err
	}
	return c.damage(raw, acts), acts[SlowLink], nil
}

// faults draws what acts on the present press.
func (c *Caliper) faults() map[Fault]bool {
	acts := map[Fault]bool{}
	for _, step := range c.cfg.Script {
		if step.acts(c.press) {
			acts[step.Fault] = true
		}
	}
	for _, fault := range Faults() { // in order, as the draws must be
		if rate := c.cfg.Rates[fault]; rate > 0 && c.rng.Float64() < rate {
			acts[fault] = true
		}
	}
	return acts
}

// dead uses the battery by one press.
func (c *Caliper) dead() bool {
	switch {
	case c.battery < 0:
		return false
	case c.battery == 0:
		return true
	default:
		c.battery--
		return false
	}
}

// display returns what the caliper shows.
func (c *Caliper) display(width length.Length, acts map[Fault]bool) shown {
	noise := length.Length(c.rng.NormFloat64() * c.cfg.NoiseSD * float64(length.Millimetre))
	if acts[Drift] {
		c.drifted += c.cfg.Resolution
	}
	if acts[Sticky] && c.last != nil {
		return *c.last
	}
	unit, resolution := c.cfg.Unit, c.cfg.Resolution
	if acts[WrongUnit] {
		unit = length.In + length.MM - unit
		resolution = usualStep(unit)
	}
	s := show(width+noise+c.drifted, resolution, unit)
	c.last = &s
	return s
}

// damage does to a frame what the line does to it.
func (c *Caliper) damage(raw []byte, acts map[Fault]bool) []byte {
	if acts[BitFlip] {
		raw[c.rng.IntN(len(raw))] ^= 1 << c.rng.IntN(8)
	}
	if acts[Duplicate] {
		raw = append(raw, raw...)
	}
	if acts[Noise] {
		var noise []byte
		for range 1 + c.rng.IntN(20) {
			noise = append(noise, byte(c.rng.Uint32()))
		}
		raw = append(noise, raw...)
	}
	if acts[Unplug] {
		raw = raw[:c.rng.IntN(len(raw))]
		c.out.setGone(true)
	}
	return raw
}

// Hold puts width between the jaws without a press, for Answer and Command.
func (c *Caliper) Hold(width length.Length) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.jaws = width
}

// Answer returns the bytes with which the caliper answers a command that the
// bench sent: a value (which counts as a press), the state of its battery,
// or an error frame. Forms that cannot be asked answer nothing, and so does a
// battery that is dead. Nothing reaches Next.
func (c *Caliper) Answer(command []byte) ([]byte, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.answer(command)
}

// Command is Answer through the decoder: what it decodes to waits for Next.
func (c *Caliper) Command(command []byte) error {
	c.mu.Lock()
	defer c.mu.Unlock()
	raw, err := c.answer(command)
	if err != nil {
		return err
	}
	c.feed(raw)
	return nil
}

func (c *Caliper) answer(command []byte) ([]byte, error) {
	if err := c.out.state(); err != nil {
		return nil, err
	}
	text := string(command)
	askable := c.cfg.Form == device.Plain || c.cfg.Form == device.Wide
	switch {
	case !askable || c.battery == 0:
		return nil, nil
	case text == string(c.cfg.Form.Command(device.AskReading)), c.cfg.Form == device.Plain && text == "PRI\r":
		raw, _, err := c.emit(c.jaws)
		return raw, err
	case c.cfg.Form == device.Plain && text == string(device.Plain.Command(device.AskBattery)):
		return fmt.Appendf(nil, "B%d\r", well(c.battery)), nil
	case c.cfg.Form == device.Plain:
		return []byte("ERR1\r"), nil
	default:
		return nil, nil
	}
}

func well(battery int) int {
	if battery < 0 {
		return 1
	}
	return 0
}
