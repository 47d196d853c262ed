package station

import (
	"fmt"
	"slices"

	"seamfit/internal/bench"
)

// Stock is what the stock was asked for last: the next number for the bird on
// the desk, and what it answered.
type Stock struct {
	Tubing  bench.Tubing // zero: nothing was asked
	Offer   bench.Offer
	Known   bool   // it has answered
	Trouble string // it could not be read
}

// tubing returns the tubing from which the bird's next band comes; false while
// it needs none, or its size is not chosen.
func tubing(h bench.Handling) (bench.Tubing, bool) {
	if _, has := h.CurrentBand(); has || h.Choice == nil || h.Complete {
		return bench.Tubing{}, false
	}
	return bench.Tubing{Holder: h.Bander, Size: h.Choice.Size, Metal: h.Choice.Metal}, true
}

// askStock asks the stock, once, for the number that the bird on the desk takes
// next. Numbers that are not saved yet would be offered again: it waits for
// them.
func (t *turn) askStock() {
	h, ok := t.s.bird()
	if !ok {
		return
	}
	want, ok := tubing(h)
	if !ok || want == t.s.Stock.Tubing || slices.ContainsFunc(t.s.Queue.Facts, ofBand) {
		return
	}
	t.s.Stock = Stock{Tubing: want}
	t.emit(AskStock{Tubing: want})
}

func ofBand(f bench.Fact) bool {
	_, is := f.(bench.BandTold)
	return is
}

// offered takes the stock's answer.
func (t *turn) offered(e Offered) {
	if e.Tubing == t.s.Stock.Tubing {
		t.s.Stock.Offer, t.s.Stock.Trouble, t.s.Stock.Known = e.Offer, e.Trouble, true
	}
}

// offeredNumber returns the number to take next; empty when there is none, or
// it is not known yet. Where no stock is kept, or it can't be read, that is the
// number after the last one of this size and metal. It is an offer: what counts
// is read off the band.
func (s State) offeredNumber(h bench.Handling) string {
	want, ok := tubing(h)
	if !ok {
		return ""
	}
	switch st := s.Stock; {
	case st.Tubing == want && st.Known && st.Offer.StockKept && st.Trouble == "":
		return st.Offer.Next
	case st.Tubing == want && !st.Known:
		return ""
	default:
		return s.countedOn(h)
	}
}

// countedOn returns the number after the last one of this size and metal.
func (s State) countedOn(h bench.Handling) string {
	for _, l := range s.Before.Numbers {
		if l.Size == h.Choice.Size && l.Metal == h.Choice.Metal {
			if next, err := l.Number.Next(); err == nil {
				return next.String()
			}
		}
	}
	return ""
}

// lastOfString says, when this number was the last one of its string, what
// comes after it; empty when it was not, or nobody knows.
func (s Stock) lastOfString(number string) string {
	if !s.Known || s.Offer.Next != number || s.Offer.Left != 1 {
		return ""
	}
	return "It was the last of its string on the tubing. " + thereafter(s.Offer)
}

// stockLines say what the stock offers, and when a string comes to its end.
func (v *view) stockLines(columns int) []line {
	want, ok := tubing(v.h)
	st := v.s.Stock
	if !ok || st.Tubing != want || !st.Known {
		return nil
	}
	o := st.Offer
	switch {
	case st.Trouble != "":
		return wrapped("! ", "The stock could not be read ("+st.Trouble+"): take the band that comes next on the tubing.", wrong, columns)
	case !o.StockKept || o.Left > bench.FewLeft:
		return nil
	case o.Next == "":
		text := fmt.Sprintf("No band of size %s in %s is opened to %s. ", want.Size, want.Metal, want.Holder)
		return wrapped("! ", text+thereafter(o), wrong, columns)
	case o.Left == 1:
		return wrapped("", "The last of its string on the tubing. "+thereafter(o), strong, columns)
	default:
		return wrapped("", fmt.Sprintf("%d of this string left on the tubing. ", o.Left)+thereafter(o), plain, columns)
	}
}

// thereafter says what comes after a string that is nearly used up.
func thereafter(o bench.Offer) string {
	switch {
	case o.Then == "":
		return "No other such band is opened to this bander, or in stock."
	case o.ThenOpened:
		return "Then " + o.Then + ", opened already."
	default:
		return fmt.Sprintf("Next in stock: %s; open it with seamfit bands open %s.", o.Then, o.Then)
	}
}
