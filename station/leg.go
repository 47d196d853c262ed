package station

import (
	"strings"

	"seamfit/internal/bench"
	"seamfit/internal/length"
)

// legKey takes the keys of the leg step.
func (t *turn) legKey(a Ask, r rune) {
	h, ok := t.s.bird()
	if !ok {
		return
	}
	if a == AskWhichReading {
		t.whichReading(h, r)
		return
	}
	if a == AskWhichMeasure {
		t.whichMeasure(r)
		return
	}
	if t.measuringKey(h, r) {
		return
	}
	switch r {
	case 't':
		t.question(AskTypedWidth)
	case keyFurther:
		if len(t.s.furtherMeasures()) > 0 {
			t.question(AskWhichMeasure)
		}
	case 'a':
		t.poll()
	case 'x':
		standing := standingReadings(h)
		switch len(standing) {
		case 0:
			t.say("No reading to set aside.")
		case 1:
			t.s.Desk.Reading = standing[0]
			t.question(AskAside)
		default:
			t.question(AskWhichReading)
		}
	}
}

// standingReadings returns the readings that are not set aside, counted from 1
// as SetAside counts them.
func standingReadings(h bench.Handling) []int {
	var standing []int
	for i, r := range h.Readings {
		if r.SetAside == "" {
			standing = append(standing, i+1)
		}
	}
	return standing
}

// whichReading takes the digit of the reading to set aside, counted among the
// last nine that stand.
func (t *turn) whichReading(h bench.Handling, r rune) {
	standing := lastNine(standingReadings(h))
	if i := int(r - '1'); i >= 0 && i < len(standing) {
		t.question(AskAside)
		t.s.Desk.Reading = standing[i]
	}
}

func lastNine(all []int) []int { return all[max(len(all)-9, 0):] }

func (t *turn) legEntered(a Ask) {
	switch a {
	case AskWidth:
		if h, ok := t.s.bird(); ok && len(h.Readings) > 0 {
			t.turnTo(nextStep(t.s.Bench, h, StepSize))
		}
	case AskTypedWidth:
		t.typedWidth()
	case AskSlot:
		t.slotEntered()
	case AskMeasure:
		t.measureTyped()
	case AskMeasureReason:
		t.measureReason()
	case AskAside:
		c := bench.SetAside{When: t.when(), Reading: t.s.Desk.Reading, Reason: t.s.Desk.Typed}
		if t.ask(c) {
			t.turnTo(StepLeg)
			t.rearm() // the same jaws may be read once more
			t.s.Message = "Set aside, with its reason; the reading stays in the record."
		}
	}
}

func (t *turn) typedWidth() {
	text := strings.TrimSpace(t.s.Desk.Typed)
	if text == "" {
		t.turnTo(StepLeg)
		return
	}
	c, err := bench.TypedReading(t.when(), text, length.MM)
	if err != nil {
		t.refuse([]bench.Blocker{{Code: CodeNotAWidth, Mend: "That is no width (" + err.Error() + "): type it as 8.42, or with its unit as 0.3315 in."}})
		return
	}
	c.Axis, c.Feathers = t.s.Desk.Taking.axis(), t.s.Desk.Taking.Feathers
	if t.ask(c) {
		t.s.Desk.Taking = t.s.Desk.Taking.taken()
		t.turnTo(StepLeg)
		t.advance()
		t.nextOfSheet()
	}
}

// nextOfSheet asks for the next width of a sheet at once: they stand side by
// side on it.
func (t *turn) nextOfSheet() {
	h, ok := t.s.bird()
	if !ok || !t.s.late() || t.s.Desk.Step != StepLeg {
		return
	}
	if widths, _ := h.Counted(); len(widths) < t.s.Bench.Setup.Readings {
		t.question(AskTypedWidth)
	}
}
