package bench_test

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"seamfit/internal/bands"
	"seamfit/internal/bench"
	"seamfit/internal/catalogue"
	"seamfit/internal/fit"
	"seamfit/internal/length"
)

// desk is a bench that a test works at: every command comes a second after
// the last, and the number register knows what the facts so far say.
type desk struct {
	t     require.TestingT
	state bench.State
	facts []bench.Fact
	now   time.Time
	birds int
}

func setup(t require.TestingT) *bench.Setup {
	book, err := catalogue.Embedded()
	require.NoError(t, err)
	patterns, err := bands.Embedded()
	require.NoError(t, err)
	pattern, ok := patterns.Named("federal")
	require.True(t, ok)
	return &bench.Setup{
		Book: book, Catalogue: "us-federal", Model: fit.DefaultModel(), Pattern: pattern,
		Readings: 3, AbsurdOver: 60 * length.Millimetre,
	}
}

func newDesk(t require.TestingT) *desk {
	d := &desk{t: t, state: bench.State{Setup: setup(t)}, now: time.Date(2026, 5, 17, 6, 30, 0, 0, time.UTC)}
	d.do(bench.OpenShift{Shift: bench.Shift{ID: "shift-1", Place: "Skerry of Ness", Bander: "A. Holm", Permit: "P-1"}})
	return d
}

// try applies a command and returns its blockers.
func (d *desk) try(c bench.Command) []bench.Blocker {
	before := fmt.Sprintf("%+v", d.state.Handlings)
	d.now = d.now.Add(time.Second)
	if number, ok := bench.NumberOf(d.state, c); ok {
		c = bench.WithStanding(c, d.standing(number))
	}
	next, facts, blockers := bench.Apply(d.state, stamp(c, d.now))
	require.Equal(d.t, before, fmt.Sprintf("%+v", d.state.Handlings), "Apply never changes the state it was given")
	if len(blockers) > 0 {
		require.Empty(d.t, facts, "a refused command gives no facts")
		for _, b := range blockers {
			require.NotEmpty(d.t, b.Mend, "blocker %s names its mend", b.Code)
		}
		return blockers
	}
	d.state = next
	d.facts = append(d.facts, facts...)
	return nil
}

// do applies a command that must be taken.
func (d *desk) do(c bench.Command) {
	require.Empty(d.t, d.try(c), "%T %+v", c, c)
}

// refused applies a command that must be refused for exactly these reasons.
func (d *desk) refused(c bench.Command, codes ...bench.Code) {
	var got []bench.Code
	for _, b := range d.try(c) {
		got = append(got, b.Code)
	}
	require.Equal(d.t, codes, got, "%T %+v", c, c)
}

// standing is what a store would answer, from the facts so far of handlings
// that the state no longer holds.
func (d *desk) standing(number string) bench.Standing {
	handlings := map[string]bench.Handling{}
	for _, f := range d.facts {
		if id := f.Key().Handling; id != "" {
			handlings[id] = bench.FoldHandling(handlings[id], f)
		}
	}
	for id, h := range handlings {
		for _, b := range h.Bands {
			if b.Number == number {
				return bench.Standing{State: b.State, Handling: id}
			}
		}
	}
	return bench.Standing{}
}

func (d *desk) bird(species string) string {
	d.birds++
	id := fmt.Sprintf("bird-%d", d.birds)
	d.do(bench.OpenBird{ID: id, Bird: bench.Bird{Species: species, Age: "adult", Leg: bench.LegRight}})
	return id
}

func (d *desk) widths(texts ...string) {
	for _, text := range texts {
		c, err := bench.TypedReading(bench.When{}, text, length.MM)
		require.NoError(d.t, err)
		d.do(c)
	}
}

// gull opens a Herring Gull, measures it, chooses size 6 and takes a number.
func (d *desk) gull(number string) string {
	id := d.bird("Larus argentatus")
	d.widths("8.42", "8.45", "8.40")
	d.do(bench.ChooseSize{Size: "6", Metal: "stainless steel"})
	d.do(bench.GiveNumber{Number: number})
	return id
}

func (d *desk) active() bench.Handling {
	h, ok := d.state.ActiveHandling()
	require.True(d.t, ok)
	return h
}

func (d *desk) flush(readBack string) {
	d.do(bench.Look{})
	d.do(bench.Confirm{All: true, ReadBack: readBack})
}

func (d *desk) banded() {
	d.do(bench.TellFate{Fate: bench.FateBanded})
	d.do(bench.Complete{})
	require.True(d.t, d.active().Done())
}

func codes(blockers []bench.Blocker) []bench.Code {
	var all []bench.Code
	for _, b := range blockers {
		all = append(all, b.Code)
	}
	return all
}

// stamp puts the time into a command.
func stamp(c bench.Command, at time.Time) bench.Command {
	switch c := c.(type) {
	case bench.OpenShift:
		c.At = at
		return c
	case bench.OpenBird:
		c.At = at
		return c
	case bench.DescribeBird:
		c.At = at
		return c
	case bench.Activate:
		c.At = at
		return c
	case bench.TakeReading:
		c.At = at
		return c
	case bench.SetAside:
		c.At = at
		return c
	case bench.ChooseSize:
		c.At = at
		return c
	case bench.GiveNumber:
		c.At = at
		return c
	case bench.TellFound:
		c.At = at
		return c
	case bench.Look:
		c.At = at
		return c
	case bench.Confirm:
		c.At = at
		return c
	case bench.Remove:
		c.At = at
		return c
	case bench.LeaveHand:
		c.At = at
		return c
	case bench.TellFate:
		c.At = at
		return c
	case bench.TellIncident:
		c.At = at
		return c
	case bench.Resolve:
		c.At = at
		return c
	case bench.ReEstimate:
		c.At = at
		return c
	case bench.Settle:
		c.At = at
		return c
	case bench.TellShift:
		c.At = at
		return c
	case bench.Supervise:
		c.At = at
		return c
	case bench.TakeMeasure:
		c.At = at
		return c
	case bench.TellCircumstances:
		c.At = at
		return c
	case bench.Complete:
		c.At = at
		return c
	default:
		panic(fmt.Sprintf("stamp: %T", c))
	}
}

func has(all []bench.Code, code bench.Code) bool { return slices.Contains(all, code) }

var _ require.TestingT = (*testing.T)(nil)
