package store

import (
	"context"
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
