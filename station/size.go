package station

import (
	"slices"
	"strings"

	"seamfit/internal/bench"
	"seamfit/internal/fit"
)

// offered returns the sizes in the order in which they are offered: fit's for
// a measured leg, else the office's list and then the catalogue's order.
func (s State) offered() []fit.Candidate {
	h, ok := s.bird()
	if !ok {
		return nil
	}
	if result, err := s.Bench.Fit(h); err == nil {
		return result.Sizes
	}
	table := s.Bench.Catalogue()
	var listed []string
	for _, r := range s.Bench.Listed(h) {
		listed = append(listed, r.Size)
	}
	var first, rest []fit.Candidate
	for _, size := range table.Sizes {
		c := fit.Candidate{Size: size.Label, InnerMM: size.Inner.MM(), Verdict: fit.Unjudged, Recommended: slices.Contains(listed, size.Label)}
		if c.Recommended {
			first = append(first, c)
		} else {
			rest = append(rest, c)
		}
	}
	return append(first, rest...)
}

func (t *turn) sizeKey(a Ask, r rune) {
	switch a {
	case AskWarnings:
		t.turnTo(StepSize)
	case AskSize:
		switch r {
		case 'w':
			t.question(AskWarnings)
			return
		case keyClosure:
			if h, _ := t.s.bird(); h.Choice != nil {
				t.anotherClosure()
			}
			return
		case keyTooSmall:
			if h, ok := t.s.bird(); ok {
				t.letGoTooSmall(h)
			}
			return
		}
		if i := int(r - '1'); i >= 0 && i < min(9, len(t.s.offered())) {
			t.s.Desk.Row = i
			t.pickSize()
		}
	case AskMetal:
		t.metalKey(r)
	case AskClosure:
		kinds := t.s.closures()
		if i := int(r - '1'); i >= 0 && i < len(kinds) {
			t.pickClosure(kinds[i])
		}
	case AskTightAgain:
		t.tightAgain(r)
	}
}

func (t *turn) sizeEntered(a Ask) {
	switch a {
	case AskWarnings:
		t.turnTo(StepSize)
	case AskSize:
		t.pickSize()
	case AskMetal:
		t.pickMetal(t.s.usualMetal())
	case AskClosure:
		if kinds := t.s.closures(); len(kinds) > 0 {
			t.pickClosure(kinds[0])
		}
	case AskSizeReason:
		t.sizeReason()
	}
}

// pickSize takes the size of the row and asks for its metal.
func (t *turn) pickSize() {
	offered := t.s.offered()
	if len(offered) == 0 {
		return
	}
	size := offered[min(t.s.Desk.Row, len(offered)-1)].Size
	t.quiet()
	t.question(AskMetal)
	t.s.Desk.Choice = bench.ChooseSize{Size: size}
	if slot := t.s.Desk.Taking.Slot; slot != "" {
		t.s.Desk.Choice.Method, t.s.Desk.Choice.Slot = bench.MethodLegGauge, slot
	}
}

// metals returns the keys of the metals.
func (s State) metals() []choice {
	names := make([]string, len(s.Bench.Setup.Book.Metals))
	for i, m := range s.Bench.Setup.Book.Metals {
		names[i] = m.Name
	}
	return lettered(names, names, string(keyClosure))
}

// usualMetal is what Enter takes: hard metal where it is advised.
func (s State) usualMetal() string {
	h, _ := s.bird()
	hard := s.Bench.MetalAdvice(h, "").HardAdvised
	for _, m := range s.Bench.Setup.Book.Metals {
		if m.Hard == hard {
			return m.Name
		}
	}
	return ""
}

// keyClosure asks for another closure kind than the usual one.
const keyClosure = 'c'

func (t *turn) metalKey(r rune) {
	if r == keyClosure {
		t.anotherClosure()
		return
	}
	if metal, ok := wordsOf(t.s.metals(), r); ok {
		t.pickMetal(metal)
	}
}

// pickMetal takes the metal. The closure kind goes without saying, unless
// another was asked for: fingers are cold.
func (t *turn) pickMetal(metal string) {
	t.s.Desk.Choice.Metal = metal
	t.chooseSize()
}

// closures returns the closure kinds of the size that is being chosen, the
// usual one for the bird first.
func (s State) closures() []string {
	h, _ := s.bird()
	size, ok := s.Bench.Catalogue().Size(s.Desk.Choice.Size)
	if !ok {
		return nil
	}
	return s.Bench.ClosuresFor(h, size)
}

// anotherClosure asks for the closure kind of the size that is being chosen, or
// has been.
func (t *turn) anotherClosure() {
	if h, ok := t.s.bird(); ok && h.Choice != nil && t.s.Desk.Ask == AskStep {
		c := bench.ChooseSize{Size: h.Choice.Size, Metal: h.Choice.Metal, Slot: h.Choice.Slot, Reason: h.Choice.Reason}
		if c.Slot != "" {
			c.Method = bench.MethodLegGauge
		}
		if band, on := h.CurrentBand(); on && band.Closed {
			c.Reason = "" // a change under a closed band has a reason of its own
		}
		t.s.Desk.Choice = c
	}
	if kinds := t.s.closures(); len(kinds) < 2 {
		t.s.Message = "This size is made with one closure kind for this bird: " + strings.Join(kinds, "") + "."
		return
	}
	t.s.Desk.Ask = AskClosure
}

// pickClosure takes the closure kind: the choice is made when its metal is
// known already.
func (t *turn) pickClosure(kind string) {
	t.s.Desk.Choice.Closure = kind
	if t.s.Desk.Choice.Metal == "" {
		t.s.Desk.Ask = AskMetal
		return
	}
	t.chooseSize()
}

// chooseSize makes the choice. A choice that the bench takes only with its
// reason opens the field for it.
func (t *turn) chooseSize() {
	c := t.s.Desk.Choice
	c.When = t.when()
	blockers := t.do(c, t.s.Bench.Active)
	switch {
	case blockers == nil:
		t.quiet()
		t.s.Desk.Taking.Slot = ""
		t.turnTo(StepSize)
		t.advance()
	case hasCode(blockers, bench.SizeNeedsReason, bench.LegMissing, bench.RemoveFirst) && strings.TrimSpace(c.Reason) == "":
		t.refuse(blockers)
		t.s.Desk.Ask, t.s.Desk.Typed = AskSizeReason, ""
	default:
		t.refuse(blockers)
		t.turnTo(StepSize)
	}
}

// sizeReason takes the reason. A tight band is asked for a second time.
func (t *turn) sizeReason() {
	reason := strings.TrimSpace(t.s.Desk.Typed)
	if reason == "" {
		return
	}
	t.s.Desk.Choice.Reason = reason
	if t.s.chosenTight() {
		t.quiet()
		t.s.Desk.Ask, t.s.Desk.Typed = AskTightAgain, ""
		t.bell(BellRefusal)
		return
	}
	t.chooseSize()
}

// chosenTight reports whether the size that is being chosen is tight, or may
// be.
func (s State) chosenTight() bool {
	for _, c := range s.offered() {
		if c.Size == s.Desk.Choice.Size {
			return c.Verdict == fit.Tight
		}
	}
	return false
}

func (t *turn) tightAgain(r rune) {
	if r == 'y' {
		t.chooseSize()
		return
	}
	t.turnTo(StepSize)
	t.say("Not chosen. Choose a size that fits.")
}

// lettered gives each thing a key of its own: the first letter of its id that
// neither an earlier one nor taken has; else a digit.
func lettered(ids, words []string, taken string) []choice {
	choices := make([]choice, len(ids))
	for i, id := range ids {
		key := '?'
		for _, r := range strings.ToLower(id) + "1234567890" {
			if r != ' ' && r != '_' && !strings.ContainsRune(taken, r) {
				key = r
				break
			}
		}
		taken += string(key)
		choices[i] = choice{key, words[i]}
	}
	return choices
}
