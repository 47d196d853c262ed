package station

import (
	"strings"

	"seamfit/internal/bench"
)

// frontEntered takes Enter before the first bird: the cautions are read, or a
// line about the shift is done.
func (t *turn) frontEntered(a Ask) {
	f := &t.s.Front
	text := strings.TrimSpace(f.Typed)
	if a == AskCautions {
		f.Cautions = false
		t.beginTraining()
		return
	}
	if text == "" {
		text = t.s.usualAnswer(a)
	}
	if text == "" {
		t.refuse([]bench.Blocker{{Code: CodeNotTyped, Mend: "This line is needed: type it, then Enter."}})
		return
	}
	f.Typed = ""
	t.quiet()
	switch a {
	case AskPlace:
		f.Place, f.Stage = text, AskBander
	case AskBander:
		f.Bander, f.Stage = text, AskPermit
	case AskPermit:
		t.openShift(bench.Shift{Place: f.Place, Bander: f.Bander, Permit: text, Scribe: t.s.Options.Usual.Scribe})
	case AskNextBander:
		f.Stage = AskPlace
		t.banderIs(text)
	}
}

// beginTraining opens the training shift, which asks nothing of the newcomer.
func (t *turn) beginTraining() {
	if t.s.Options.Trainer == nil || t.s.Bench.Shift != nil {
		return
	}
	shift := t.s.Options.Trainer.Shift()
	shift.Training = true
	t.openShift(shift)
}

func (t *turn) openShift(shift bench.Shift) {
	if t.id == "" {
		return
	}
	shift.ID, shift.Started = t.id, t.at
	if t.s.late() {
		shift.Started = t.s.Sheet.Began
	}
	w := t.stamp(shift.Started, shift.Bander)
	if blockers := t.do(bench.OpenShift{When: w, Shift: shift}, ""); blockers != nil {
		t.refuse(blockers)
		return
	}
	t.s.Bander = shift.Bander
	t.s.Front.Stage = AskPlace
	t.quiet()
	if !shift.Training {
		t.tellUsual(shift.Place)
	}
	if t.s.Refused != nil {
		return
	}
	t.say("The shift is open.")
}

// usualAnswer is what Enter alone takes when a shift is opened; empty where
// nothing is usual.
func (s State) usualAnswer(a Ask) string {
	switch a {
	case AskPlace:
		return s.Options.Usual.Place
	case AskPermit:
		return s.Options.Usual.Permit
	case AskBander:
		return s.Options.Usual.Bander
	default:
		return ""
	}
}

// banderIs says who bands the birds that are opened from now on.
func (t *turn) banderIs(name string) {
	t.s.Bander = name
	t.say("The next bird is banded by " + name + ".")
}

// nextBander asks who bands the birds that are opened from now on.
func (t *turn) nextBander() {
	if t.s.Front.Cautions || t.s.Bench.Shift == nil {
		return
	}
	t.quiet()
	t.s.Front.Stage, t.s.Front.Typed = AskNextBander, ""
}
