package bench

import (
	"fmt"
	"strconv"
	"strings"

	"seamfit/internal/catalogue"
)

// CardPrefix begins the word of every command card. No number of a pattern has
// letters at its end, and every card's word has them after the prefix or a
// label behind a dash, so that none reads as a band number.
const CardPrefix = "SF:"

// CardAct is what a scanned card asks for.
type CardAct string

// The acts. Those with a value say it with Card.Value: a finding's or a
// statement's id, a size's label, a metal's name, a digit, a leg or a fate.
const (
	CardBird      CardAct = "bird"      // begin the next bird
	CardSwitch    CardAct = "switch"    // make the next open bird the active one
	CardLeg       CardAct = "leg"       // the leg that gets the band
	CardTake      CardAct = "take"      // ask the caliper for a reading
	CardAgain     CardAct = "again"     // set the last reading aside and measure again
	CardBest      CardAct = "best"      // take the size that is advised
	CardSize      CardAct = "size"      // take this size
	CardMetal     CardAct = "metal"     // the metal of the band
	CardFlush     CardAct = "flush"     // the look found nothing wrong
	CardFinding   CardAct = "finding"   // the look found this
	CardLooked    CardAct = "looked"    // the look's findings are all told
	CardStatement CardAct = "statement" // one statement of the confirmation
	CardDigit     CardAct = "digit"     // one digit of the number read back
	CardEnter     CardAct = "enter"     // the digits are all told
	CardClear     CardAct = "clear"     // forget what was told and not yet recorded
	CardRemove    CardAct = "remove"    // the band was taken off
	CardLeft      CardAct = "left"      // the bird left the hand
	CardFate      CardAct = "fate"      // how it left
	CardComplete  CardAct = "complete"  // mark the record complete
)

// Card is one command card: the word in its bar code, what it asks for, and
// what is printed on it.
type Card struct {
	Word  string
	Act   CardAct
	Value string
	Group string
	Title string
}

// Cards returns the command cards of a bench: those that every bench has, one
// for each finding, statement, metal and size that its lists hold. A statement
// is a card of its own, scanned each time it is meant: there is none for all
// of them at once.
func Cards(book *catalogue.Book, sizes *catalogue.Catalogue) []Card {
	cards := []Card{
		{"BIRD", CardBird, "", "Birds", "Next bird"},
		{"SWITCH", CardSwitch, "", "Birds", "Switch to the other bird"},
		{"LEFT-HAND", CardLeft, "", "Birds", "The bird left the hand"},
		{"LEG-LEFT", CardLeg, string(LegLeft), "Leg", "Left leg"},
		{"LEG-RIGHT", CardLeg, string(LegRight), "Leg", "Right leg"},
		{"TAKE", CardTake, "", "Leg", "Ask the caliper for a reading"},
		{"AGAIN", CardAgain, "", "Leg", "Set the last reading aside"},
		{"BEST", CardBest, "", "Size", "The size that is advised"},
		{"FLUSH", CardFlush, "", "Seam", "Flush: nothing wrong"},
	}
	for _, f := range book.Findings {
		cards = append(cards, Card{cardWord("FOUND", f.ID), CardFinding, f.ID, "Seam", f.Name})
	}
	cards = append(cards,
		Card{"LOOKED", CardLooked, "", "Seam", "That is all that was found"},
		Card{"REMOVE", CardRemove, "", "Seam", "The band was taken off"},
	)
	stated := map[string]bool{}
	for _, c := range book.Closures {
		for _, st := range c.Statements {
			if !stated[st.ID] {
				stated[st.ID] = true
				cards = append(cards, Card{cardWord("STATE", st.ID), CardStatement, st.ID, "Confirmation", st.Text})
			}
		}
	}
	for digit := range 10 {
		cards = append(cards, Card{fmt.Sprintf("DIGIT-%d", digit), CardDigit, strconv.Itoa(digit), "Number read back", strconv.Itoa(digit)})
	}
	cards = append(cards,
		Card{"ENTER", CardEnter, "", "Number read back", "These are the digits"},
		Card{"CLEAR", CardClear, "", "Number read back", "Forget what was not recorded yet"},
	)
	for _, f := range Fates() {
		cards = append(cards, Card{cardWord("FATE", string(f)), CardFate, string(f), "Fate", "Fate: " + f.Words()})
	}
	cards = append(cards, Card{"COMPLETE", CardComplete, "", "Fate", "Mark the record complete"})
	for _, m := range book.Metals {
		cards = append(cards, Card{cardWord("METAL", m.Name), CardMetal, m.Name, "Metal", m.Name})
	}
	for _, s := range sizes.Sizes {
		if !s.Discontinued {
			cards = append(cards, Card{cardWord("SIZE", s.Label), CardSize, s.Label, "Sizes of " + sizes.Title, "Size " + s.Label})
		}
	}
	return distinct(cards)
}

// distinct puts the prefix before each word, and leaves out a card whose word
// another has: labels that differ only in signs that bar codes don't keep.
func distinct(cards []Card) []Card {
	seen := map[string]bool{}
	list := cards[:0]
	for _, c := range cards {
		c.Word = CardPrefix + c.Word
		if !seen[c.Word] {
			seen[c.Word] = true
			list = append(list, c)
		}
	}
	return list
}

// cardWord writes a name in the characters of cards: capitals, digits, "+" and
// dashes.
func cardWord(group, name string) string {
	var b strings.Builder
	for _, r := range strings.ToUpper(name) {
		switch {
		case r >= 'A' && r <= 'Z', r >= '0' && r <= '9', r == '+':
			b.WriteRune(r)
		default:
			b.WriteByte('-')
		}
	}
	return group + "-" + b.String()
}

// CardNamed returns the card whose word was scanned, whatever the case of its
// letters: keyboards of scanners may send either.
func CardNamed(cards []Card, scanned string) (Card, bool) {
	scanned = strings.ToUpper(strings.TrimSpace(scanned))
	for _, c := range cards {
		if c.Word == scanned {
			return c, true
		}
	}
	return Card{}, false
}

// IsTake reports whether a scan is the card that asks the caliper for a
// reading: its word, or the word without the prefix on a home-made label.
func IsTake(scanned string) bool {
	return strings.TrimPrefix(strings.ToUpper(strings.TrimSpace(scanned)), CardPrefix) == "TAKE"
}

// IsCard reports whether a scan means a command card, known or not.
func IsCard(scanned string) bool {
	return strings.HasPrefix(strings.ToUpper(strings.TrimSpace(scanned)), CardPrefix)
}
