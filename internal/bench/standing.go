package bench

import "seamfit/internal/bands"

// Standing is what the store knows of a number. It is read before GiveNumber
// or TellFound and travels inside them, since Apply can't look anything up.
type Standing struct {
	StockKept bool        // the bench has received at least one string
	State     bands.State // empty: the number is in no record
	Handling  string      // the handling whose record holds it
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
