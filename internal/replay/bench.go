package replay

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"seamfit/internal/bench"
	"seamfit/internal/fit"
	"seamfit/internal/length"
)

const millimetres = length.MM

// Records is what a replay needs of the store. Save stores facts in one
// transaction; Standing tells what is known of a number; Load reads a
// handling back.
type Records interface {
	Save(ctx context.Context, facts []bench.Fact) error
	Standing(ctx context.Context, number string) (bench.Standing, error)
	Load(ctx context.Context, handling string) (bench.Handling, error)
}

// Source gives a replay what does not follow from its lines.
type Source struct {
	Now   func() time.Time
	NewID func() string
	// History tells what the bench measured on such birds before; nil: nothing
	// is known.
	History func(context.Context, bench.Likeness) (fit.History, error)
}

// Refusal is a line that changed nothing, and why.
type Refusal struct {
	Line     int             `json:"line"`
	Do       string          `json:"do"`
	Blockers []bench.Blocker `json:"blockers"`
}

// Codes of refusals that the domain does not know, since they are about the
// line and not the bird.
const (
	notUnderstood bench.Code = "not_understood"
	refusedStore  bench.Code = "records"
)

// Bench is a bench that lines are played on.
type Bench struct {
	state    bench.State
	records  Records
	devices  Devices
	stream   *stream // nil: every frame is a reading
	source   Source
	opened   []string // handlings, in the order in which their birds came
	refusals []Refusal
	line     int
}

// New returns a bench that begins in the given state, decodes the devices'
// bytes with their decoders, and saves into records. It fails when a decoder
// is missing or the stream's settings make no sense.
func New(state bench.State, records Records, devices Devices, source Source) (*Bench, error) {
	stream, err := devices.open()
	if err != nil {
		return nil, err
	}
	return &Bench{
		state: state, records: records, devices: devices, stream: stream, source: source, refusals: []Refusal{},
	}, nil
}

// Play plays one line. A line that is refused is noted and changes nothing.
// It returns an error only when the records can't be read or written; then
// the line, too, has changed nothing.
func (b *Bench) Play(ctx context.Context, line []byte) error {
	b.line++
	if strings.TrimSpace(string(line)) == "" {
		return nil
	}
	e, err := parse(line)
	if err != nil {
		b.refuse("", notUnderstood, "%v", err)
		return nil
	}
	when := bench.When{At: e.At, Entered: b.source.Now(), By: e.By, Typed: e.Typed}
	if when.At.IsZero() {
		when.At = when.Entered
	}
	switch {
	case e.Caliper != nil:
		return b.caliperBytes(ctx, when, e)
	case e.Scanner != nil:
		return b.scannerBytes(ctx, when, *e.Scanner)
	}
	return b.event(ctx, when, e)
}

func (b *Bench) event(ctx context.Context, when bench.When, e event) error {
	switch e.Do {
	case "shift":
		return b.apply(ctx, e.Do, b.shift(when, e))
	case "bird":
		id := b.source.NewID()
		err := b.apply(ctx, e.Do, bench.OpenBird{When: when, ID: id, Bird: e.bird()})
		if _, ok := b.state.Handling(id); ok {
			b.opened = append(b.opened, id)
		}
		return err
	case "settle":
		return b.settle(ctx, when, e)
	}
	if e.Handling != 0 {
		if e.Handling < 1 || e.Handling > len(b.opened) {
			b.refuse(e.Do, bench.NoSuchHandling, "No bird %d has come yet: there are %d.", e.Handling, len(b.opened))
			return nil
		}
		when.Handling = b.opened[e.Handling-1]
	}
	c, err := e.command(when)
	if err != nil {
		b.refuse(e.Do, notUnderstood, "%v", err)
		return nil
	}
	if e.Do == "set_aside" && b.stream != nil {
		b.stream.Rearm() // the same jaws may be read once more
	}
	return b.apply(ctx, e.Do, c)
}

func (b *Bench) shift(when bench.When, e event) bench.OpenShift {
	return bench.OpenShift{When: when, Shift: bench.Shift{
		ID: b.source.NewID(), Started: when.At, Place: e.Place, Bander: e.Bander, Scribe: e.Scribe, Permit: e.Permit,
		Catalogue: e.Catalogue, People: e.people(),
	}}
}

// apply takes one command through the domain and into the records. The state
// moves on only when the records have it.
func (b *Bench) apply(ctx context.Context, do string, c bench.Command) error {
	c, err := b.resolved(ctx, c)
	if err != nil {
		return err
	}
	next, facts, blockers := bench.Apply(b.state, c)
	if len(blockers) > 0 {
		b.refusals = append(b.refusals, Refusal{Line: b.line, Do: do, Blockers: blockers})
		return nil
	}
	if len(facts) > 0 {
		err := b.records.Save(ctx, facts)
		if errors.Is(err, bench.ErrRefused) {
			b.refuse(do, refusedStore, "%v", err)
			return nil
		}
		if err != nil {
			return fmt.Errorf("line %d: %w", b.line, err)
		}
	}
	b.state = next
	return b.remember(ctx)
}

// remember looks up what the bench knows of birds like the active one, once
// for each way in which it is described.
func (b *Bench) remember(ctx context.Context) error {
	h, ok := b.state.ActiveHandling()
	if !ok || b.source.History == nil || h.Bird.Species == "" {
		return nil
	}
	if _, known := b.state.History(h); known {
		return nil
	}
	history, err := b.source.History(ctx, h.Like())
	if err != nil {
		return fmt.Errorf("line %d: %w", b.line, err)
	}
	b.state = b.state.Remember(h.Like(), history)
	return nil
}

// resolved puts into the command what the records know of its number.
func (b *Bench) resolved(ctx context.Context, c bench.Command) (bench.Command, error) {
	number, ok := bench.NumberOf(b.state, c)
	if !ok {
		return c, nil
	}
	st, err := b.records.Standing(ctx, number)
	if err != nil {
		return c, fmt.Errorf("line %d: %w", b.line, err)
	}
	return bench.WithStanding(c, st), nil
}

func (b *Bench) refuse(do string, code bench.Code, format string, args ...any) {
	b.refusals = append(b.refusals, Refusal{
		Line: b.line, Do: do, Blockers: []bench.Blocker{{Code: code, Mend: fmt.Sprintf(format, args...)}},
	})
}

// Refusals returns the lines that changed nothing, in their order.
func (b *Bench) Refusals() []Refusal { return slices.Clone(b.refusals) }

// Opened returns the handlings that the lines began, in their order.
func (b *Bench) Opened() []string { return slices.Clone(b.opened) }
