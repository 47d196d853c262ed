package bench

import (
	"strings"

	"seamfit/internal/bands"
)

// Standing is what the store knows of a number. It is read before GiveNumber
// or TellFound and travels inside them, since Apply can't look anything up.
type Standing struct {
	StockKept bool        // the bench has received at least one string
	State     bands.State // empty: the number is in no record
	Handling  string      // the handling whose record holds it

	// Of a number of the stock; empty otherwise.
	Size, Metal string
	Holder      string // to whom it was opened or passed; empty: to nobody by name
	Next        string // the first number on the same tubing that is still there
	// Meant is a number that may still be taken and is one slip of the hand away
	// from this one: of the stock, where it does not know this one; opened, where
	// this one is in stock and not opened.
	Meant string
}

// unlike says where the stock's size or metal of the number is not the
// chosen one; empty when they agree or one is not known.
func unlike(choice *SizeChosen, size, metal string) (code Code, is, chosen string) {
	switch {
	case choice == nil || size == "":
		return "", "", ""
	case choice.Size != size:
		return NumberWrongSize, "size " + size, "size " + choice.Size
	case choice.Metal != metal:
		return NumberWrongMetal, metal, choice.Metal
	default:
		return "", "", ""
	}
}

// orderBlockers says why a number that may be taken is not the one to take
// next: it is opened to someone else, or another comes before it.
func orderBlockers(h Handling, number string, known Standing) []Blocker {
	if known.State == bands.InStock && known.Meant != "" {
		return refuse(NumberOutOfOrder, "Number %s is in stock and not opened%s: read the band again, or say why it is this one.", number, meant(number, known.Meant))
	}
	if known.State != bands.Opened {
		return nil
	}
	if known.Holder != "" && !strings.EqualFold(known.Holder, h.Bander) {
		return refuse(NumberNotIssued, "Number %s was issued to %s: take one of your own, have it passed on (seamfit bands open --to), or give the reason.",
			number, known.Holder)
	}
	if known.Next == "" || known.Next == number {
		return nil
	}
	slip := ""
	if kind := bands.SlipBetween(number, known.Next); kind != "" {
		slip = " (" + string(kind) + "?)"
	}
	return refuse(NumberOutOfOrder, "Number %s is not the next one, which is %s%s: take that one, or say where it went as the reason.", number, known.Next, slip)
}

// NumberOf returns the number, in its canonical form, whose standing the
// command needs before it is applied; false when it needs none, or when its
// number is no number, which Apply will refuse.
func NumberOf(s State, c Command) (string, bool) {
	switch c := c.(type) {
	case GiveNumber:
		number, err := s.Setup.Pattern.Parse(c.Number)
		return number.String(), err == nil
	case TellFound:
		inscribed, err := s.Setup.Pattern.Inscribed(c.Number)
		return string(inscribed), err == nil
	default:
		return "", false
	}
}

// WithStanding returns the command with what the store knows of its number.
func WithStanding(c Command, st Standing) Command {
	switch c := c.(type) {
	case GiveNumber:
		c.Standing = st
		return c
	case TellFound:
		c.Standing = st
		return c
	default:
		return c
	}
}
