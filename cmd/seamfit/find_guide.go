package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strconv"
	"time"

	"seamfit/device"
	"seamfit/internal/catalogue"
	"seamfit/internal/length"
)

// guide leads a person through finding the caliper. What it says goes to
// standard output, or with --format json to standard error, so that only the
// result is on standard output.
type guide struct {
	*app
	open  device.Opener
	list  device.Lister
	among []device.Form        // wire forms that a port may send
	tried []device.LineSetting // speeds and framings, the likeliest first
	pace  guidePace

	out   io.Writer
	lines <-chan string // what the person types; closed at its end
}

// guidePace is how long the guide listens.
type guidePace struct {
	rounds int           // through all speeds before it gives up
	settle time.Duration // as device.SerialConfig has it
	hear   time.Duration // for a press, at each speed
	answer time.Duration // for an answer, when it asks
	stream time.Duration // to see whether the caliper sends by itself
}

// newGuide returns a guide with the usual pace: slow enough for a press a
// second, fast enough for ten speeds in half a minute. [practice]
func newGuide(a *app, open device.Opener, list device.Lister) *guide {
	g := &guide{
		app: a, open: open, list: list, among: device.SerialForms(), tried: device.UsualSettings(), out: a.stdout,
		pace: guidePace{rounds: 3, settle: device.DefaultSettle, hear: 1100 * time.Millisecond, answer: 500 * time.Millisecond, stream: 1500 * time.Millisecond},
	}
	if a.json() {
		g.out = a.stderr
	}
	g.out = foldedFor(g.out)
	return g
}

// The ways in which a guide ends without a result.
var (
	errFindStopped = errors.New("stopped before the caliper was found; nothing was written")
	errFindInput   = errors.New("the answers have ended before all was asked; run find in a terminal, and see --help for finding without it")
)

// found is what the guide has found out.
type found struct {
	port      device.PortInfo
	line      device.LineSetting
	form      device.Form
	certainty device.Certainty
	unit      length.Unit
	streams   bool
	comma     bool // of a caliper that types: its decimal mark
	presses   []press
}

// press is one measurement that the person was asked for.
type press struct {
	What    string
	rod     length.Length // 0: not of a rod
	raw     string
	reading device.Reading
}

// run asks, listens, and writes the settings.
func (g *guide) run(ctx context.Context) error {
	g.lines = readLines(ctx, g.stdin)
	port, typed, err := g.choosePort(ctx)
	if err != nil {
		return err
	}
	var f found
	if typed {
		f, err = g.findTyping(ctx)
	} else {
		f, err = g.findSerial(ctx, port)
	}
	if err != nil {
		return err
	}
	if err := g.decideUnit(ctx, &f); err != nil {
		return err
	}
	g.tell(f)
	return g.write(ctx, f)
}

// say writes to the person. Text from outside is made printable; an output
// that takes nothing shows when the result is written.
func (g *guide) say(format string, args ...any) {
	for i, arg := range args {
		switch v := arg.(type) {
		case string:
			args[i] = catalogue.Printable(v)
		case error:
			args[i] = catalogue.Printable(v.Error())
		}
	}
	_, _ = fmt.Fprintf(g.out, format, args...)
}

// ask puts a question and returns the answer.
func (g *guide) ask(ctx context.Context, question string) (string, error) {
	g.say("%s ", question)
	select {
	case line, ok := <-g.lines:
		if !ok {
			g.say("\n")
			return "", errFindInput
		}
		return line, nil
	case <-ctx.Done():
		return "", errFindStopped
	}
}

// choosePort lists the ports and has the person choose. typed: the caliper
// acts as a keyboard and has no port.
func (g *guide) choosePort(ctx context.Context) (port device.PortInfo, typed bool, err error) {
	ports, err := g.list()
	if err != nil {
		g.say("%s\n", err)
	}
	if len(ports) == 0 {
		g.say("%s\n", noPorts)
	}
	for i, p := range ports {
		g.say("%3d  %s\n", i+1, p.String())
	}
	for {
		answer, err := g.ask(ctx, "Which port is the caliper on? Its number or name; k if it types like a keyboard:")
		if err != nil {
			return port, false, err
		}
		n, notNumber := strconv.Atoi(answer)
		switch {
		case answer == "k":
			return port, true, nil
		case notNumber == nil && n >= 1 && n <= len(ports):
			return ports[n-1], false, nil
		case notNumber == nil:
			g.say("There is no number %d in the list.\n", n)
		case answer != "":
			return named(answer, ports), false, nil
		}
	}
}

// named returns the listed port of that name, or a port with a name alone.
func named(name string, ports []device.PortInfo) device.PortInfo {
	for _, p := range ports {
		if p.Name == name {
			return p
		}
	}
	return device.PortInfo{Name: name}
}

// decideForm returns the form that the lines are of. Of several that fit, the
// person chooses.
func (g *guide) decideForm(ctx context.Context, r device.Recognition) (device.Form, error) {
	if form, ok := r.Form(); ok {
		return form, nil
	}
	if len(r.Candidates) == 0 {
		return "", errors.New(r.String())
	}
	g.say("\nSeveral wire forms fit what the caliper sends, and none is guessed:\n")
	for i, c := range r.Candidates {
		g.say("%3d  %-12s %s: reads %s\n", i+1, string(c.Form), formWords(c.Form), shownValue(c.Readings[len(c.Readings)-1]))
	}
	for {
		answer, err := g.ask(ctx, "Which do the caliper's papers describe? Its number or name:")
		if err != nil {
			return "", err
		}
		for i, c := range r.Candidates {
			if answer == strconv.Itoa(i+1) || answer == string(c.Form) {
				return c.Form, nil
			}
		}
	}
}

// formWords describes a wire form to a person.
func formWords(f device.Form) string {
	switch f {
	case device.Plain:
		return "a signed decimal, without a unit"
	case device.Print:
		return "a decimal and its unit, printed by a bridge"
	case device.Channel:
		return "a gauge multiplexer's line, without a unit"
	case device.Wide:
		return "a sign, eight characters and a unit"
	case device.Multiplexed:
		return "a multiplexer's line with flags and a unit"
	case device.Nibbles:
		return "thirteen hexadecimal digits"
	default:
		return "typed as on a keyboard"
	}
}

// decideUnit finds out the unit of values that name none: by a rod, or else
// from the person. The size of a number alone never tells it.
func (g *guide) decideUnit(ctx context.Context, f *found) error {
	var assumed bool
	var ofRod []device.Reading
	var rod length.Length
	for _, p := range f.presses {
		assumed = assumed || p.reading.UnitAssumed
		if p.rod > 0 {
			ofRod, rod = append(ofRod, p.reading), p.rod
		}
	}
	f.unit = f.presses[len(f.presses)-1].reading.Unit
	if !assumed {
		return nil
	}
	if unit, ok := device.UnitByRod(ofRod, rod); ok {
		g.say("\nThe values name no unit; by the rod they are in %s.\n", unit.String())
		return g.reread(f, unit)
	}
	if rod > 0 {
		g.say("\nThe values name no unit, and fit the rod neither in mm nor in in: check its diameter and the caliper's zero.\n")
	}
	for {
		answer, err := g.ask(ctx, "The values name no unit. What does the caliper show, mm or in?")
		if err != nil {
			return err
		}
		if unit, err := length.ParseUnit(answer); err == nil {
			return g.reread(f, unit)
		}
	}
}

// reread reads the presses again, with the unit that they are in.
func (g *guide) reread(f *found, unit length.Unit) error {
	f.unit = unit
	for i := range f.presses {
		reading, err := read(f.form, f.presses[i].raw, unit)
		if err != nil {
			return err
		}
		f.presses[i].reading = reading
	}
	return nil
}

// read reads one line as form.
func read(form device.Form, raw string, unit length.Unit) (device.Reading, error) {
	dec, err := device.NewDecoder(form, device.DecoderOptions{Unit: unit})
	if err != nil {
		return device.Reading{}, err
	}
	frames := dec.Feed([]byte(raw + "\r"))
	if len(frames) != 1 || frames[0].Err != nil {
		return device.Reading{}, fmt.Errorf("%s is no reading of wire form %s; find the caliper again", device.Quote([]byte(raw)), form)
	}
	return frames[0].Clone(), nil
}
