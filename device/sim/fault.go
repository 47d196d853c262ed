package sim

import (
	"errors"
	"fmt"
	"strconv"
	"strings"

	"seamfit/device"
)

// Fault is a way in which a caliper, its cable or its battery fails.
type Fault string

// The faults. Each acts on the presses that a Step names.
const (
	Silence    Fault = "silence"     // the press sends nothing
	Unplug     Fault = "unplug"      // the cable is pulled in the middle of the frame
	Duplicate  Fault = "duplicate"   // the frame comes twice
	Noise      Fault = "noise"       // random bytes come before the frame
	BitFlip    Fault = "bit_flip"    // one bit of the frame is wrong
	WrongUnit  Fault = "wrong_unit"  // the caliper is switched to its other unit
	LowBattery Fault = "low_battery" // told when asked; after three more presses all is silent
	Drift      Fault = "drift"       // each press shows one step more than the one before
	Sticky     Fault = "sticky"      // the display shows the value before
	SlowLink   Fault = "slow_link"   // the second half of the frame comes late
)

// Faults returns all faults.
func Faults() []Fault {
	return []Fault{
		Silence, Unplug, Duplicate, Noise, BitFlip, WrongUnit, LowBattery, Drift, Sticky, SlowLink,
	}
}

// Step of a script: Fault acts on the press with number Press (the first is
// 1) and on the For−1 after it; For 0 is 1.
type Step struct {
	Press int
	For   int
	Fault Fault
}

// ParseScript reads steps written as "3 silence; 5+4 sticky": the number of a
// press, for how many presses if more than one, the fault. The error names
// the step and the faults there are.
func ParseScript(text string) ([]Step, error) {
	var steps []Step
	for _, part := range strings.FieldsFunc(text, func(r rune) bool { return r == ';' || r == '\n' }) {
		if strings.TrimSpace(part) == "" {
			continue
		}
		step, err := parseStep(part)
		if err != nil {
			return nil, fmt.Errorf("step %q: %w", device.Escape([]byte(strings.TrimSpace(part))), err)
		}
		steps = append(steps, step)
	}
	return steps, nil
}

func parseStep(text string) (Step, error) {
	words := strings.Fields(text)
	if len(words) != 2 {
		return Step{}, errors.New("write a press and a fault, as in \"3 silence\" or \"5+4 sticky\"")
	}
	first, count, many := strings.Cut(words[0], "+")
	step := Step{For: 1, Fault: Fault(words[1])}
	var err error
	if step.Press, err = strconv.Atoi(first); err != nil {
		return Step{}, fmt.Errorf("%q is no number of a press", device.Escape([]byte(first)))
	}
	if many {
		if step.For, err = strconv.Atoi(count); err != nil {
			return Step{}, fmt.Errorf("%q is no count of presses", device.Escape([]byte(count)))
		}
	}
	return step, step.check()
}

func (s Step) check() error {
	if s.Press < 1 || s.For < 0 {
		return errors.New("presses count from 1")
	}
	names := make([]string, 0, len(Faults()))
	for _, f := range Faults() {
		if f == s.Fault {
			return nil
		}
		names = append(names, string(f))
	}
	return fmt.Errorf("there is no such fault; use one of %s", strings.Join(names, ", "))
}

// acts reports whether the step acts on a press.
func (s Step) acts(press int) bool { return press >= s.Press && press < s.Press+max(s.For, 1) }
