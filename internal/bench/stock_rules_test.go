package bench_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/bands"
	"seamfit/internal/bench"
)

// give gives a number with what the stock is said to know of it.
func (d *desk) give(number, reason string, known bench.Standing) []bench.Blocker {
	known.StockKept = true
	next, facts, blockers := bench.Apply(d.state, bench.GiveNumber{When: bench.When{At: d.now}, Number: number, Reason: reason, Standing: known})
	if blockers == nil {
		d.state, d.facts = next, append(d.facts, facts...)
	}
	return blockers
}

// sized is a bird whose size is chosen, without a number.
func (d *desk) sized() {
	d.bird("Larus argentatus")
	d.widths("8.42", "8.45", "8.40")
	d.do(bench.ChooseSize{Size: "6", Metal: "stainless steel"})
}

func TestWhatTheStockSaysAgainstAPlan(t *testing.T) {
	good := bench.Standing{State: bands.Opened, Size: "6", Metal: "stainless steel", Holder: "a. holm", Next: "1236-56701"}
	cases := []struct {
		what     string
		number   string
		spoil    func(*bench.Standing)
		code     bench.Code
		mend     string
		disputed bool // as a fact
	}{
		{"unknown", "1236-56701", func(s *bench.Standing) { *s = bench.Standing{} }, bench.NumberUnknown, "in no string", true},
		{"a slip", "1236-56710", func(s *bench.Standing) { *s = bench.Standing{Meant: "1236-56701"} }, bench.NumberUnknown, "is it 1236-56701? two digits swapped", true},
		{"wrong size", "1236-56701", func(s *bench.Standing) { s.Size = "5" }, bench.NumberWrongSize, "is size 5 by the stock, and size 6 is chosen", true},
		{"wrong metal", "1236-56701", func(s *bench.Standing) { s.Metal = "aluminium" }, bench.NumberWrongMetal, "is aluminium by the stock", true},
		{"destroyed", "1236-56701", func(s *bench.Standing) { s.State = bands.Destroyed }, bench.NumberDestroyed, "recorded as destroyed", true},
		{"lost then found", "1236-56701", func(s *bench.Standing) { s.State = bands.Lost }, bench.NumberDestroyed, "lost and found again is not used", true},
		{"rejected", "1236-56701", func(s *bench.Standing) { s.State = bands.Rejected }, bench.NumberDestroyed, "recorded as rejected", true},
		{"used", "1236-56701", func(s *bench.Standing) { s.State, s.Handling = bands.OnBird, "other" }, bench.NumberUsed, "on another bird", true},
		{"issued to another", "1236-56701", func(s *bench.Standing) { s.Holder = "K. Voe" }, bench.NumberNotIssued, "issued to K. Voe", false},
		{"out of order", "1236-56703", func(*bench.Standing) {}, bench.NumberOutOfOrder, "is not the next one, which is 1236-56701 (one digit off?)", false},
		{"back to a skipped one", "1236-56700", func(*bench.Standing) {}, bench.NumberOutOfOrder, "1236-56701", false},
	}
	for _, c := range cases {
		d := newDesk(t)
		d.sized()
		known := good
		c.spoil(&known)
		blockers := d.give(c.number, "", known)
		require.Len(t, blockers, 1, c.what)
		assert.Equal(t, c.code, blockers[0].Code, c.what)
		assert.Contains(t, blockers[0].Mend, c.mend, c.what)

		require.Empty(t, d.give(c.number, "it is on the leg", known), "%s: as a fact it is recorded", c.what)
		assert.Equal(t, c.disputed, d.active().Disputed(), c.what)
		told, ok := d.facts[len(d.facts)-1].(bench.BandTold)
		require.True(t, ok)
		want := ""
		if c.what == "out of order" {
			want = "1236-56701"
		}
		assert.Equal(t, want, told.Skipped, c.what)
	}
	d := newDesk(t)
	d.sized()
	require.Empty(t, d.give("1236-56701", "", good))
	require.Empty(t, d.give("1236-56788", "", bench.Standing{State: bands.InStock, Size: "6", Metal: "stainless steel"}), "a string that is not opened has no order")
}

func TestASettlementOfOpenBirds(t *testing.T) {
	d := newDesk(t)
	first := d.gull("1236-56701")
	second := d.gull("1236-56702")
	settle := func(reason string, numbers ...string) (bench.State, []bench.Fact, []bench.Blocker) {
		c := bench.Settle{When: bench.When{At: d.now, By: "K. Voe"}, ID: "settlement", Reason: reason}
		for i, id := range []string{first, second}[:len(numbers)] {
			h, _ := d.state.Handling(id)
			c.Records = append(c.Records, bench.Renumbering{Handling: h, Number: numbers[i]})
		}
		return bench.Apply(d.state, c)
	}
	for _, c := range []struct {
		reason  string
		numbers []string
		code    bench.Code
	}{
		{"", []string{"1236-56702", "1236-56701"}, bench.ReasonMissing},
		{"slipped", nil, bench.NothingToSettle},
		{"slipped", []string{"1236-56702"}, bench.StillDisputed},
		{"slipped", []string{"1236-56703", "1236-56703"}, bench.StillDisputed},
		{"slipped", []string{"12-1"}, bench.NumberPattern},
	} {
		before := d.state
		after, facts, blockers := settle(c.reason, c.numbers...)
		require.Len(t, blockers, 1, "%+v", c)
		assert.Equal(t, c.code, blockers[0].Code, "%+v", c)
		assert.Empty(t, facts)
		assert.Equal(t, before, after)
	}
	after, facts, blockers := settle("both seen again", "1236-56702", "1236-56701")
	require.Empty(t, blockers)
	require.Len(t, facts, 3, "two bands, and the end of the settlement")
	assert.Equal(t, bench.Settled{
		Head: facts[2].Key(), ID: "settlement", Handlings: []string{first, second}, Reason: "both seen again",
	}, facts[2])
	assert.Equal(t, "K. Voe", facts[0].Key().By)
	folded := d.state
	for _, f := range facts {
		folded = bench.Fold(folded, f)
	}
	assert.Equal(t, after, folded, "the facts alone give the state")
	for id, number := range map[string]string{first: "1236-56702", second: "1236-56701"} {
		h, _ := after.Handling(id)
		assert.Equal(t, number, h.Bands[0].Number)
		assert.False(t, h.Disputed())
	}
}

func TestASettledNumberNeedsNoSecondReadBackUntilTheNextClosing(t *testing.T) {
	d := newDesk(t)
	id := d.gull("1236-56701")
	d.do(bench.Look{})
	settle := func() {
		h, _ := d.state.Handling(id)
		next, facts, blockers := bench.Apply(d.state, bench.Settle{
			When: bench.When{At: d.now}, ID: "s", Reason: "seen again", Records: []bench.Renumbering{{Handling: h, Number: "1236-56702"}},
		})
		require.Empty(t, blockers)
		d.state, d.facts = next, append(d.facts, facts...)
	}
	settle()
	assert.False(t, d.active().Confirmation.Settled, "what was never read back is not settled")
	d.do(bench.Confirm{All: true, ReadBack: "701"})
	assert.True(t, has(codes(d.try(bench.Complete{})), bench.ReadBackMismatch))
	settle()
	assert.False(t, has(codes(d.try(bench.Complete{})), bench.ReadBackMismatch))
	d.do(bench.Look{})
	assert.True(t, has(codes(d.try(bench.Complete{})), bench.ReadBackMissing))
}

func TestWhatNothingStandsAgainstIsNotSettled(t *testing.T) {
	d := newDesk(t)
	id := d.gull("1236-56701")
	d.do(bench.Look{})
	settle := func(was string) []bench.Blocker {
		h, _ := d.state.Handling(id)
		_, _, blockers := bench.Apply(d.state, bench.Settle{
			When: bench.When{At: d.now}, ID: "s", Reason: "the photograph shows it", Records: []bench.Renumbering{{Handling: h, Was: was, Number: "1236-56701"}},
		})
		return blockers
	}
	for _, was := range []string{"", "1236-56701"} {
		require.True(t, has(codes(settle(was)), bench.NothingToSettle), "named %q", was)
	}
	d.do(bench.Confirm{All: true, ReadBack: "702"})
	for _, was := range []string{"", "1236-56701"} {
		require.Empty(t, settle(was), "what was read back stands against it, named %q", was)
	}
}
