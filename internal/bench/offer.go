package bench

// Tubing names the bands from which a bander takes the next one: those that
// were opened to them, of one size and metal.
type Tubing struct{ Holder, Size, Metal string }

// Offer is what the stock offers on a tubing. It is an offer only: what counts
// is read off the band.
type Offer struct {
	StockKept bool
	Next      string // the number to take; empty: none is opened
	Left      int    // bands left of its string, that one included
	// Then is the first number of what comes after its string: opened too, or
	// in stock and to be opened. It is looked for once few bands are left;
	// empty when there is none.
	Then       string
	ThenOpened bool
}

// FewLeft is from how many bands on, downwards, a string is nearly used up
// (bench setting).
const FewLeft = 5
