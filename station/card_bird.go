package station

import (
	"slices"
	"strings"

	"seamfit/internal/bands"
	"seamfit/internal/bench"
	"seamfit/internal/fit"
)

// birdCard takes a card about the bird on the desk.
func (t *turn) birdCard(c bench.Card) {
	switch c.Act {
	case bench.CardSpecies:
		t.describe(func(b *bench.Bird) { b.Species = c.Value })
	case bench.CardAge:
		t.describe(func(b *bench.Bird) { b.Age = c.Value })
	case bench.CardSex:
		t.describe(func(b *bench.Bird) { b.Sex = c.Value })
	case bench.CardLeg:
		t.describe(func(b *bench.Bird) { b.Leg = bench.Leg(c.Value) })
	case bench.CardSame:
		t.sameCard()
	case bench.CardAgain:
		t.againCard()
	case bench.CardAxis:
		t.axisCard(bench.Axis(c.Value))
	case bench.CardSupervise:
		t.superviseCard()
	case bench.CardBest:
		t.bestCard()
	case bench.CardSize:
		t.sizeCard(c.Value)
	case bench.CardMetal:
		t.metalCard(c.Value)
	case bench.CardFlush, bench.CardFinding, bench.CardLooked:
		t.lookCard(c)
	case bench.CardStatement:
		t.confirm(bench.Confirm{Statements: []string{c.Value}})
	case bench.CardDigit:
		t.digitCard(c.Value)
	case bench.CardEnter:
		t.entered()
	case bench.CardClear:
		t.turnTo(t.s.Desk.Step)
	case bench.CardRemove:
		t.removeCard()
	case bench.CardFate:
		t.fateCard(bench.Fate(c.Value))
	default: // anyTime and personCard take the others
	}
}

// sameCard tells the bird as the one before it.
func (t *turn) sameCard() {
	before := t.s.Before
	if before.Species == "" && before.Leg == bench.LegUnsaid {
		t.refuse(cardRefusal("No bird was told before this one: say its species and leg."))
		return
	}
	t.describe(func(b *bench.Bird) {
		if before.Species != "" {
			b.Species = before.Species
		}
		if before.Leg != bench.LegUnsaid {
			b.Leg = before.Leg
		}
	})
}

// againCard sets the last reading aside. A card can't say why: the reading
// counts on for how well the bench repeats itself.
func (t *turn) againCard() {
	h, _ := t.s.bird()
	standing := standingReadings(h)
	if len(standing) == 0 {
		t.refuse(cardRefusal("No reading stands that could be set aside."))
		return
	}
	if t.ask(bench.SetAside{When: t.when(), Reading: standing[len(standing)-1], Reason: bench.NoCause}) {
		t.turnTo(StepLeg)
		t.rearm()
		t.s.Message = "The last reading is set aside, and stays in the record. Measure again."
	}
}

// axisCard says what the next reading is of.
func (t *turn) axisCard(axis bench.Axis) {
	h, _ := t.s.bird()
	if axis == bench.AxisWall && !found(h) {
		t.refuse(cardRefusal("The wall is that of a band that the bird wore already: tell the found band first."))
		return
	}
	t.turnTo(StepLeg)
	t.s.Desk.Taking.Next = axis
}

// superviseCard asks which supervisor looks at the closing.
func (t *turn) superviseCard() {
	h, _ := t.s.bird()
	if !t.s.supervisable(h) {
		t.refuse(cardRefusal("There is nothing for a supervisor to look at: a flush closing in a shift with a trainee, that nobody has looked at since."))
		return
	}
	t.turnTo(StepSeam)
	t.askIfBefore(AskSupervisor)
}

// bestCard takes the size that is advised and asks for its metal.
func (t *turn) bestCard() {
	h, _ := t.s.bird()
	if result, err := t.s.Bench.Fit(h); err == nil && result.Best != "" {
		t.sizeCard(result.Best)
		return
	}
	t.refuse(cardRefusal("No size is advised: measure the leg, or scan the card of a size."))
}

// sizeCard takes a size and asks for its metal.
func (t *turn) sizeCard(label string) {
	t.turnTo(StepSize)
	row := slices.IndexFunc(t.s.offered(), func(c fit.Candidate) bool { return c.Size == label })
	if row < 0 {
		t.refuse(cardRefusal("Size " + label + " is not in the table of sizes of this shift."))
		return
	}
	t.s.Desk.Row = row
	t.pickSize()
}

func (t *turn) metalCard(metal string) {
	if t.s.ask() != AskMetal {
		t.refuse(cardRefusal("The metal is told after the size: scan the card of the size first."))
		return
	}
	t.pickMetal(metal)
}

// lookCard takes what a look found. A look after a look is that of a further
// closing.
func (t *turn) lookCard(c bench.Card) {
	h, _ := t.s.bird()
	look := t.look
	if t.s.ask() == AskSupervised {
		look = t.supervise // the supervisor's look, not a further closing
	} else if t.s.Desk.Step != StepSeam || t.s.ask() != AskLook {
		t.turnTo(StepSeam)
		switch t.s.ask() {
		case AskNoBand:
			t.ask(bench.Look{When: t.when()}) // says that there is none
			return
		case AskDone:
			t.refuse([]bench.Blocker{{Code: bench.AlreadyComplete, Mend: "The record is complete: only corrections with their reason are taken."}})
			return
		}
		t.question(AskLook)
	}
	switch c.Act {
	case bench.CardFlush:
		t.flushLook(look)
	case bench.CardLooked:
		if len(t.s.Desk.Marked) == 0 {
			t.refuse(cardRefusal("Nothing is marked yet: scan what the look found, or the card for flush."))
			return
		}
		look(t.s.Desk.Marked)
	default:
		t.findingCard(h, c.Value)
	}
}

func (t *turn) findingCard(h bench.Handling, id string) {
	kind, known := t.s.closureOf(h)
	switch {
	case known && !slices.Contains(kind.Defects, id):
		t.refuse(cardRefusal("A " + kind.Name + " closure has no such fault."))
	case !slices.Contains(t.s.Desk.Marked, id):
		t.mark(id)
	}
}

// digitCard adds a digit to the number that is being read back.
func (t *turn) digitCard(digit string) {
	if t.s.ask() != AskReadBack {
		t.turnTo(StepSeam)
		if a := t.s.ask(); a != AskStatements && a != AskConfirmed {
			t.refuse([]bench.Blocker{{Code: bench.ClosingMissing, Mend: "There is no flush closing to read a number back from: close the band and look all round the seam first."}})
			return
		}
		t.question(AskReadBack)
	}
	t.typeIn(digit)
}

// lookReason is the reason that the last look gives by itself; empty after a
// flush one.
func lookReason(h bench.Handling) string {
	closing, ok := h.LastClosing()
	if !ok || closing.Flush() {
		return ""
	}
	return "the look found " + strings.Join(findingNames(closing.Findings), ", ")
}

// removeCard records that the band came off. After a look that found a fault
// that is the reason; else it is asked for.
func (t *turn) removeCard() {
	h, _ := t.s.bird()
	if reason := lookReason(h); reason != "" && !t.s.gone(h) {
		t.remove(reason)
		return
	}
	t.removal()
}

// fateCard tells the fate. What the record says by itself is the reason; else
// it is asked for, and may be passed over where none is needed.
func (t *turn) fateCard(fate bench.Fate) {
	h, _ := t.s.bird()
	reason := ""
	switch fate {
	case bench.FateUnconfirmed:
		reason = lookReason(h)
	case bench.FateUnbanded:
		for _, b := range h.Bands {
			if b.State == bands.Destroyed && !b.Found {
				reason = "the band came off: " + b.Reason
			}
		}
	case bench.FateBanded, bench.FateEscaped, bench.FateDied: // the record says no reason
	}
	t.turnTo(StepFate)
	if fate == bench.FateBanded || reason != "" {
		t.tellFate(fate, reason)
		return
	}
	t.askFateReason(fate)
}
