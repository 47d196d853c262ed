package bench_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"seamfit/internal/bench"
)

// Eagles take rivets only (US Geological Survey, notes of its species list).
func TestTheClosureKindThatGoesWithoutSaying(t *testing.T) {
	d := newDesk(t)
	d.bird("Haliaeetus leucocephalus")
	d.widths("15.00", "15.01", "15.02")
	d.do(bench.ChooseSize{Size: "8A", Metal: "stainless steel"})
	assert.Equal(t, "rivet", d.active().Choice.Closure)
	size, _ := d.state.Catalogue().Size("8A")
	assert.Equal(t, []string{"rivet"}, d.state.ClosuresFor(d.active(), size))

	// Another kind is against advice: taken with its reason.
	d.refused(bench.ChooseSize{Size: "8A", Metal: "stainless steel", Closure: "butt-end"}, bench.SizeNeedsReason)
	d.do(bench.ChooseSize{Size: "8A", Metal: "stainless steel", Closure: "butt-end", Reason: "no rivets left"})
	assert.Equal(t, "butt-end", d.active().Choice.Closure)

	// A size that is not made for the species is answered with the advice, not
	// with a kind that it has not.
	d.refused(bench.ChooseSize{Size: "9", Metal: "stainless steel"}, bench.SizeNeedsReason)
	size, _ = d.state.Catalogue().Size("9")
	assert.Equal(t, size.Closures, d.state.ClosuresFor(d.active(), size))
}
