package station

import (
	"slices"
	"strings"

	"seamfit/internal/bench"
	"seamfit/internal/fit"
)

// Taking is what the next readings of a bird are of, and the slot of a leg
// gauge that was told.
type Taking struct {
	Cross    bool           // the next one is the cross width
	Wall     bool           // the next one is the wall of the band that the bird wears
	Feathers bench.Feathers // until it is said anew
	Slot     string         // of the leg gauge, until a size is chosen
}

// axis returns the axis of the next reading.
func (m Taking) axis() bench.Axis {
	switch {
	case m.Wall:
		return bench.AxisWall
	case m.Cross:
		return bench.AxisCross
	default:
		return bench.AxisGreatest
	}
}

// taken returns what the readings after this one are of.
func (m Taking) taken() Taking {
	m.Cross, m.Wall = false, false
	return m
}

// nextFeathers says in turn what the next readings are taken over.
func nextFeathers(f bench.Feathers) bench.Feathers {
	all := []bench.Feathers{bench.FeathersNone, bench.FeathersOver, bench.FeathersUnder}
	return all[(slices.Index(all, f)+1)%len(all)]
}

// feathersWords says what readings are taken over.
func feathersWords(f bench.Feathers) string {
	if f == bench.FeathersNone {
		return "of the bare leg"
	}
	return string(f) + " the feathers"
}

// found reports whether the bird wore a band already.
func found(h bench.Handling) bool {
	return slices.ContainsFunc(h.Bands, func(b bench.Band) bool { return b.Found })
}

// measuringKey takes the keys that say how the leg is measured; it reports
// whether r is one.
func (t *turn) measuringKey(h bench.Handling, r rune) bool {
	m := &t.s.Desk.Taking
	switch {
	case r == 'c':
		m.Cross, m.Wall = !m.Cross, false
	case r == 'f':
		m.Feathers = nextFeathers(m.Feathers)
	case r == 'g':
		t.question(AskSlot)
	case r == 'w' && found(h):
		m.Wall, m.Cross = !m.Wall, false
	default:
		return false
	}
	return true
}

// slotEntered takes the slot of the leg gauge that fits, and goes on to the
// size; a slot that is named as a size is stands there ready to be taken.
func (t *turn) slotEntered() {
	slot := strings.Join(strings.Fields(t.s.Desk.Typed), " ")
	if slot == "" {
		return
	}
	t.s.Desk.Taking.Slot = slot
	t.turnTo(StepSize)
	t.quiet()
	if i := slices.IndexFunc(t.s.offered(), func(c fit.Candidate) bool { return strings.EqualFold(c.Size, slot) }); i >= 0 {
		t.s.Desk.Row = i
		t.s.Desk.Taking.Slot = t.s.offered()[i].Size
	}
}

// keyTooSmall lets the bird go unbanded because no band fits it yet.
const keyTooSmall = 'n'

// The reasons that the key states.
const (
	tooSmall = "not banded, too small"
	noMetal  = "not banded, no metal leg band for this species"
)

// maybeTooSmall reports whether the key is offered: for a young bird, and for
// one that no size of the catalogue fits.
func (s State) maybeTooSmall(h bench.Handling) bool {
	if _, on := h.CurrentBand(); on {
		return false
	}
	if fit.Young(h.Bird.Age) {
		return true
	}
	result, err := s.Bench.Fit(h)
	return err == nil && result.Best == ""
}

// letGoTooSmall records the fate of a bird that is too small for a band.
func (t *turn) letGoTooSmall(h bench.Handling) {
	if !t.s.maybeTooSmall(h) {
		return
	}
	reason := tooSmall
	if sp, known := t.s.Bench.Setup.Book.SpeciesNamed(h.Bird.Species); known && sp.NoMetalBand {
		reason = noMetal
	}
	t.tellFate(bench.FateUnbanded, reason)
}

// methodWords says how the size was chosen where it was not by readings.
func methodWords(c bench.SizeChosen) string {
	switch c.Method {
	case bench.MethodLegGauge:
		return "leg gauge, slot " + c.Slot
	case bench.MethodEstablished:
		return "established size, not measured"
	case bench.MethodNotMeasured:
		return "not measured"
	default:
		return ""
	}
}

// unmeasuredLines say above the sizes what the choice would rest on without
// readings.
func (v *view) unmeasuredLines(columns int) []line {
	if slot := v.s.Desk.Taking.Slot; slot != "" {
		return []line{words("Leg gauge: slot " + slot + ".")}
	}
	if v.measured {
		return nil
	}
	for _, r := range v.s.Bench.Listed(v.h) {
		if v.s.Bench.Established(v.h, r.Size) {
			return wrapped("", "Established for this species by the settings: its listed size is taken without measuring.", plain, columns)
		}
	}
	return nil
}
