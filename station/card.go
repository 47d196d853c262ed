package station

import (
	"fmt"
	"strings"
	"time"

	"seamfit/internal/bench"
)

// cardAgain is how long the same card, seen again, is the one scan that it was:
// a scanner that is held on a card reads it many times.
const cardAgain = time.Second

// LastCard is the card that was scanned last.
type LastCard struct {
	Word string
	At   time.Time
}

// card does what a scanned command card asks for, as its key would, and says
// by its title whether it did.
func (t *turn) card(word string) {
	book := t.s.Bench.Setup.Book
	c, known := bench.CardNamed(bench.Cards(book, t.s.Bench.Catalogue(), t.s.Options.People), word)
	if !known {
		t.refuse(cardRefusal("This card is not one of this bench: use the key instead, or print the sheet anew with seamfit cards."))
		return
	}
	again := c.Word == t.s.Card.Word && t.since(t.s.Card.At) < cardAgain
	t.s.Card = LastCard{Word: c.Word, At: t.at}
	if again {
		return
	}
	t.quiet()
	t.obey(c)
	title := fmt.Sprintf("Card %q.", c.Title)
	if t.s.Refused != nil {
		title = fmt.Sprintf("Card %q was not obeyed.", c.Title)
	}
	t.s.Message = strings.TrimSpace(title + " " + t.s.Message)
}

func cardRefusal(mend string) []bench.Blocker {
	return []bench.Blocker{{Code: CodeCard, Mend: mend}}
}

// obey does what a card asks for. A bird leaves the hand whatever is asked.
// Before a shift is open there is only a person to be told; and what is being
// typed is not lost by a card.
func (t *turn) obey(c bench.Card) {
	switch a := t.s.ask(); {
	case c.Act == bench.CardLeft:
		t.leftTheHand()
	case c.Act == bench.CardPerson:
		t.personCard(a, c.Value)
	case t.s.inFront():
		t.refuse([]bench.Blocker{{Code: bench.NoShift, Mend: "Finish this page first: the bench waits for a shift and who bands."}})
	case t.anyTime(c):
	case !t.hasBird():
		t.refuse([]bench.Blocker{{Code: bench.NoBird, Mend: "No bird is open: the card for the next bird, or F2, begins one."}})
	case a.text() && t.s.typed() != "" && c.Act != bench.CardDigit && c.Act != bench.CardEnter && c.Act != bench.CardClear:
		t.refuse(cardRefusal("Something is being typed: end it with Enter, or leave it with Esc, then scan the card again."))
	default:
		t.birdCard(c)
	}
}

func (t *turn) hasBird() bool {
	_, ok := t.s.bird()
	return ok
}

// anyTime takes the cards that do the same at every step; it reports whether
// this is one.
func (t *turn) anyTime(c bench.Card) bool {
	switch c.Act {
	case bench.CardBird:
		t.command(CodeF2)
	case bench.CardSwitch:
		t.command(CodeF3)
	case bench.CardTake:
		t.poll()
	case bench.CardComplete:
		t.command(CodeF9)
	default:
		return false
	}
	return true
}

// personCard takes a person: as who bands or who looks, where that is asked, and
// else as who bands the next birds.
func (t *turn) personCard(a Ask, name string) {
	switch {
	case a == AskSupervisor:
		t.setTyped(name)
		t.supervisorEntered()
	case a == AskBander || a == AskNextBander:
		t.s.Front.Typed = name
		t.frontEntered(a)
	case t.s.inFront():
		t.refuse([]bench.Blocker{{Code: bench.NoShift, Mend: "The bench does not ask who bands here: answer this page first."}})
	default:
		t.banderIs(name)
	}
}
