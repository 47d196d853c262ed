package main

import (
	"context"
	"fmt"
	"math"
	"strings"
	"time"

	"seamfit/internal/length"
	"seamfit/internal/metrology"
)

// read takes the readings of a check into it.
func (c *checking) read(ctx context.Context, now func() time.Time, check *metrology.Check) error {
	if c.dialogue != nil {
		return c.readLive(ctx, check)
	}
	p := lengthParser{unit: length.MM, resolution: c.repeats.Resolution}
	widths, err := p.list("--readings", c.f.readings)
	if err != nil {
		return err
	}
	for _, w := range widths {
		c.take(check, taken{value: w.Value, step: w.Resolution, raw: []byte(w.Value.Exact()), at: now()})
	}
	if spread, limit, ok := c.repeats.Agree(c.counted(check)); !ok {
		return fmt.Errorf("the readings lie %.3f mm apart, and repeats should lie within %.3f mm; check again without --readings, which asks about each", spread, limit)
	}
	return nil
}

func (c *checking) take(check *metrology.Check, t taken) {
	if c.s.Measure.Resolution.Length == 0 && (c.repeats.Resolution == 0 || t.step < c.repeats.Resolution) {
		c.repeats.Resolution = t.step
	}
	check.Readings = append(check.Readings, metrology.RecordedReading{
		Rod: c.rod.Rod.ID, Raw: t.raw, At: t.at, Reference: c.rod.Reference, Reading: t.value, RodU: c.rod.U(),
	})
}

func (c *checking) counted(check *metrology.Check) []length.Length {
	var values []length.Length
	for _, r := range check.Readings {
		if r.SetAside == "" {
			values = append(values, r.Reading)
		}
	}
	return values
}

// readLive asks for readings, and about one that disagrees.
func (c *checking) readLive(ctx context.Context, check *metrology.Check) error {
	d, want := c.dialogue, c.s.Calibration.CheckReadings
	d.say("Check of caliper %q on rod %s, %.4f mm.", c.s.Caliper.Name, c.rod.Rod.Name, c.rod.Reference.MM())
	d.say("Wipe the jaws, close them, set zero. Press the caliper's button, or type what it shows.")
	for {
		n := len(c.counted(check))
		if n >= want {
			return nil
		}
		reading, words, err := d.measure(ctx, fmt.Sprintf("  %s, reading %d of %d:", c.rod.Rod.Name, n+1, want))
		if err != nil {
			return err
		}
		if reading == nil {
			if strings.EqualFold(words, "quit") {
				return errQuit
			}
			d.say("  %s is no reading; press the button, type millimetres, or: quit", words)
			continue
		}
		off := c.corrected(reading.value) - c.rod.Reference.MM()
		d.reply("%8.4f mm  %s %+.4f", reading.value.MM(), c.errorWord(), off)
		c.take(check, *reading)
		doubt := ""
		if math.Abs(off) > 0.5 {
			doubt = fmt.Sprintf("it is %.2f mm off: is it this rod, and the unit right?", off)
		} else if spread, limit, ok := c.repeats.Agree(c.counted(check)); !ok {
			doubt = fmt.Sprintf("the readings lie %.3f mm apart, and repeats should lie within %.3f mm", spread, limit)
		}
		if doubt == "" {
			continue
		}
		if err := c.doubt(ctx, check, doubt); err != nil {
			return err
		}
	}
}

// doubt asks what to do about the last reading.
func (c *checking) doubt(ctx context.Context, check *metrology.Check, doubt string) error {
	c.dialogue.say("  ! disagrees: %s", doubt)
	for {
		answer, err := c.dialogue.question(ctx, "  keep - aside REASON - again?")
		if err != nil {
			return err
		}
		word, reason, _ := strings.Cut(answer, " ")
		reason = strings.TrimSpace(reason)
		last := &check.Readings[len(check.Readings)-1]
		switch strings.ToLower(word) {
		case "keep":
			return nil
		case "again":
			last.SetAside = "read again: " + doubt
			return nil
		case "aside":
			if reason == "" || said("the reason", reason) != nil {
				c.dialogue.say("  write the reason behind the word, like: aside rod tilted")
				continue
			}
			last.SetAside = reason
			return nil
		case "quit":
			return errQuit
		default:
			c.dialogue.say("  answer with one of: keep - aside REASON - again - quit")
		}
	}
}

// checkResult is a check as programs read it.
type checkResult struct {
	Caliper     string   `json:"caliper"`
	Rod         string   `json:"rod"`
	ReferenceMM float64  `json:"reference_mm"`
	N           int      `json:"n"`
	MeanMM      float64  `json:"mean_mm"`
	ErrorMM     float64  `json:"error_mm"`
	LowMM       float64  `json:"low_mm"`
	HighMM      float64  `json:"high_mm"`
	History     int      `json:"history"` // checks that the limits come from; 0: bench setting
	InLimits    bool     `json:"in_limits"`
	Drifting    bool     `json:"drifting"`
	Calibrated  bool     `json:"calibrated"`
	Reason      string   `json:"reason"`
	Warnings    []string `json:"warnings"`
}

// corrected returns a reading in millimetres, corrected by the last calibration
// if there is one.
func (c *checking) corrected(reading length.Length) float64 {
	x := reading.MM()
	if c.last == nil {
		return x
	}
	correction, _, _, _, _ := c.last.Result.At(x)
	return x + correction
}

// errorWord says which error is told of a reading.
func (c *checking) errorWord() string {
	if c.last == nil {
		return "error"
	}
	return "error, corrected,"
}

// judge fills in the mean, the error and the limits.
func (c *checking) judge(now time.Time, check *metrology.Check) (checkResult, error) {
	values := c.counted(check)
	total := 0.0
	for _, v := range values {
		total += c.corrected(v)
	}
	mean, err := length.FromMM(total / float64(len(values)))
	if err != nil {
		return checkResult{}, fmt.Errorf("the mean of the readings: %w; read the rod again", err)
	}
	check.At, check.N, check.Mean, check.Error = now, len(values), mean, mean-c.rod.Reference
	var since time.Time
	if c.last != nil {
		since = c.last.At
	}
	rules := metrology.CheckRules{Fewest: c.s.Calibration.CheckHistory, Most: c.s.Calibration.CheckLimit.MM(), U: c.repeats.MeanU(len(values))}
	history := c.earlier.History(check.Rod, since)
	limits, err := rules.Limits(history)
	if err != nil {
		return checkResult{}, err
	}
	drifting, err := rules.Drifts(append(history, check.Error.MM()))
	if err != nil {
		return checkResult{}, err
	}
	if check.Low, err = length.FromMM(limits.Low); err != nil {
		return checkResult{}, err
	}
	if check.High, err = length.FromMM(limits.High); err != nil {
		return checkResult{}, err
	}
	check.InLimits = limits.Inside(check.Error.MM())
	return checkResult{
		Caliper: check.Caliper, Rod: check.Rod, ReferenceMM: c.rod.Reference.MM(), N: check.N, MeanMM: mean.MM(), ErrorMM: check.Error.MM(),
		LowMM: limits.Low, HighMM: limits.High, History: limits.History, InLimits: check.InLimits, Drifting: drifting,
		Calibrated: c.last != nil, Reason: check.Reason,
	}, nil
}

// printRodCheck writes the result as text: to standard output, or where the
// dialogue is.
func (a *app) printRodCheck(c *checking, r checkResult) error {
	from := fmt.Sprintf("from %d checks before", r.History)
	if r.History == 0 {
		from = fmt.Sprintf("bench setting, until %d checks have set their own", c.s.Calibration.CheckHistory)
	}
	mean := "mean"
	if r.Calibrated {
		mean = "corrected mean"
	}
	lines := []string{
		fmt.Sprintf("rod %s, %.4f mm: %s %.4f mm of %d, error %+.4f mm", r.Rod, r.ReferenceMM, mean, r.MeanMM, r.N, r.ErrorMM),
		fmt.Sprintf("limits %+.4f to %+.4f mm, %s", r.LowMM, r.HighMM, from),
	}
	if r.InLimits {
		lines = append(lines, "in limits")
	} else {
		lines = append(lines, "OUT OF LIMITS")
	}
	if r.Drifting && r.InLimits {
		lines = append(lines, "! the checks wander slowly off where they began: calibrate the caliper soon")
	}
	if c.dialogue != nil {
		c.dialogue.text(strings.Join(lines, "\n") + "\n")
		return c.dialogue.failed
	}
	if a.json() {
		return nil
	}
	for _, w := range r.Warnings {
		lines = append(lines, "! "+w)
	}
	_, err := fmt.Fprint(a.stdout, printableLines(strings.Join(lines, "\n")+"\n"))
	return err
}
