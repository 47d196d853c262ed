package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"seamfit/device"
)

// wire is an open port at one speed and framing, and what came over it.
type wire struct {
	*device.Listener
	setting device.LineSetting
	heard   chan heardOrEnd // of the goroutine that listens, which closes it when the port goes or is closed
	lines   []string        // complete ones that are not empty, the newest
	partial []byte          // of the line that has not ended, its beginning
	asked   []device.Form   // that were asked and answered
}

type heardOrEnd struct {
	bytes []byte
	err   error // the port has gone
}

// linesKept bounds what is remembered of a stream.
const linesKept = 200

// openWire opens a port. ctx ends its goroutine.
func (g *guide) openWire(ctx context.Context, port string, s device.LineSetting) (*wire, error) {
	l, err := device.OpenListener(device.SerialConfig{
		Port: port, Baud: s.Baud, Framing: s.Framing, Settle: g.pace.settle,
	}, g.open)
	if err != nil {
		return nil, err
	}
	w := &wire{Listener: l, setting: s, heard: make(chan heardOrEnd)}
	go func() {
		defer close(w.heard)
		for {
			h, err := l.Next(ctx)
			if device.GoesOn(err) {
				continue
			}
			select {
			case w.heard <- heardOrEnd{h.Bytes, err}:
			case <-ctx.Done():
				return
			}
			if err != nil {
				return
			}
		}
	}()
	return w, nil
}

// add takes bytes and returns the lines that they complete.
func (w *wire) add(p []byte) []string {
	var news []string
	for _, c := range p {
		switch {
		case c != '\r' && c != '\n':
			if len(w.partial) < 2*restLimit {
				w.partial = append(w.partial, c)
			}
		case len(w.partial) > 0:
			news = append(news, string(w.partial))
			w.partial = w.partial[:0]
		}
	}
	w.lines = append(w.lines, news...)
	if extra := len(w.lines) - linesKept; extra > 0 {
		w.lines = slices.Delete(w.lines, 0, extra)
	}
	return news
}

// listen listens for at most d, or until done says that it is enough. It
// returns errFindStopped when ctx ends, and says so when the port has gone.
func (w *wire) listen(ctx context.Context, d time.Duration, done func(news []string) bool) error {
	limit := time.NewTimer(d)
	defer limit.Stop()
	for {
		select {
		case h := <-w.heard:
			if h.err != nil || h.bytes == nil {
				return w.gone(ctx, h.err)
			}
			if done(w.add(h.bytes)) {
				return nil
			}
		case <-limit.C:
			return nil
		case <-ctx.Done():
			return errFindStopped
		}
	}
}

func (w *wire) gone(ctx context.Context, err error) error {
	if ctx.Err() != nil {
		return errFindStopped
	}
	if err == nil {
		err = device.ErrGone
	}
	return fmt.Errorf("%w; plug the cable in, or switch the caliper on and bring it near, and find it again", err)
}

// recognise tells which forms fit the lines so far.
func (w *wire) recognise(among []device.Form) device.Recognition {
	return recogniseLines(w.lines, among)
}

// recogniseLines is device.Recognise of lines. A line that nobody but a
// keyboard would send on a port is looked at as such only when no other form
// fits: every signed decimal would be undecided else.
func recogniseLines(lines []string, among []device.Form) device.Recognition {
	data := []byte(strings.Join(lines, "\r") + "\r")
	r := device.Recognise(data, among)
	if r.Certainty == device.Unknown {
		r = device.Recognise(data, []device.Form{device.Typed})
	}
	return r
}

// hasValue reports whether a line is a value in one of the forms.
func hasValue(line string, among []device.Form) bool {
	return recogniseLines([]string{line}, among).Certainty != device.Unknown
}

// findSerial finds speed, framing and form of the caliper on a port.
func (g *guide) findSerial(ctx context.Context, port device.PortInfo) (found, error) {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	w, err := g.search(ctx, port)
	if err != nil {
		return found{}, err
	}
	f, err := g.measure(ctx, w)
	f.port = port
	return f, errors.Join(err, w.Close())
}

// search tries one speed after the other until something is heard that fits
// a wire form. It leaves that port open.
func (g *guide) search(ctx context.Context, port device.PortInfo) (*wire, error) {
	tried := g.tried
	if port.Address != "" {
		tried = tried[:1] // a wireless link has no speed of its own
	}
	g.say("\nNow press the caliper's button about once a second, until it is found.\n")
	g.say("(A caliper that can be asked is asked; one that sends by itself needs no press.)\n")
	var noise string
	for range g.pace.rounds {
		for _, s := range tried {
			w, what, err := g.try(ctx, port.Name, s)
			if err != nil || w != nil {
				return w, err
			}
			if what != "" && what != refusedSpeed {
				noise = fmt.Sprintf("%s at %d %s", what, s.Baud, s.Framing)
			}
		}
	}
	if noise != "" {
		return nil, fmt.Errorf("what arrives fits no wire form that is known (%s); look at it with find --listen, and check that the caliper's output is switched on", noise)
	}
	return nil, errors.New("nothing arrives from the caliper at any usual speed; check its cable, its battery, and that its output is switched on, then run find again")
}

// refusedSpeed is what try tells of a speed that the port does not have.
const refusedSpeed = "the port does not have this speed"

// try listens at one speed, and asks where a form can be asked. It returns
// the open port if a form fits, else what was heard.
func (g *guide) try(ctx context.Context, port string, s device.LineSetting) (*wire, string, error) {
	g.say("  %6d %s: ", s.Baud, s.Framing)
	w, err := g.openWire(ctx, port, s)
	var fault *device.PortError
	if errors.As(err, &fault) && fault.Fault == device.PortMode {
		g.say("%s\n", refusedSpeed)
		return nil, refusedSpeed, nil
	}
	if err != nil {
		g.say("\n")
		return nil, "", mended(err)
	}
	fits, err := g.attend(ctx, w)
	if fits && err == nil {
		g.say("%s\n", device.Quote([]byte(w.lines[len(w.lines)-1])))
		return w, "", nil
	}
	what := ""
	if heard := slices.Concat([]byte(strings.Join(w.lines, "\r")), w.partial); len(heard) > 0 {
		what = device.Quote(bytes.Clone(heard[:min(len(heard), restLimit)]))
	}
	g.say("%s\n", orNothing(what))
	return nil, what, errors.Join(err, w.Close())
}

func orNothing(what string) string {
	if what == "" {
		return "nothing"
	}
	return what + " fits no form"
}

// attend listens to w, then asks in each form that can be asked, until the
// lines fit a form.
func (g *guide) attend(ctx context.Context, w *wire) (fits bool, err error) {
	enough := func([]string) bool {
		fits = w.recognise(g.among).Certainty != device.Unknown
		return fits
	}
	if err := w.listen(ctx, max(g.pace.settle, 0)+g.pace.hear, enough); err != nil || fits {
		return fits, err
	}
	for _, form := range g.among {
		if form.Command(device.AskReading) == nil {
			continue
		}
		if w.Ask(form, device.AskReading) != nil {
			continue // a port that takes no bytes may still bring some
		}
		if err := w.listen(ctx, g.pace.answer, enough); err != nil {
			return false, err
		}
		if fits {
			w.asked = append(w.asked, form)
			return true, nil
		}
	}
	return false, nil
}
