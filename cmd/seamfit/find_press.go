package main

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"seamfit/device"
	"seamfit/internal/length"
)

// streamLines is how many values in the guide's stream time nobody presses.
const streamLines = 3

// measure has the person take three measurements, and tells the form.
func (g *guide) measure(ctx context.Context, w *wire) (found, error) {
	f := found{line: w.setting}
	g.say("\nFound. Let go of the button for a moment.\n")
	values := 0
	if err := w.listen(ctx, g.pace.stream, func(news []string) bool {
		for _, line := range news {
			if hasValue(line, g.among) {
				values++
			}
		}
		return values >= streamLines
	}); err != nil {
		return f, err
	}
	f.streams = values >= streamLines
	if f.streams {
		g.say("It sends by itself, without a press.\n")
	}
	presses, err := g.three(ctx, func(what string) (string, error) { return g.press(ctx, w, f.streams, what) })
	if err != nil {
		return f, err
	}
	r := g.judge(w, presses)
	f.certainty = r.Certainty
	if f.form, err = g.decideForm(ctx, r); err != nil {
		return f, err
	}
	if _, decided := r.Form(); decided {
		g.say("\n%s\n", r.String())
	}
	f.presses, err = asForm(presses, f.form)
	return f, err
}

// judge recognises the form by all lines that came; where too many of them
// are noise, by the lines of the presses alone, and then with less certainty.
func (g *guide) judge(w *wire, presses []press) device.Recognition {
	r := w.recognise(g.among)
	if r.Certainty != device.Unknown {
		return r
	}
	lines := make([]string, 0, len(presses))
	for _, p := range presses {
		lines = append(lines, p.raw)
	}
	if r = recogniseLines(lines, g.among); r.Certainty == device.Certain {
		r.Certainty = device.Likely
	}
	g.say("\nMuch of what came fits no wire form; going by the three measurements alone.\n")
	return r
}

// three asks for the three measurements; take waits for one.
func (g *guide) three(ctx context.Context, take func(what string) (string, error)) ([]press, error) {
	all := []press{{What: "jaws closed"}}
	var err error
	if all[0].raw, err = take("1 of 3: close the jaws"); err != nil {
		return nil, err
	}
	rod, err := g.askRod(ctx)
	if err != nil {
		return nil, err
	}
	prompts := []string{"2 of 3: open the jaws a little", "3 of 3: open them wider"}
	names := []string{"open", "wider open"}
	if rod > 0 {
		prompts = []string{"2 of 3: measure the rod", "3 of 3: measure the rod once more"}
		names = []string{"rod of " + rod.String(), "rod of " + rod.String()}
	}
	for i, prompt := range prompts {
		raw, err := take(prompt)
		if err != nil {
			return nil, err
		}
		all = append(all, press{What: names[i], rod: rod, raw: raw})
	}
	return all, nil
}

func (g *guide) askRod(ctx context.Context) (length.Length, error) {
	for {
		answer, err := g.ask(ctx, "Diameter of a rod that you know, in mm, such as 6.00; Enter if there is none to hand:")
		if err != nil || answer == "" {
			return 0, err
		}
		typed, err := length.ParsePerson(answer, length.MM)
		if err == nil && typed.Value > 0 {
			return typed.Value, nil
		}
		g.say("%q is no diameter.\n", answer)
	}
}

// press waits for one measurement: for a press of the button, or for Enter,
// at which a caliper that streams is read and one that can be asked is asked.
func (g *guide) press(ctx context.Context, w *wire, streams bool, what string) (string, error) {
	askable := w.askable(g.among)
	switch {
	case streams:
		g.say("%s, hold it still, and press Enter here. ", what)
	case askable != "":
		g.say("%s, and press its button, or Enter here to have it asked. ", what)
	default:
		g.say("%s, and press its button. ", what)
	}
	taking := !streams
	for {
		select {
		case h := <-w.heard:
			if h.err != nil || h.bytes == nil {
				return "", w.gone(ctx, h.err)
			}
			if raw, ok := g.pressed(w.add(h.bytes), taking); ok {
				return raw, nil
			}
		case _, ok := <-g.lines:
			if !ok {
				return "", errFindInput
			}
			taking = true
			if askable != "" && !streams {
				if err := w.Ask(askable, device.AskReading); err != nil {
					g.say("%s\n", err)
				}
			}
		case <-ctx.Done():
			return "", errFindStopped
		}
	}
}

// pressed returns the last value among the lines, and tells what else is
// among them.
func (g *guide) pressed(news []string, taking bool) (raw string, ok bool) {
	for _, line := range news {
		switch {
		case hasValue(line, g.among):
			raw, ok = line, taking
		case taking:
			g.say("\n%s: %s\n", device.Quote([]byte(line)), saidBy(line, g.among))
		}
	}
	if ok {
		g.say("%s\n", device.Quote([]byte(raw)))
	}
	return raw, ok
}

// saidBy is what a line without a value means in the first form that knows it.
func saidBy(line string, among []device.Form) string {
	for _, form := range among {
		dec, err := device.NewDecoder(form, device.DecoderOptions{Unit: length.MM})
		if err != nil {
			continue
		}
		for _, frame := range dec.Feed([]byte(line + "\r")) {
			var failed *device.FrameError
			if errors.As(frame.Err, &failed) && failed.Kind == device.KindGrammar {
				continue
			}
			if frame.Err != nil {
				return mended(frame.Err).Error()
			}
		}
	}
	return "no value in any wire form; measure again"
}

// askable returns the form in which the caliper may be asked: the one in which
// it has answered, or the one that fits; else "".
func (w *wire) askable(among []device.Form) device.Form {
	if len(w.asked) > 0 {
		return w.asked[0]
	}
	if form, ok := w.recognise(among).Form(); ok && form.Command(device.AskReading) != nil {
		return form
	}
	return ""
}

// asForm reads the presses' lines.
func asForm(presses []press, form device.Form) ([]press, error) {
	for i := range presses {
		reading, err := read(form, presses[i].raw, length.MM)
		if err != nil {
			return nil, err
		}
		presses[i].reading = reading
	}
	return presses, nil
}

// findTyping recognises a caliper that types like a keyboard.
func (g *guide) findTyping(ctx context.Context) (found, error) {
	f := found{form: device.Typed, certainty: device.Certain}
	g.say("\nThe caliper types into this terminal. Set it to end each value with Enter.\n")
	take := func(what string) (string, error) {
		for {
			answer, err := g.ask(ctx, what+", and press its button:")
			if err != nil {
				return "", err
			}
			// A decimal comma is a matter of the keyboard's layout.
			line := strings.Replace(answer, ",", ".", 1)
			f.comma = f.comma || line != answer
			if hasValue(line, []device.Form{device.Typed}) {
				return line, nil
			}
			g.say("%s is no value; set the keyboard layout to one that types plain digits.\n", device.Quote([]byte(answer)))
		}
	}
	presses, err := g.three(ctx, take)
	if err != nil {
		return f, err
	}
	g.say("\n%s\n", fmt.Sprintf("certain: %s (3 values)", f.form))
	f.presses, err = asForm(presses, f.form)
	return f, err
}
