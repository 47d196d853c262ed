package station

import (
	"fmt"
	"strings"

	"seamfit/device"
	"seamfit/internal/bench"
	"seamfit/internal/catalogue"
)

// keyFurther asks for a further measure, at the leg step.
const keyFurther = 'm'

// furtherMeasures returns those that there are for the bird on the desk, nine at
// most: each has a digit.
func (s State) furtherMeasures() []bench.FurtherMeasure {
	h, _ := s.bird()
	all := s.Bench.Setup.FurtherOf(h)
	return all[:min(len(all), 9)]
}

// whichMeasure takes the digit of a further measure.
func (t *turn) whichMeasure(r rune) {
	measures := t.s.furtherMeasures()
	if i := int(r - '1'); i >= 0 && i < len(measures) {
		t.quiet()
		t.question(AskMeasure)
		t.s.Desk.Measure = bench.TakeMeasure{Name: measures[i].Name}
	}
}

// measureTyped takes a further measure that was typed.
func (t *turn) measureTyped() {
	text := strings.TrimSpace(t.s.Desk.Typed)
	if text == "" {
		t.turnTo(StepLeg)
		return
	}
	c := t.s.Desk.Measure
	c.Means, c.Raw, c.Value = bench.MeansTyped, []byte(text), text
	t.takeMeasure(c)
}

// measureRead takes a reading as the further measure that is asked for; it
// reports whether one is.
func (t *turn) measureRead(r device.Reading) bool {
	if t.s.ask() != AskMeasure {
		return false
	}
	m, _ := t.s.Bench.Setup.FurtherNamed(t.s.Desk.Measure.Name)
	c, ok := bench.MeasureByCaliper(t.when(), m, takeReading(t.when(), Taking{}, r))
	if !ok {
		t.refuse([]bench.Blocker{{Code: bench.MeasureUnclear, Mend: "No caliper measures " + m.Name + " in " + m.Unit + ": type it, or press Esc and read the leg."}})
		t.s.Last.Refused = true
		return true
	}
	t.takeMeasure(c)
	t.s.Last.Refused = t.s.Refused != nil
	return true
}

// takeMeasure records it. One that is told already opens the field for the
// reason why it is another.
func (t *turn) takeMeasure(c bench.TakeMeasure) {
	c.When = t.when()
	blockers := t.do(c, t.s.Bench.Active)
	switch {
	case blockers == nil:
		t.turnTo(StepLeg)
		t.question(AskWhichMeasure)
		t.say(catalogue.Capital(c.Name) + " is recorded.")
		t.bell(BellCapture)
	case hasCode(blockers, bench.ReasonMissing):
		t.refuse(blockers)
		t.question(AskMeasureReason)
		t.s.Desk.Measure = c
	default:
		t.refuse(blockers)
	}
}

func (t *turn) measureReason() {
	if why := strings.TrimSpace(t.s.Desk.Typed); why != "" {
		c := t.s.Desk.Measure
		c.Why = why
		t.takeMeasure(c)
	}
}

func (v *view) furtherLines(a Ask, columns int) []line {
	m, _ := v.s.Bench.Setup.FurtherNamed(v.s.Desk.Measure.Name)
	switch a {
	case AskMeasure:
		text := catalogue.Capital(m.Name) + " in " + m.Unit
		if m.Method != "" {
			text += ", " + m.Method
		}
		if _, ok := m.Length(); ok {
			text += ": press the caliper's button, or type it"
		}
		return append(wrapped("", text+".", plain, columns), fieldLine(m.Name+":", v.s.Desk.Typed))
	case AskMeasureReason:
		return []line{words("Why is " + m.Name + " another than was told? The reason is stored."), fieldLine("reason:", v.s.Desk.Typed)}
	}
	var keys []choice
	for i, m := range v.s.furtherMeasures() {
		text := m.Name + ", " + m.Unit
		if told, ok := v.h.Measure(m.Name); ok {
			text = measureWords(told)
		}
		keys = append(keys, choice{rune('1' + i), text})
	}
	lines := append([]line{words("Which further measure?")}, choicesIn(keys, columns)...)
	return append(lines, say(piece{"Esc", key}, piece{" goes back to the leg", plain}))
}

// measureWords writes a further measure: "wing 421 mm".
func measureWords(m bench.MeasureTaken) string {
	return fmt.Sprintf("%s %s %s", m.Name, m.Value, m.Unit)
}

// measuresWords lists those that are told; empty: none.
func measuresWords(h bench.Handling) string {
	parts := make([]string, len(h.Measures))
	for i, m := range h.Measures {
		parts[i] = measureWords(m)
	}
	return strings.Join(parts, ", ")
}
