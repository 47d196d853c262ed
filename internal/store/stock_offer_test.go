package store

import (
	"context"
	"fmt"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/bands"
	"seamfit/internal/bench"
)

func (w *worked) offer(holder string) bench.Offer {
	o, err := w.store.Offer(context.Background(), bench.Tubing{Holder: holder, Size: "6", Metal: "stainless steel"})
	require.NoError(w.t, err)
	return o
}

// The offer counts what is left of a string and, when that is little, names
// what comes after it.
func TestTheOfferKnowsTheEndOfItsString(t *testing.T) {
	w := newWorked(t)
	assert.Equal(t, bench.Offer{}, w.offer("A. Holm"), "no stock is kept")
	w.receive("1236-56701", 10)
	w.receive("1236-56801", 10)
	assert.Equal(t, bench.Offer{StockKept: true, Then: "1236-56701"}, w.offer("A. Holm"), "nothing is opened")

	var opened []string
	run, err := bands.RunOf(w.number("1236-56701"), 7)
	require.NoError(t, err)
	for n := range run.All() {
		opened = append(opened, n.String())
	}
	w.stock(bands.EventOpened, "A. Holm", opened...)
	assert.Equal(t, bench.Offer{StockKept: true, Next: "1236-56701", Left: 7}, w.offer("a.  holm"), "far from its end nothing else is looked for")
	give := func(number string) {
		t.Helper()
		w.unnumbered()
		w.do(bench.GiveNumber{When: w.when(), Number: number, Standing: w.standing(number)})
	}
	give("1236-56701")
	give("1236-56702")
	assert.Equal(t, bench.Offer{StockKept: true, Next: "1236-56703", Left: 5, Then: "1236-56708"}, w.offer("A. Holm"))
	assert.Equal(t, bench.Offer{StockKept: true, Then: "1236-56708"}, w.offer("K. Voe"), "another's string is not offered")
	w.stock(bands.EventOpened, "", "1236-56801")
	assert.Equal(t, bench.Offer{StockKept: true, Next: "1236-56703", Left: 5, Then: "1236-56801", ThenOpened: true}, w.offer("A. Holm"))
	for _, number := range []string{"1236-56703", "1236-56704", "1236-56705", "1236-56706", "1236-56707"} {
		assert.Equal(t, number, w.offer("A. Holm").Next)
		give(number)
	}
	assert.Equal(t, bench.Offer{StockKept: true, Next: "1236-56801", Left: 1, Then: "1236-56708"}, w.offer("A. Holm"), "then what is opened to nobody by name")
}

// A slip that hits another number in stock is pointed out: an opened number is
// one slip away from it.
func TestASlipThatHitsAnotherNumberOfTheStockIsPointedOut(t *testing.T) {
	w := newWorked(t)
	w.receive("1236-56701", 100)
	w.receive("1236-57601", 100)
	w.stock(bands.EventOpened, "A. Holm", "1236-56701", "1236-56702")
	w.unnumbered()
	mend := w.refused(bench.GiveNumber{When: w.when(), Number: "1236-57601"}, bench.NumberOutOfOrder)
	assert.Contains(t, mend, "in stock and not opened (is it 1236-56701? two digits swapped)")
	mend = w.refused(bench.GiveNumber{When: w.when(), Number: "1236-56792"}, bench.NumberOutOfOrder)
	assert.Contains(t, mend, "is it 1236-56702? one digit off")
	assert.Empty(t, w.standing("1236-57655").Meant, "no opened number is near it")
	w.do(bench.GiveNumber{When: w.when(), Number: "1236-57601", Reason: "the other packet was at hand"})
	_, err := bands.EventLost.After("1236-75601", "")
	require.Error(t, err)
	err = w.store.Record(context.Background(), []StockEvent{w.event(bands.EventLost, "", "1236-65702")})
	require.EqualError(t, err, "1236-65702 is in no string that was received; is it 1236-56702 (two digits swapped)? read the number again")
}

// A number on a tubing that was left out without a word is a gap.
func TestAGapOnATubingIsDoubtful(t *testing.T) {
	w := newWorked(t)
	w.receive("1236-56701", 10)
	w.stock(bands.EventOpened, "A. Holm", "1236-56701", "1236-56702", "1236-56703")
	w.stock(bands.EventOpened, "K. Voe", "1236-56704")
	id := w.unnumbered()
	state, facts, blockers := bench.Apply(w.state, bench.GiveNumber{When: w.when(), Number: "1236-56703"}) // without its standing
	require.Empty(t, blockers)
	require.NoError(t, w.store.Save(context.Background(), facts))
	w.state = state
	w.do(bench.Look{When: w.when()})
	account, err := w.store.Reconcile(context.Background())
	require.NoError(t, err)
	assert.Equal(t, []bands.Doubt{
		{Number: "1236-56701", Why: "left out: not used, and 1236-56703 of its tubing is on a bird"},
		{Number: "1236-56702", Why: "left out: not used, and 1236-56703 of its tubing is on a bird"},
	}, account.Doubts)
	assert.False(t, account.Balanced)
	h := w.load(id)
	assert.Len(t, h.Bands, 1)
}

// BenchmarkOfferAtAStringsEnd asks for what comes after a string, in a stock of
// 20,000 numbers of which all but the last string are opened.
func BenchmarkOfferAtAStringsEnd(b *testing.B) {
	s, err := Open(b.Context(), filepath.Join(b.TempDir(), "bench.db"), Options{Closures: benchSetup(b).Book.Closures})
	require.NoError(b, err)
	defer func() { require.NoError(b, s.Close()) }()
	w := begun(b, s)
	for i := range 20 {
		first := fmt.Sprintf("%d-00001", 1000+i)
		w.receive(first, 1000)
		if i == 19 {
			break
		}
		run, err := bands.RunOf(w.number(first), 1000)
		require.NoError(b, err)
		var all []string
		for n := range run.All() {
			all = append(all, n.String())
		}
		w.stock(bands.EventOpened, "K. Voe", all...)
	}
	for b.Loop() {
		require.Equal(b, "1019-00001", w.offer("A. Holm").Then)
	}
}
