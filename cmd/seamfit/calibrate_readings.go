package main

import (
	"context"
	"errors"
	"fmt"
	"strconv"
	"strings"

	"seamfit/internal/length"
	"seamfit/internal/metrology"
)

// calibrating is a guided calibration under way.
type calibrating struct {
	d      *dialogue
	guide  metrology.Guide
	taken  []taken // as guide.Readings
	finest length.Length
	fixed  bool // the resolution is given, and does not follow the readings
}

// read takes readings until no more are wanted.
func (c *calibrating) read(ctx context.Context) error {
	shown := -1
	for {
		rod, number, more := c.guide.Next()
		if !more {
			return nil
		}
		p := c.guide.Rods[rod]
		if rod != shown {
			c.d.say("")
			c.d.say("Rod %s, %.4f mm (%d of %d)", p.Rod.Name, p.Reference.MM(), rod+1, len(c.guide.Rods))
			shown = rod
		}
		reading, words, err := c.d.measure(ctx, fmt.Sprintf("  %s, reading %d of %d:", p.Rod.Name, number, c.guide.PerRod))
		if err != nil {
			return err
		}
		if reading != nil {
			err = c.take(ctx, rod, *reading)
		} else {
			err = c.answer(rod, words)
		}
		if err != nil {
			return err
		}
	}
}

// answer does what words say instead of a reading.
func (c *calibrating) answer(rod int, words string) error {
	word, rest, _ := strings.Cut(words, " ")
	rest = strings.TrimSpace(rest)
	switch strings.ToLower(word) {
	case "quit":
		return errQuit
	case "next":
		if c.last(rod) < 0 {
			c.d.say("  no reading of this rod counts yet; read it once at least")
			return nil
		}
		c.guide = c.guide.Skip(rod)
	case "aside":
		c.aside(rod, rest)
	default:
		c.d.say("  %s is no reading; press the button, type millimetres, or: aside REASON - next - quit", words)
	}
	return nil
}

// aside sets a reading of a rod aside: the one that is named as "#7 REASON",
// or the last. It says why it can't, and then reports false.
func (c *calibrating) aside(rod int, words string) bool {
	index, reason := c.last(rod), words
	if number, rest, _ := strings.Cut(words, " "); strings.HasPrefix(number, "#") {
		n, err := strconv.Atoi(number[1:])
		readings := c.guide.Readings()
		if err != nil || n < 1 || n > len(readings) || readings[n-1].Rod != rod || readings[n-1].SetAside != "" {
			c.d.say("  %s is no reading of this rod that counts", number)
			return false
		}
		index, reason = n-1, strings.TrimSpace(rest)
	}
	switch {
	case index < 0:
		c.d.say("  there is no reading of this rod to set aside")
		return false
	case reason == "" || visible("the reason", reason) != nil:
		c.d.say("  a reading is set aside only with the reason; write it behind the word, like: aside rod tilted")
		return false
	}
	c.setAside(index, reason)
	return true
}

func (c *calibrating) setAside(index int, reason string) {
	c.guide = c.guide.SetAside(index, reason)
	c.d.say("  #%d, %v, is set aside: %s", index+1, c.taken[index].value, reason)
}

// last returns the index of the last reading of a rod that counts; −1 for
// none.
func (c *calibrating) last(rod int) int {
	readings := c.guide.Readings()
	for i := len(readings) - 1; i >= 0; i-- {
		if readings[i].Rod == rod && readings[i].SetAside == "" {
			return i
		}
	}
	return -1
}

// take says how far a reading lies off, and asks about one that disagrees.
func (c *calibrating) take(ctx context.Context, rod int, t taken) error {
	if !c.fixed && (c.finest == 0 || t.step < c.finest) {
		c.finest = t.step
		c.guide = c.guide.WithResolution(t.step)
	}
	remark := c.guide.Judge(rod, t.value)
	residual := "-"
	if remark.Fitted {
		residual = fmt.Sprintf("%+.4f", remark.ResidualMM)
	}
	c.d.reply("#%-2d %8.4f mm  error %+.4f  residual %s", len(c.taken)+1, t.value.MM(), remark.ErrorMM, residual)
	c.guide, c.taken = c.guide.Take(rod, t.value), append(c.taken, t)
	if remark.Doubt == "" {
		return nil
	}
	return c.doubt(ctx, rod, remark)
}

// doubt asks what to do about the reading taken last.
func (c *calibrating) doubt(ctx context.Context, rod int, remark metrology.Remark) error {
	index := len(c.taken) - 1
	c.d.say("  ! disagrees: %s.", remark.Doubt)
	choices := "keep - aside REASON - again"
	if remark.Impossible {
		choices = "aside REASON - again"
	}
	for {
		answer, err := c.d.question(ctx, "  "+choices+"?")
		if err != nil {
			return err
		}
		word, reason, _ := strings.Cut(answer, " ")
		reason = strings.TrimSpace(reason)
		switch strings.ToLower(word) {
		case "keep":
			if remark.Impossible {
				c.d.say("  no calibration can use it; set it aside, or read again")
				continue
			}
			c.d.say("  kept")
			return nil
		case "again":
			c.setAside(index, "read again: "+remark.Doubt)
			return nil
		case "aside":
			if c.aside(rod, reason) && (!remark.Impossible || c.last(rod) != index) {
				return nil
			}
		case "quit":
			return errQuit
		default:
			c.d.say("  answer with one of: %s - quit", choices)
		}
	}
}

// into puts the readings and the result into the record. A kept reading that
// no calibration can use is asked about again.
func (c *calibrating) into(ctx context.Context, r *metrology.Record, at []float64) error {
	for {
		result, err := c.guide.Result()
		var row *metrology.RowError
		switch {
		case err == nil:
			if r.Result, err = result.Ask(at); err != nil {
				return err
			}
			c.record(r)
			return nil
		case !errors.As(err, &row) || row.Line == 0:
			return err
		}
		c.d.say("! reading %d: %s", row.Line, row.What)
		reason, err := c.d.question(ctx, "It can't be used. Why is it set aside?")
		if err != nil {
			return err
		}
		if reason == "" || visible("the reason", reason) != nil {
			continue
		}
		c.setAside(row.Line-1, reason)
		if err := c.read(ctx); err != nil {
			return err
		}
	}
}

func (c *calibrating) record(r *metrology.Record) {
	r.At = c.d.now()
	setup := c.guide.Setup()
	r.Result.Warnings = append(r.Result.Warnings, metrology.Overdue(r.Conditions.Rods, r.At)...)
	r.Conditions.Resolution, r.Conditions.MPE = setup.Resolution, setup.MPE
	for i, g := range c.guide.Readings() {
		rod := c.guide.Rods[g.Rod]
		r.Readings = append(r.Readings, metrology.RecordedReading{
			Rod: rod.Rod.ID, Raw: c.taken[i].raw, At: c.taken[i].at, Reference: rod.Reference, Reading: g.Value,
			RodU: rod.U(), SetAside: g.SetAside,
		})
	}
}
