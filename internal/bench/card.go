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
// statement's id, a size's label, a metal's name, a digit, a leg, an axis, a fate,
// a species, an age, a sex, or a person's name.
const (
	CardBird      CardAct = "bird"      // begin the next bird
	CardSwitch    CardAct = "switch"    // make the next open bird the active one
	CardPerson    CardAct = "person"    // who bands the next birds, or who is asked for
	CardSame      CardAct = "same"      // species and leg as of the bird before
	CardSpecies   CardAct = "species"   // the species of the bird
	CardAge       CardAct = "age"       // its age
	CardSex       CardAct = "sex"       // its sex
	CardLeg       CardAct = "leg"       // the leg that gets the band
	CardTake      CardAct = "take"      // ask the caliper for a reading
	CardAgain     CardAct = "again"     // set the last reading aside and measure again
	CardAxis      CardAct = "axis"      // what the next reading is of
	CardBest      CardAct = "best"      // take the size that is advised
	CardSize      CardAct = "size"      // take this size
	CardMetal     CardAct = "metal"     // the metal of the band
	CardFlush     CardAct = "flush"     // the look found nothing wrong
	CardFinding   CardAct = "finding"   // the look found this
	CardLooked    CardAct = "looked"    // the look's findings are all told
	CardStatement CardAct = "statement" // one statement of the confirmation
	CardDigit     CardAct = "digit"     // one digit of the number read back
	CardEnter     CardAct = "enter"     // what the key Enter does: the digits are all told, the usual answer
	CardClear     CardAct = "clear"     // forget what was told and not yet recorded
	CardSupervise CardAct = "supervise" // a supervisor looks at the closing
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
// for each finding, statement, metal, size and species that its lists hold, and
// one for each of its people. A statement is a card of its own, scanned each
// time it is meant: there is none for all of them at once.
func Cards(book *catalogue.Book, sizes *catalogue.Catalogue, people []string) []Card {
	cards := append(birdCards(people), seamCards(book)...)
	for digit := range 10 {
		cards = append(cards, Card{fmt.Sprintf("DIGIT-%d", digit), CardDigit, strconv.Itoa(digit), "Number read back", strconv.Itoa(digit)})
	}
	cards = append(cards,
		Card{"ENTER", CardEnter, "", "Number read back", "Enter: that is all, or the answer that goes without saying"},
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
	for _, sp := range book.Species {
		title := sp.English
		if title == "" {
			title = sp.Scientific
		}
		cards = append(cards, Card{cardWord("SP", sp.Scientific), CardSpecies, sp.Scientific, "Species", title})
	}
	return distinct(cards)
}

// birdCards are those about birds, people and the leg.
func birdCards(people []string) []Card {
	cards := []Card{
		{"BIRD", CardBird, "", "Birds", "Next bird"},
		{"SWITCH", CardSwitch, "", "Birds", "Switch to the other bird"},
		{"LEFT-HAND", CardLeft, "", "Birds", "The bird left the hand"},
		{"SAME", CardSame, "", "Birds", "Species and leg as of the bird before"},
	}
	for _, age := range append(Ages(), NotKnown) {
		cards = append(cards, Card{cardWord("AGE", age), CardAge, age, "Birds", "Age: " + age})
	}
	for _, sex := range append(Sexes(), NotKnown) {
		cards = append(cards, Card{cardWord("SEX", sex), CardSex, sex, "Birds", "Sex: " + sex})
	}
	for _, name := range people {
		cards = append(cards, Card{cardWord("PERSON", name), CardPerson, name, "People", name})
	}
	cards = append(cards, []Card{
		{"LEG-LEFT", CardLeg, string(LegLeft), "Leg", "Left leg"},
		{"LEG-RIGHT", CardLeg, string(LegRight), "Leg", "Right leg"},
		{"TAKE", CardTake, "", "Leg", "Ask the caliper for a reading"},
		{"AGAIN", CardAgain, "", "Leg", "Set the last reading aside"},
	}...)
	for _, axis := range Axes()[1:] { // the leg width goes without saying
		cards = append(cards, Card{cardWord("AXIS", string(axis)), CardAxis, string(axis), "Leg", "Next reading: " + string(axis)})
	}
	return append(cards, Card{"BEST", CardBest, "", "Size", "The size that is advised"})
}

// seamCards are those about the look at the seam, and what is stated after it.
func seamCards(book *catalogue.Book) []Card {
	cards := []Card{{"FLUSH", CardFlush, "", "Seam", "Flush: nothing wrong"}}
	for _, f := range book.Findings {
		cards = append(cards, Card{cardWord("FOUND", f.ID), CardFinding, f.ID, "Seam", f.Name})
	}
	cards = append(cards,
		Card{"LOOKED", CardLooked, "", "Seam", "That is all that was found"},
		Card{"SUPERVISE", CardSupervise, "", "Seam", "A supervisor looks"},
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
	return cards
}

// distinct puts the prefix before each word, and leaves out a card whose word
// another has: labels that differ only in signs that bar codes don't keep.
// People of such names are told apart by a number.
func distinct(cards []Card) []Card {
	seen := map[string]bool{}
	list := cards[:0]
	for _, c := range cards {
		c.Word = shorten(CardPrefix + c.Word)
		for n, word := 2, c.Word; seen[c.Word] && c.Act == CardPerson; n++ {
			c.Word = shorten(word) + "-" + strconv.Itoa(n)
		}
		if !seen[c.Word] {
			seen[c.Word] = true
			list = append(list, c)
		}
	}
	return list
}

// longestWord is the longest word that a card's bar code has room for, with
// room for the number that tells people apart.
const longestWord = 28

func shorten(word string) string { return strings.TrimRight(word[:min(len(word), longestWord)], "-") }

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
// letters: keyboards of scanners may send either. TAKE may lack its prefix.
func CardNamed(cards []Card, scanned string) (Card, bool) {
	scanned = strings.ToUpper(strings.TrimSpace(scanned))
	if IsTake(scanned) {
		scanned = CardPrefix + "TAKE"
	}
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
