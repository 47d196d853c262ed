package station

import (
	"slices"
	"strings"
	"unicode"

	"seamfit/internal/bench"
	"seamfit/internal/catalogue"
	"seamfit/internal/seam"
)

// The keys of the seam step that are no findings' and no statements'.
const (
	keyFlush     = 'f'
	keyLookAgain = 'l'
)

// seamAsk returns what the seam step asks.
func (s State) seamAsk(h bench.Handling) Ask {
	if _, ok := h.CurrentBand(); !ok {
		return AskNoBand
	}
	closing, ok := h.LastClosing()
	switch {
	case !ok || !closing.Flush():
		if s.atPliers(h) {
			return AskWork
		}
		return AskLook
	case h.Confirmed(s.Bench.Setup.Book):
		return AskConfirmed
	case s.unwitnessed(h):
		return AskStatedBefore
	default:
		return AskStatements
	}
}

// gone reports whether the bird is gone, so that what is told now must have been
// before. A sheet of paper tells nothing else.
func (s State) gone(h bench.Handling) bool { return !h.InHand() && !s.late() }

// unwitnessed reports whether what confirms the closing is still to be told of a
// bird that is gone, and nobody has said that it was seen before.
func (s State) unwitnessed(h bench.Handling) bool {
	return s.gone(h) && !s.Desk.Witnessed &&
		hasCode(bench.Blockers(h, s.Bench.Setup.Book), bench.StatementMissing, bench.ReadBackMissing, bench.ReadBackMismatch)
}

// closureOf returns the closure kind of the band that is being worked on, when
// it is known.
func (s State) closureOf(h bench.Handling) (catalogue.Closure, bool) {
	band, ok := h.CurrentBand()
	switch {
	case ok && band.Found && band.Closure == "":
		return s.Bench.Setup.Book.Closure("butt-end")
	case ok && band.Found:
		return s.Bench.Setup.Book.Closure(band.Closure)
	case h.Choice == nil:
		return catalogue.Closure{}, false
	default:
		return s.Bench.Setup.Book.Closure(h.Choice.Closure)
	}
}

// findingKeys returns the keys of all findings. They are the same for every
// closure kind, so that a finger learns them once.
func (s State) findingKeys() []choice {
	var ids []string
	for _, f := range s.Bench.Setup.Book.Findings {
		ids = append(ids, f.ID)
	}
	return lettered(ids, ids, string([]rune{keyFlush, keyLookAgain}))
}

// defectKeys returns the keys of the findings that can be reported for the
// band of h.
func (s State) defectKeys(h bench.Handling) []choice {
	kind, known := s.closureOf(h)
	return slices.DeleteFunc(s.findingKeys(), func(c choice) bool {
		return known && !slices.Contains(kind.Defects, c.words)
	})
}

// statementKeys returns the keys of the statements. None of them is a key of a
// finding: one key must never mean that a defect is there and that it is not.
func (s State) statementKeys(h bench.Handling) []choice {
	kind, ok := s.closureOf(h)
	if !ok {
		return nil
	}
	taken := string([]rune{keyFlush, keyLookAgain})
	for _, c := range s.findingKeys() {
		taken += string(c.key)
	}
	taken += string(keySupervise)
	ids := make([]string, len(kind.Statements))
	for i, st := range kind.Statements {
		ids[i] = st.ID
	}
	return lettered(ids, ids, taken+"0123456789")
}

func (t *turn) seamKey(a Ask, r rune) {
	h, ok := t.s.bird()
	if !ok {
		return
	}
	switch {
	case a == AskLook && r == keyFlush:
		t.flushLook(t.look)
	case a == AskLook:
		if id, ok := wordsOf(t.s.defectKeys(h), r); ok {
			t.mark(id)
		}
	case a == AskStatedBefore:
		t.statedBefore(r)
	case a == AskSupervised:
		t.supervisedKey(h, r)
	case a == AskWork:
		t.workKey(r)
	case r == keySupervise && t.s.supervisable(h):
		t.askIfBefore(AskSupervisor)
	case r == keyLookAgain:
		t.closedOnceMore()
	case a == AskStatements:
		if id, ok := wordsOf(t.s.statementKeys(h), r); ok {
			t.confirm(bench.Confirm{Statements: []string{id}})
		}
	}
}

// mark marks a finding of the look, or takes its mark away.
func (t *turn) mark(id string) {
	t.quiet()
	marked := slices.Clone(t.s.Desk.Marked)
	if i := slices.Index(marked, id); i >= 0 {
		marked = slices.Delete(marked, i, i+1)
	} else {
		marked = append(marked, id)
	}
	t.s.Desk.Marked = marked
}

// flushLook records a look that found nothing wrong: after a closing, or a
// supervisor's.
func (t *turn) flushLook(look func(findings []string)) {
	if len(t.s.Desk.Marked) > 0 {
		t.refuse([]bench.Blocker{{Code: CodeMarked, Mend: "Findings are marked, so the look was not flush: Enter records them, Backspace takes the marks away."}})
		return
	}
	look(nil)
}

// look takes a look after a closing. Of a bird that is gone it asks first
// whether it was seen before: a key pressed by mistake must not tell of a
// closing that nobody could have made.
func (t *turn) look(findings []string) {
	if h, ok := t.s.bird(); ok && t.s.gone(h) {
		t.quiet()
		t.askIfBefore(AskLook)
		t.s.Desk.Marked = findings
		return
	}
	t.looked(findings)
}

// statedBefore answers whether what confirms the closing of a bird that is gone
// was seen before it left.
func (t *turn) statedBefore(r rune) {
	if r != 'y' {
		t.say("Nothing is stated. Tab goes on to the fate.")
		return
	}
	t.s.Desk.Witnessed = true
	t.turnTo(StepSeam)
}

// looked records a look.
func (t *turn) looked(findings []string) {
	if t.ask(bench.Look{When: t.when(), Findings: findings}) {
		if _, ok := t.s.Options.Trainer.(Workshop); ok {
			t.act(seam.LookKey)
		}
		t.turnTo(StepSeam)
	}
}

func (t *turn) seamEntered(a Ask) {
	switch a {
	case AskLook:
		if len(t.s.Desk.Marked) > 0 {
			t.look(t.s.Desk.Marked)
			return
		}
		t.say("Press f when the seam is flush, or mark what is wrong with it.")
	case AskSupervisor:
		t.supervisorEntered()
	case AskSupervised:
		if len(t.s.Desk.Marked) > 0 {
			t.supervise(t.s.Desk.Marked)
		}
	case AskStatements:
		// It opens no field: a statement's key would land in it.
		t.say("A key for each point that you have seen; a digit begins the read-back.")
	case AskReadBack:
		t.readBack()
	case AskConfirmed:
		if h, ok := t.s.bird(); ok {
			t.turnTo(nextStep(t.s.Bench, h, StepFate))
		}
	case AskRemoval:
		t.remove(t.s.Desk.Typed)
	}
}

// confirm makes a statement about the last closing, or reads the number back.
func (t *turn) confirm(c bench.Confirm) bool {
	if h, ok := t.s.bird(); ok && t.s.seamAsk(h) == AskStatedBefore {
		t.turnTo(StepSeam) // by a card: it is asked first
		return false
	}
	c.When = t.when()
	if !t.ask(c) {
		return false
	}
	h, _ := t.s.bird()
	if t.s.Desk.Step == StepSeam {
		t.turnTo(StepSeam)
	} else {
		t.turnTo(t.s.Desk.Step)
	}
	if h.Confirmed(t.s.Bench.Setup.Book) {
		t.bell(BellCapture)
		t.advance()
		t.s.Message = "The closing is confirmed."
	}
	return true
}

// readBack takes the digits keyed off the band. Digits that are not the
// record's are recorded and said.
func (t *turn) readBack() {
	text := strings.TrimSpace(t.s.Desk.Typed)
	t.s.Desk.Typed = ""
	if text == "" || !t.confirm(bench.Confirm{ReadBack: text}) {
		return
	}
	h, _ := t.s.bird()
	for _, b := range bench.Blockers(h, t.s.Bench.Setup.Book) {
		if b.Code == bench.ReadBackMismatch {
			t.refuse([]bench.Blocker{b})
		}
	}
}

// removal asks why the band comes off.
func (t *turn) removal() {
	if h, ok := t.s.bird(); ok {
		_, current := h.CurrentBand()
		if _, found := h.FoundOnLeg(); !current && !found {
			t.ask(bench.Remove{When: t.when()}) // says that there is none
			return
		}
	}
	if t.forBird(AskRemoval) {
		t.askIfBefore(AskRemoval)
	}
}

// askIfBefore asks a, which is about something done to the bird or seen on it. Of a
// bird that is gone it asks first whether that was before it left.
func (t *turn) askIfBefore(a Ask) {
	if h, ok := t.s.bird(); ok && t.s.gone(h) {
		t.question(AskWasBefore)
		t.s.Desk.Before = a
		return
	}
	t.question(a)
}

// wasBefore answers whether it was before the bird left.
func (t *turn) wasBefore(r rune) {
	switch {
	case r != 'y':
		t.turnTo(t.s.Desk.Step)
		t.say("Nothing is recorded of it.")
	case t.s.Desk.Before == AskLook:
		t.s.Desk.Witnessed = true
		t.looked(t.s.Desk.Marked)
	default:
		t.question(t.s.Desk.Before)
	}
}

func (t *turn) remove(reason string) {
	if !t.ask(bench.Remove{When: t.when(), Reason: reason}) {
		return
	}
	t.turnTo(StepNumber)
	t.say("The band is off, and its number is recorded as destroyed. Take the next band, or tell the fate.")
}

// startsReadBack reports whether a key at the statements begins the read-back.
func startsReadBack(a Ask, r rune) bool { return a == AskStatements && unicode.IsDigit(r) }
