package bench_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/bench"
)

func TestLetGoWithTheClosureUnconfirmed(t *testing.T) {
	d := newDesk(t)
	d.bird("Larus argentatus")
	d.refused(bench.TellFate{Fate: bench.FateUnconfirmed, Reason: "gap"}, bench.FateContradicts)
	d.do(bench.TellFate{Fate: bench.FateUnbanded})
	d = newDesk(t)
	d.gull("1236-56701")
	d.do(bench.Look{Findings: []string{"gap"}})
	d.refused(bench.TellFate{Fate: bench.FateUnconfirmed}, bench.ReasonMissing)
	d.do(bench.TellFate{Fate: bench.FateUnconfirmed, Reason: "gap of a hair; bird in shock", DecidedBy: "K. Voe"})
	assert.Equal(t, "K. Voe", d.active().Fate.DecidedBy)
	d.refused(bench.Complete{}, bench.ClosingNotFlush, bench.ClosureUnconfirmed)

	other := d.gull("1236-56702")
	d.flush("702")
	d.banded()
	assert.Len(t, d.state.Handlings, 2, "the open matter stays in sight beside %s", other)
	d.do(bench.Resolve{When: bench.When{Handling: "bird-1"}, Reason: "caught again the next day, band removed"})
	h, _ := d.state.Handling("bird-1")
	assert.False(t, h.Done(), "resolved is not complete")
}

// Nobody has to invent a look at a band that was closed when its bird got away.
func TestGoneBeforeTheLook(t *testing.T) {
	d := newDesk(t)
	d.gull("1236-56701")
	d.do(bench.LeaveHand{})
	d.blocked(bench.ClosingMissing, "tell its fate as closure unconfirmed")
	d.do(bench.TellFate{Fate: bench.FateUnconfirmed, Reason: "slipped out after the second squeeze"})
	band, at := d.active().CurrentBand()
	require.True(t, at, "its band stays with the bird")
	assert.Equal(t, "1236-56701", band.Number)
	assert.Empty(t, d.active().Closings)
	d.blocked(bench.ClosingMissing, "its closure stays unconfirmed; resolve it with a reason")
	d.refused(bench.Complete{}, bench.ClosingMissing, bench.ClosureUnconfirmed)
	d.gull("1236-56702")
	d.refused(bench.GiveNumber{Number: "1236-56701"}, bench.NumberInHand)
	d.do(bench.Resolve{When: bench.When{Handling: "bird-1"}, Reason: "not seen again"})
}

func TestNobodyMendsTheSeamOfABirdThatIsGone(t *testing.T) {
	d := newDesk(t)
	d.gull("1236-56701")
	d.do(bench.Look{Findings: []string{"gap"}})
	d.blocked(bench.ClosingNotFlush, "mend the seam")
	d.do(bench.LeaveHand{})
	d.blocked(bench.ClosingNotFlush, "the bird is gone: tell its fate as closure unconfirmed")
	d.do(bench.TellFate{Fate: bench.FateUnconfirmed, Reason: "gap"})
	d.blocked(bench.ClosingNotFlush, "its closure stays unconfirmed; resolve it with a reason")
	d.do(bench.Look{}) // a look before it left, told afterwards
	assert.Len(t, d.active().Closings, 2)
	d.do(bench.Look{Findings: []string{"gap"}})
	d.do(bench.TellFate{Fate: bench.FateDied})
	d.blocked(bench.ClosingNotFlush, "or remove the band")
}

// blocked holds that the active bird has that blocker, with these words.
func (d *desk) blocked(code bench.Code, words string) {
	for _, b := range bench.Blockers(d.active(), d.state.Setup.Book) {
		if b.Code == code {
			require.Contains(d.t, b.Mend, words)
			return
		}
	}
	require.Fail(d.t, "not blocked", string(code))
}
