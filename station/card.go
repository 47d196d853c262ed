package station

import (
	"seamfit/internal/bench"
)

// Obeys reports whether the station acts on a command card. The sheet that is
// printed holds only such cards.
func Obeys(c bench.Card) bool {
	switch c.Act {
	case bench.CardBird, bench.CardSwitch, bench.CardLeft, bench.CardTake, bench.CardComplete:
		return true
	default:
		return false
	}
}

// card does what a scanned command card asks for, as its key would.
func (t *turn) card(word string) {
	c, known := bench.CardNamed(bench.Cards(t.s.Bench.Setup.Book, t.s.Bench.Catalogue()), word)
	if !known || !Obeys(c) {
		t.refuse([]bench.Blocker{{Code: CodeCard, Mend: "This card is not one that the station obeys: use the key instead, or print the sheet anew with seamfit cards."}})
		return
	}
	switch c.Act {
	case bench.CardBird:
		t.command(CodeF2)
	case bench.CardSwitch:
		t.command(CodeF3)
	case bench.CardLeft:
		t.leftTheHand()
	case bench.CardTake:
		t.poll()
	case bench.CardComplete:
		t.command(CodeF9)
	default: // Obeys has let no other through
	}
}
