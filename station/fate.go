package station

import (
	"strings"

	"seamfit/internal/bench"
)

// fateAsk returns what the fate step asks.
func fateAsk(h bench.Handling) Ask {
	if h.Fate == nil && h.Resolved == "" {
		return AskFate
	}
	return AskComplete
}

const (
	keyResolve = 'r'
	keyCorrect = 'c'
)

func fates() []choice {
	return []choice{
		{'b', string(bench.FateBanded)},
		{'u', string(bench.FateUnbanded)},
		{'c', string(bench.FateUnconfirmed)},
		{'e', string(bench.FateEscaped)},
		{'d', string(bench.FateDied)},
	}
}

// incidentStress is the kind of incident at which the guide says to stop.
const incidentStress = "stress"

func incidents() []choice {
	return []choice{{'i', "injury"}, {'s', incidentStress}, {'d', "death"}, {'o', "other"}}
}

// open reports whether the record stays an open matter until it is resolved: by
// its fate, or because it may be of no bird.
func open(h bench.Handling) bool {
	unsure := h.Fate != nil && (h.Fate.Fate == bench.FateEscaped || h.Fate.Fate == bench.FateUnconfirmed)
	return h.Resolved == "" && (unsure || h.Void())
}

func (t *turn) fateKey(r rune) {
	h, ok := t.s.bird()
	if !ok {
		return
	}
	if r == keyResolve && open(h) {
		t.quiet()
		t.question(AskResolve)
		return
	}
	fate, ok := wordsOf(fates(), r)
	if !ok {
		return
	}
	if bench.Fate(fate) == bench.FateBanded {
		t.tellFate(bench.FateBanded, "")
		return
	}
	t.askFateReason(bench.Fate(fate))
}

// askFateReason asks for the reason of a fate, once nothing but a reason can
// be missing: nobody types one for a fate that is then refused.
func (t *turn) askFateReason(fate bench.Fate) {
	_, _, blockers := bench.Apply(t.s.Bench, bench.TellFate{When: t.when(), Fate: fate})
	if len(blockers) > 0 && !hasCode(blockers, bench.ReasonMissing) {
		t.refuse(blockers)
		return
	}
	t.quiet()
	t.question(AskFateReason)
	t.s.Desk.Fate = fate
}

func (t *turn) tellFate(fate bench.Fate, reason string) {
	if t.ask(bench.TellFate{When: t.when(), Fate: fate, Reason: reason}) {
		t.turnTo(StepFate)
	}
}

func (t *turn) fateEntered(a Ask) {
	text := strings.TrimSpace(t.s.Desk.Typed)
	switch a {
	case AskFateReason:
		t.tellFate(t.s.Desk.Fate, text)
	case AskComplete:
		// Enter that is held down or bounces ends a text; it never completes
		// a record as well.
		if t.since(t.s.keys.enteredAt) >= enterRepeat {
			t.complete()
		}
	case AskResolve:
		if t.ask(bench.Resolve{When: t.when(), Reason: text}) {
			t.turnTo(StepFate)
		}
	case AskWhy:
		if text != "" {
			t.turnTo(StepBird)
			t.s.Desk.Ask, t.s.Desk.Why = AskBirdAgain, text
		}
	case AskIncidentNote:
		if t.ask(bench.TellIncident{When: t.when(), Kind: t.s.Desk.Kind, Note: text}) {
			t.turnTo(t.s.Desk.Step)
			t.s.Message = "The incident is recorded."
		}
	}
}

// stillInHand answers whether F8 was pressed by mistake.
func (t *turn) stillInHand(r rune) {
	step := t.s.Desk.Step
	if r != 'y' {
		t.turnTo(step)
		t.answer(r) // the key is what the step asks for
		return
	}
	if t.ask(bench.StillInHand{When: t.when(), Why: "left the hand was pressed by mistake"}) {
		t.turnTo(step)
		t.s.Message = "The bird is in the hand; its clock runs on from its capture."
	}
}

// complete marks the record complete, or says everything that keeps it from
// being so. Where that is the fate alone of a bird that left the hand, and
// nothing is half typed, it asks for it.
func (t *turn) complete() {
	if t.s.inFront() {
		return
	}
	if t.ask(bench.Complete{When: t.when()}) {
		t.turnTo(StepFate)
		t.bell(BellCapture)
		return
	}
	h, ok := t.s.bird()
	if ok && hasCode(t.s.Refused, bench.NumberDisputed) && t.s.unsaved(h.ID) == 0 {
		t.reread(h.ID) // it may have been settled meanwhile, by another program
	}
	fateAlone := len(t.s.Refused) == 1 && hasCode(t.s.Refused, bench.FateMissing)
	if ok && !h.InHand() && fateAlone && t.s.Desk.Typed == "" {
		t.turnTo(StepFate)
	}
}

// incidentKey takes the kind of an incident and asks for a note on it.
func (t *turn) incidentKey(r rune) {
	if kind, ok := wordsOf(incidents(), r); ok {
		t.question(AskIncidentNote)
		t.s.Desk.Kind = kind
	}
}
