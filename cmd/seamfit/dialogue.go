package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"time"

	"seamfit/device"
	"seamfit/internal/catalogue"
	"seamfit/internal/length"
	"seamfit/internal/settings"
)

// dialogue is a conversation line by line, on any terminal or through a pipe:
// questions go out, answers and the caliper's readings come in. It belongs to
// one goroutine.
type dialogue struct {
	out   io.Writer
	now   func() time.Time
	lines <-chan string       // what is typed; closed at the end of the input
	feed  <-chan device.Event // the caliper's; nil: none
	// echoed: the terminal itself shows what is typed, with the line's end.
	echoed bool
	prompt string // stands at the beginning of the line, unanswered
	failed error  // of writing
}

// feed is a caliper's link.
type feed interface {
	Next(ctx context.Context) (device.Event, error)
}

var (
	errInputEnded = errors.New("the input ended before the last answer; nothing was stored: run it at a terminal, or give all answers")
	errQuit       = errors.New("left before the end; nothing was stored")
)

// stopped is what is said when the program is interrupted in a dialogue.
func stopped(err error) error { return fmt.Errorf("stopped: %w; nothing was stored", err) }

// newDialogue begins to listen to the standard input and to the caliper, nil
// for none, until ctx ends. The one goroutine that may outlive it waits for a
// line that nobody types.
func (a *app) newDialogue(ctx context.Context, caliper feed) *dialogue {
	d := &dialogue{out: a.stdout, now: a.now, lines: readLines(ctx, a.stdin)}
	if a.json() {
		d.out = a.stderr // the result has standard output to itself
	}
	d.out = foldedFor(d.out)
	if f, ok := a.stdin.(*os.File); ok {
		info, err := f.Stat()
		d.echoed = err == nil && info.Mode()&os.ModeCharDevice != 0
	}
	if caliper != nil {
		events := make(chan device.Event)
		d.feed = events
		go func() {
			defer close(events)
			for {
				e, err := caliper.Next(ctx)
				if err != nil {
					return
				}
				e.Reading = e.Reading.Clone()
				select {
				case events <- e:
				case <-ctx.Done():
					return
				}
			}
		}()
	}
	return d
}

// converse opens the link to the caliper, where the settings name a port, and
// begins a dialogue. The returned function ends both.
func (a *app) converse(ctx context.Context, s settings.Settings) (*dialogue, func() error, error) {
	link, err := a.caliperFeed(s)
	if err != nil {
		return nil, nil, err
	}
	ctx, stop := context.WithCancel(ctx)
	if link == nil {
		return a.newDialogue(ctx, nil), func() error { stop(); return nil }, nil
	}
	return a.newDialogue(ctx, link), func() error { stop(); return link.Close() }, nil
}

// longestAnswer bounds a typed line.
const longestAnswer = 64 << 10

func readLines(ctx context.Context, in io.Reader) <-chan string {
	lines := make(chan string)
	go func() {
		defer close(lines)
		scanner := bufio.NewScanner(in)
		scanner.Buffer(nil, longestAnswer)
		for scanner.Scan() {
			select {
			case lines <- strings.TrimSpace(scanner.Text()):
			case <-ctx.Done():
				return
			}
		}
	}()
	return lines
}

// say writes a line; arguments that are strings are made printable first. An
// unanswered prompt keeps its line, and is left behind.
func (d *dialogue) say(format string, args ...any) {
	d.endLine()
	d.write(format+"\n", args)
}

// reply is say for what answers the prompt: behind it, where the line is
// still there.
func (d *dialogue) reply(format string, args ...any) {
	indent := "  "
	if d.prompt != "" {
		d.prompt, indent = "", ""
	}
	d.write(indent+format+"\n", args)
}

func (d *dialogue) endLine() {
	if d.prompt != "" {
		d.prompt = ""
		d.write("\n", nil)
	}
}

func (d *dialogue) write(format string, args []any) {
	for i, arg := range args {
		if s, ok := arg.(string); ok {
			args[i] = catalogue.Printable(s)
		}
	}
	if _, err := fmt.Fprintf(d.out, format, args...); err != nil {
		d.failed = err
	}
}

// text writes lines as they are, each made printable.
func (d *dialogue) text(lines string) {
	d.endLine()
	if _, err := io.WriteString(d.out, printableLines(lines)); err != nil {
		d.failed = err
	}
}

func (d *dialogue) ask(prompt string) {
	d.endLine()
	d.prompt = prompt
	d.write("%s ", []any{prompt})
}

// taken is one reading: by the caliper, or typed by a person.
type taken struct {
	value, step length.Length
	raw         []byte
	at          time.Time
	typed       bool
}

// next waits for a typed line or a reading. What else the link tells is said
// at once, and the prompt repeated. Its errors are errInputEnded, a failed
// write, and stopped.
func (d *dialogue) next(ctx context.Context) (line string, reading *taken, err error) {
	for {
		if d.failed != nil {
			return "", nil, d.failed
		}
		select {
		case line, more := <-d.lines:
			if !more {
				d.endLine()
				return "", nil, errInputEnded
			}
			if d.echoed {
				d.prompt = ""
			}
			return line, nil, nil
		case e, more := <-d.feed:
			if !more {
				d.feed = nil
				if ctx.Err() == nil {
					d.remark("the caliper's link has ended; type the readings")
				}
				continue
			}
			if e.Kind == device.EventReading {
				r := e.Reading
				if r.UnitChanged {
					d.remark(fmt.Sprintf("the caliper shows %s now", r.Unit))
				}
				return "", &taken{value: r.Value, step: r.Resolution, raw: r.Raw, at: r.At}, nil
			}
			if words := linkWords(e); words != "" {
				d.remark(words)
			}
		case <-ctx.Done():
			d.endLine()
			return "", nil, stopped(context.Cause(ctx))
		}
	}
}

// remark says something between a prompt and its answer.
func (d *dialogue) remark(words string) {
	prompt := d.prompt
	d.say("  %s", words)
	if prompt != "" {
		d.ask(prompt)
	}
}

// linkWords puts into words what the link tells beside readings; empty for
// what nobody needs to know.
func linkWords(e device.Event) string {
	var frame *device.FrameError
	var notice *device.Notice
	switch {
	case e.Kind == device.EventState && e.State.Well():
		return e.State.Words
	case e.Kind == device.EventState && e.State.Mend != "":
		return "! " + e.State.Words + "; " + e.State.Mend
	case errors.As(e.Err, &frame):
		return "! " + frame.Error() + "; " + frame.Mend()
	case errors.As(e.Err, &notice) && notice.Kind == device.KindBatteryLow:
		return "! " + notice.Error() + "; " + notice.Mend()
	default:
		return ""
	}
}

// question asks for a line. A reading that comes meanwhile is not taken, and
// told so: it is no answer.
func (d *dialogue) question(ctx context.Context, prompt string) (string, error) {
	d.ask(prompt)
	for {
		line, reading, err := d.next(ctx)
		if err != nil || reading == nil {
			return line, err
		}
		d.remark(fmt.Sprintf("a reading of %v came while a question is open, and is not taken; answer, then read again", reading.value))
	}
}

// yes asks until the answer is yes or no.
func (d *dialogue) yes(ctx context.Context, prompt string) (bool, error) {
	for {
		line, err := d.question(ctx, prompt+" (y/n)")
		if err != nil {
			return false, err
		}
		switch strings.ToLower(line) {
		case "y", "yes":
			return true, nil
		case "n", "no":
			return false, nil
		case "quit":
			return false, errQuit
		}
	}
}

// measure asks for a reading. A typed line that is none is returned as words.
func (d *dialogue) measure(ctx context.Context, prompt string) (reading *taken, words string, err error) {
	d.ask(prompt)
	for {
		line, reading, err := d.next(ctx)
		switch {
		case err != nil || reading != nil:
			return reading, "", err
		case line == "":
			d.ask(prompt)
			continue
		case !strings.ContainsAny(line[:1], "0123456789+-.,"):
			return nil, line, nil
		}
		typed, err := length.ParsePerson(line, length.MM)
		if err == nil {
			return &taken{value: typed.Value, step: typed.Step, raw: []byte(line), at: d.now(), typed: true}, "", nil
		}
		d.say("  %s is no reading: %s; write millimetres like 8.42", line, err.Error())
		d.ask(prompt)
	}
}
