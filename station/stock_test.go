package station_test

import (
	"context"
	"errors"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/bands"
	"seamfit/internal/bench"
	"seamfit/station"
)

// ternTubing is where bands for the terns of these tests come from.
func ternTubing() bench.Tubing {
	return bench.Tubing{Holder: "Mira Tolland", Size: "2", Metal: "aluminium"}
}

// stocked is a bench that keeps stock, at a tern whose size is chosen.
func stocked(t testing.TB, o bench.Offer) *rig {
	r := newRig(t)
	r.offers = map[bench.Tubing]bench.Offer{ternTubing(): o}
	return r.sized()
}

// The stock's next number is taken with one key; it outranks counting on.
func TestTheStockOffersTheNextNumber(t *testing.T) {
	r := stocked(t, bench.Offer{StockKept: true, Next: "1232-40017", Left: 60}).shows("Enter 1232-40017, the next one").hides("left on the tubing")
	r.keys("Enter")
	band, _ := r.bird().CurrentBand()
	assert.Equal(t, "1232-40017", band.Number)
	r.offers[ternTubing()] = bench.Offer{StockKept: true, Next: "1232-40020", Left: 57}
	r.sized().shows("Enter 1232-40020, the next one")
}

// Numbers that are not saved yet would be offered again: the stock is asked
// once they are, and meanwhile they are counted on.
func TestTheStockIsAskedOnceTheNumberBeforeIsSaved(t *testing.T) {
	r := stocked(t, bench.Offer{StockKept: true, Next: "1232-40017", Left: 60})
	r.failing = func([]bench.Fact) *station.SaveFailed { return &station.SaveFailed{What: "the disk is full"} }
	r.keys("Enter")
	r.offers[ternTubing()] = bench.Offer{StockKept: true, Next: "1232-40020", Left: 57}
	r.sized().shows("NOT SAVED", "Enter 1232-40018, the next one")
	r.failing = nil
	r.wait(time.Minute).shows("Enter 1232-40020, the next one")
}

func TestTheEndOfAStringIsTold(t *testing.T) {
	r := stocked(t, bench.Offer{StockKept: true, Next: "1232-40096", Left: 5, Then: "1232-40201", ThenOpened: true})
	r.shows("5 of this string left on the tubing. Then 1232-40201, opened already.")
	r = stocked(t, bench.Offer{StockKept: true, Next: "1232-40100", Left: 1, Then: "1232-40201"})
	r.shows("The last of its string on the tubing. Next in stock: 1232-40201; open it with seamfit bands open 1232-40201.")
	r.keys("Enter").shows("Number 1232-40100 is taken. It was the last of its string on the tubing. Next in stock: 1232-40201")
	r.offers[ternTubing()] = bench.Offer{StockKept: true, Then: "1232-40201"}
	r.sized().shows("No band of size 2 in aluminium is opened to Mira Tolland. Next in stock: 1232-40201").hides("the next one")
	r.keys("Enter")
	_, has := r.bird().CurrentBand()
	assert.False(t, has, "what is not opened is not counted on to")
	r.offers[ternTubing()] = bench.Offer{StockKept: true}
	r.keys("Tab", "BackTab").shows("No other such band is opened to this bander, or in stock.")
}

func TestWithoutStockNumbersAreCountedOn(t *testing.T) {
	r := newRig(t).numbered().sized().shows("Enter 1232-40002, the next one")
	r.hold = true
	r.keys("Tab", "BackTab").hides("the next one")
	r.waiting = nil
	r.send(station.Offered{Moment: r.moment(), Tubing: ternTubing(), Trouble: "disk error"})
	r.shows("The stock could not be read (disk error)", "Enter 1232-40002, the next one")
}

func TestTheLoopAsksTheStock(t *testing.T) {
	for name, answer := range map[string]struct {
		offer bench.Offer
		err   error
		shown string
	}{
		"offer":   {bench.Offer{StockKept: true, Next: "1232-40017", Left: 3}, nil, "1232-40017, the next one"},
		"trouble": {bench.Offer{}, errors.New("disk error"), "The stock could not be read (disk error)"},
	} {
		t.Run(name, func(t *testing.T) {
			inBubble(t, func(t *testing.T) {
				s := newSession(t)
				s.cfg.Offer = func(context.Context, bench.Tubing) (bench.Offer, error) { return answer.offer, answer.err }
				s.start().keys("F2", "common tern", "Enter", "a", "f", "r", "t", "3.02", "Enter", "Tab", "1", "a", "one reading", "Enter")
				s.shows(answer.shown)
				s.keys("Ctrl+q", "y")
				require.NoError(t, s.end())
			})
		})
	}
}

func TestNumberOutOfItsOrderIsTakenForAReason(t *testing.T) {
	r := newRig(t).sized()
	r.standing["1232-40002"] = bench.Standing{Size: "2", Metal: "aluminium", State: bands.Opened, Holder: "Mira Tolland", Next: "1232-40001"}
	r.keys("1232-40002", "Enter").shows("is not the next one, which is 1232-40001", "r take it all the same: give the reason").hides("it is on the leg")
}
