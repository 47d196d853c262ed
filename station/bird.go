package station

import (
	"slices"
	"strings"

	"seamfit/internal/bench"
	"seamfit/internal/catalogue"
)

// speciesRows is how many species are offered while one is typed.
const speciesRows = 5

// choice is one key of a question that a single key answers.
type choice struct {
	key   rune
	words string
}

func ages() []choice {
	return append(lettered(bench.Ages(), bench.Ages(), "uo"), choice{'u', bench.NotKnown}, choice{'o', "other words"})
}

func sexes() []choice {
	return append(lettered(bench.Sexes(), bench.Sexes(), "u"), choice{'u', bench.NotKnown})
}

func sides() []choice { return []choice{{'l', "left leg"}, {'r', "right leg"}} }

// birdAsk returns what the bird step asks: what has not been said yet, and
// then nothing but what may be said anew.
func birdAsk(h bench.Handling, d Desk) Ask {
	passed := func(a Ask) bool { return slices.Contains(d.Asked, a) }
	switch {
	case h.Bird.Species == "":
		return AskSpecies
	case h.Bird.Age == "" && !passed(AskAge):
		return AskAge
	case h.Bird.Sex == "" && !passed(AskSex):
		return AskSex
	case h.Bird.Leg == bench.LegUnsaid:
		return AskSide
	default:
		return AskBirdAgain
	}
}

// speciesFound returns the species that are offered for what is typed.
func (s State) speciesFound() []catalogue.Species {
	if strings.TrimSpace(s.Desk.Typed) == "" {
		return nil
	}
	return s.Bench.Setup.Book.Search(s.Desk.Typed, speciesRows)
}

// rows returns how many rows the list of the question has.
func (s State) rows() int {
	if s.ask() == AskSpecies {
		return len(s.speciesFound())
	}
	return len(s.offered())
}

// describe says anew what bird it is, with one thing changed.
func (t *turn) describe(change func(*bench.Bird)) {
	h, ok := t.s.bird()
	if !ok {
		return
	}
	bird := h.Bird
	change(&bird)
	asked := t.s.Desk.Asked
	if t.ask(bench.DescribeBird{When: t.when(), Bird: bird, Why: t.s.Desk.Why}) {
		t.remember(bird)
		again := t.s.Desk.Ask != AskStep
		t.turnTo(t.s.Desk.Step)
		t.s.Desk.Asked = asked
		h, _ := t.s.bird()
		if again || birdAsk(h, t.s.Desk) == AskBirdAgain {
			t.advance()
		}
		if h.Complete {
			t.s.Message = "Corrected, with its reason; what was told before stays beside it."
		}
	}
}

// remember keeps what the next bird is likely to be.
func (t *turn) remember(b bench.Bird) {
	if b.Species != "" {
		t.s.Before.Species = b.Species
	}
	if b.Leg != bench.LegUnsaid {
		t.s.Before.Leg = b.Leg
	}
}

func (t *turn) birdKey(a Ask, r rune) {
	switch a {
	case AskAge:
		t.ageKey(r)
	case AskSex:
		t.sexKey(r)
	case AskSide:
		side, ok := map[rune]bench.Leg{'l': bench.LegLeft, 'r': bench.LegRight}[r]
		if ok {
			t.describe(func(b *bench.Bird) { b.Leg = side })
		}
	case AskBirdAgain:
		t.birdAgain(r)
	}
}

func (t *turn) ageKey(r rune) {
	if r == 'o' {
		t.question(AskOtherAge)
		return
	}
	if words, ok := wordsOf(ages(), r); ok {
		t.describe(func(b *bench.Bird) { b.Age = words })
	}
}

func (t *turn) sexKey(r rune) {
	if words, ok := wordsOf(sexes(), r); ok {
		t.describe(func(b *bench.Bird) { b.Sex = words })
	}
}

// pass notes that a question was passed over.
func (t *turn) pass(a Ask) {
	t.s.Desk.Asked = append(slices.Clone(t.s.Desk.Asked), a)
}

// birdAgain asks one thing about the bird anew.
func (t *turn) birdAgain(r rune) {
	h, _ := t.s.bird()
	if t.whenceQuestion(r) {
		return
	}
	switch r {
	case 's':
		t.question(AskSpecies)
	case 'a':
		t.question(AskAge)
	case 'x':
		t.question(AskSex)
	case 'l':
		t.question(AskSide)
	case 'j':
		site := bench.SiteAbove
		if h.Bird.Site == bench.SiteAbove {
			site = bench.SiteBelow
		}
		t.describe(func(b *bench.Bird) { b.Site = site })
	}
}

func (t *turn) birdEntered(a Ask) {
	switch a {
	case AskSpecies:
		t.speciesEntered()
	case AskOtherAge:
		if age := strings.TrimSpace(t.s.Desk.Typed); age != "" {
			t.describe(func(b *bench.Bird) { b.Age = age })
		}
	case AskAge, AskSex:
		t.pass(a)
		t.turnTo(StepBird)
	case AskSide:
		if t.s.Before.Leg != bench.LegUnsaid {
			t.describe(func(b *bench.Bird) { b.Leg = t.s.Before.Leg })
		}
	case AskBirdAgain:
		if h, ok := t.s.bird(); ok {
			t.turnTo(nextStep(t.s.Bench, h, StepLeg))
		}
	}
}

func (t *turn) speciesEntered() {
	if strings.TrimSpace(t.s.Desk.Typed) == "" && t.s.Before.Species != "" {
		t.describe(func(b *bench.Bird) { b.Species = t.s.Before.Species })
		return
	}
	found := t.s.speciesFound()
	if len(found) == 0 {
		t.speciesAsTyped()
		return
	}
	name := found[min(t.s.Desk.Row, len(found)-1)].Scientific
	t.describe(func(b *bench.Bird) { b.Species = name })
}

// speciesAsTyped takes a species that the list lacks.
func (t *turn) speciesAsTyped() {
	text := strings.TrimSpace(t.s.Desk.Typed)
	if text == "" {
		return
	}
	t.describe(func(b *bench.Bird) { b.Species = text })
	if _, known := t.s.Bench.Setup.Book.SpeciesNamed(text); !known && t.s.Refused == nil {
		t.s.Message = "Not on the species list: no size is recommended for it here."
	}
}

func wordsOf(choices []choice, r rune) (string, bool) {
	i := slices.IndexFunc(choices, func(c choice) bool { return c.key == r })
	if i < 0 {
		return "", false
	}
	return choices[i].words, true
}
