package station

import (
	"slices"
	"strings"

	"seamfit/internal/bench"
	"seamfit/internal/catalogue"
)

// onLegCodes are the refusals of a number that can still be told as a fact:
// the band in the hand wins.
func onLegCodes() []bench.Code {
	return []bench.Code{
		bench.NumberUsed, bench.NumberDestroyed, bench.NumberInHand, bench.NumberUnknown, bench.NumberNotIssued,
		bench.NumberWrongSize, bench.NumberWrongMetal, bench.NumberOutOfOrder, bench.RemoveFirst, bench.TwoOnOneLeg, bench.BandsTried,
	}
}

// scan takes a code from a scanner, at any step: it is the number of the band
// for the bird on the desk. It never answers a question about a closing.
func (t *turn) scan(text string) {
	text = strings.TrimSpace(strings.TrimSuffix(strings.TrimSuffix(text, t.s.Options.ScanSuffix), "\x03"))
	t.uncover()
	switch a := t.s.ask(); {
	case bench.IsCard(text) || bench.IsTake(text):
		t.card(text)
	case t.s.inFront():
		t.refuse([]bench.Blocker{{Code: bench.NoShift, Mend: "A code was scanned, and the bench waits for another answer: finish this page first, or leave it with Esc."}})
	case a == AskReadBack:
		t.refuse([]bench.Blocker{{Code: CodeScanReadBack, Mend: "A scan is no read-back: read the digits off the band on the leg and key them."}})
	case a == AskInscription:
		t.s.Desk.Typed = text
		t.entered()
	default:
		t.giveNumber(text)
	}
}

// giveNumber has the records asked for a number before it is given.
func (t *turn) giveNumber(text string) {
	c := bench.GiveNumber{When: t.when(), Number: text}
	h, ok := t.s.bird()
	number, err := t.s.Bench.Setup.Pattern.Parse(text)
	if !ok || err != nil {
		t.ask(c) // says what is wrong
		return
	}
	if band, has := h.CurrentBand(); has && band.Number == number.String() {
		t.say("That is the number already taken for this bird.")
		return
	}
	t.say("The records are asked for the number.")
	t.lookUp(number.String(), c)
}

// numberKnown gives the number, once the records have said what they know.
func (t *turn) numberKnown(c bench.GiveNumber) {
	stock := t.s.Stock
	blockers := t.do(c, c.Handling)
	active := c.Handling == t.s.Bench.Active
	switch {
	case blockers == nil:
		t.numberTaken(c.Handling, stock)
	case active && hasCode(blockers, bench.RemoveFirst) && t.s.Desk.Step != StepNumber:
		// A band is closed, and another label came near the scanner: no key of
		// what is being told is taken for an answer about the number.
		last := len(blockers) - 1
		blockers[last].Mend += " That is done at the step number."
		t.refuse(blockers)
	case active && hasCode(blockers, onLegCodes()...) && c.Reason == "":
		t.turnTo(StepNumber)
		t.refuse(blockers)
		t.question(AskOnLeg)
		t.s.Desk.Number = c
	default:
		t.refuse(blockers)
	}
}

func (t *turn) numberTaken(id string, stock Stock) {
	h, _ := t.s.Bench.Handling(id)
	band, _ := h.CurrentBand()
	switch {
	case numberHidden(t.s.Bench, h):
		t.say("The number is corrected; read it back off the band.")
	case contested(h, band):
		until := "The record is disputed until that is settled."
		if band.Other != "" && band.Other != h.ID {
			until = "Both records are disputed until they are settled together."
		}
		t.say("Number " + band.Number + " is recorded as a fact. " + until)
	default:
		t.say("Number " + band.Number + " is taken.")
	}
	if last := stock.lastOfString(band.Number); last != "" {
		t.s.Message += " " + last
	}
	t.rememberNumber(h, band.Number)
	if id != t.s.Bench.Active {
		return
	}
	if d := t.s.Desk; d.Step == StepNumber {
		message := t.s.Message
		t.turnTo(nextStep(t.s.Bench, h, StepSeam))
		t.s.Message = message
	}
}

// contested reports whether it is this band's number that is disputed, as far as
// the record itself can tell.
func contested(h bench.Handling, band bench.Band) bool {
	other, own := h.DisputedBand()
	return h.Disputed() && (!own || other.ID == band.ID)
}

func (t *turn) numberKey(a Ask, r rune) {
	switch a {
	case AskOnLeg:
		if r == 'r' {
			c := t.s.Desk.Number
			t.s.Desk.Ask, t.s.Desk.Typed, t.s.Desk.Number = AskNumberReason, "", c
			return
		}
		t.turnTo(StepNumber)
		t.typeIn(string(r))
	case AskFoundLeg:
		if side, ok := map[rune]bench.Leg{'l': bench.LegLeft, 'r': bench.LegRight}[r]; ok {
			t.s.Desk.Found.Leg = side
			t.s.Desk.Ask, t.s.Desk.Typed = AskCondition, ""
		}
	case AskThen:
		if then, ok := map[rune]bench.Then{'l': bench.ThenLeft, 'w': bench.ThenWorked, 'r': bench.ThenReplaced}[r]; ok {
			t.tellFound(then)
		}
	}
}

func (t *turn) numberEntered(a Ask) {
	text := strings.TrimSpace(t.s.Desk.Typed)
	switch a {
	case AskNumber:
		t.numberEnteredHere(text)
	case AskNumberReason:
		if text != "" {
			c := t.s.Desk.Number
			c.When, c.Reason = t.when(), text
			t.s.Desk.Ask = AskStep
			t.numberKnown(c)
		}
	case AskInscription:
		t.inscription(text)
	case AskCondition:
		t.s.Desk.Found.Condition = text
		t.s.Desk.Ask, t.s.Desk.Typed = AskScheme, ""
	case AskScheme:
		if _, err := t.s.Bench.Setup.Pattern.Inscribed(t.s.Desk.Found.Number); err != nil && text == "" {
			t.refuse([]bench.Blocker{{Code: bench.NumberPattern, Mend: catalogue.Capital(err.Error()) + " if it is your own (Esc goes back), or name the scheme that issued it."}})
			return
		}
		t.s.Desk.Found.Scheme = text
		t.s.Desk.Ask, t.s.Desk.Typed = AskThen, ""
	}
}

// numberEnteredHere takes what was typed at the number step. An empty line
// goes on when there is a number already.
func (t *turn) numberEnteredHere(text string) {
	if text != "" {
		if _, err := t.s.Bench.Setup.Pattern.Parse(text); err == nil {
			t.setTyped("") // one that is no number stays, to be mended
		}
		t.giveNumber(text)
		return
	}
	h, ok := t.s.bird()
	switch {
	case !ok:
	case numberProgress(h) == Done:
		t.turnTo(nextStep(t.s.Bench, h, StepSeam))
	default:
		if next := t.s.offeredNumber(h); next != "" {
			t.giveNumber(next)
		}
	}
}

// rememberNumber keeps the last number of this size and metal.
func (t *turn) rememberNumber(h bench.Handling, text string) {
	number, err := t.s.Bench.Setup.Pattern.Parse(text)
	if err != nil || h.Choice == nil {
		return
	}
	last := slices.DeleteFunc(slices.Clone(t.s.Before.Numbers), func(l LastNumber) bool {
		return l.Size == h.Choice.Size && l.Metal == h.Choice.Metal
	})
	t.s.Before.Numbers = append(last, LastNumber{h.Choice.Size, h.Choice.Metal, number})
}

// bandFound begins to tell a band that the bird already wears.
func (t *turn) bandFound() {
	if t.forBird(AskInscription) {
		t.s.Desk.Step = StepNumber
	}
}

func (t *turn) inscription(text string) {
	if text == "" {
		return
	}
	read, err := t.s.Bench.Setup.Pattern.Read(text)
	if err != nil {
		t.refuse([]bench.Blocker{{Code: bench.NumberPattern, Mend: catalogue.Capital(err.Error()) + "."}})
		return
	}
	t.quiet()
	t.question(AskFoundLeg)
	t.s.Desk.Found = bench.TellFound{Number: string(read)}
	t.trace(string(read))
}

// foundBack goes back to the question before among those about a found band, with
// its answer, and reports whether it did.
func (t *turn) foundBack() bool {
	d := &t.s.Desk
	switch d.Ask {
	case AskFoundLeg:
		d.Ask, d.Typed = AskInscription, d.Found.Number
	case AskCondition:
		d.Ask, d.Typed = AskFoundLeg, ""
	case AskScheme:
		d.Ask, d.Typed = AskCondition, d.Found.Condition
	case AskThen:
		d.Ask, d.Typed = AskScheme, d.Found.Scheme
	default:
		return false
	}
	return true
}

// tellFound tells the found band, once the records have said what they know
// of its number.
func (t *turn) tellFound(then bench.Then) {
	c := t.s.Desk.Found
	c.When, c.Then = t.when(), then
	t.turnTo(StepNumber)
	if _, own := bench.NumberOf(t.s.Bench, c); !own || strings.Contains(c.Number, "?") {
		t.foundKnown(c)
		return
	}
	t.say("The records are asked for the number.")
	t.lookUp(c.Number, c)
}

func (t *turn) foundKnown(c bench.TellFound) {
	if blockers := t.do(c, c.Handling); blockers != nil {
		t.refuse(blockers)
		return
	}
	t.say("Found band " + c.Number + " is recorded.")
	if c.Handling == t.s.Bench.Active && t.s.Desk.Step == StepNumber && t.s.Desk.Ask == AskStep {
		message := t.s.Message
		t.advance()
		t.s.Message = message
	}
}
