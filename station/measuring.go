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
	Next     bench.Axis     // of the next reading alone; empty: the leg width
	Feathers bench.Feathers // until it is said anew
	Slot     string         // of the leg gauge, until a size is chosen
}

// axis returns the axis of the next reading.
func (m Taking) axis() bench.Axis {
	if m.Next == "" {
		return bench.AxisGreatest
	}
	return m.Next
}

// taken returns what the readings after this one are of.
func (m Taking) taken() Taking {
	m.Next = ""
	return m
}

// axisKey is a key of the leg step that says what the next reading is of, how
// the key names it, what the person is asked for, and the word behind the
// reading.
type axisKey struct {
	choice
	axis         bench.Axis
	prompt, word string
}

func axisKeys() []axisKey {
	return []axisKey{
		{choice{'c', "cross width"}, bench.AxisCross, "Now the cross width: turn the caliper by a quarter and press its button.", "across"},
		{choice{'u', "upper stop"}, bench.AxisUpperStop, "Now the upper stop: the joint above the band, on its widest axis.", "upper stop"},
		{choice{'l', "lower stop"}, bench.AxisLowerStop, "Now the lower stop: the folded foot below the band, on its widest axis.", "lower stop"},
		{choice{'s', "usable tarsus"}, bench.AxisTarsus, "Now the usable tarsus: along the leg, between joint and foot, as far as bands may go.", "long"},
		{choice{'o', "other marks"}, bench.AxisMarks, "Now the other marks on this leg: their height along it, all together.", "other marks"},
		{choice{'w', "wall of the found band"}, bench.AxisWall, "Now the wall of the band that the bird wears: its edge between the jaws, away from the seam.", "wall"},
	}
}

// axisKeysFor returns those that there are for a bird: the wall is that of a
// band that it wears already.
func axisKeysFor(h bench.Handling) []axisKey {
	return slices.DeleteFunc(axisKeys(), func(k axisKey) bool { return k.axis == bench.AxisWall && !found(h) })
}

// axisKeyOf returns the key of an axis; false for the leg width, which needs none.
func axisKeyOf(axis bench.Axis) (axisKey, bool) {
	keys := axisKeys()
	i := slices.IndexFunc(keys, func(k axisKey) bool { return k.axis == axis })
	if i < 0 {
		return axisKey{}, false
	}
	return keys[i], true
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
	switch r {
	case 'f':
		m.Feathers = nextFeathers(m.Feathers)
		return true
	case 'g':
		t.question(AskSlot)
		return true
	}
	for _, k := range axisKeysFor(h) {
		if k.key != r {
			continue
		}
		if m.Next == k.axis {
			m.Next = "" // pressed again: the leg width after all
		} else {
			m.Next = k.axis
		}
		return true
	}
	return false
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
	if v.s.Bench.EstablishedInVain(v.h) {
		return wrapped("! ", "The settings take this species' listed size unmeasured, but its list here is not verified: measure the leg, or bring in your office's list.", wrong, columns)
	}
	for _, r := range v.s.Bench.Listed(v.h) {
		if v.s.Bench.Established(v.h, r.Size) {
			return wrapped("", "Established for this species by the settings: its listed size is taken without measuring.", plain, columns)
		}
	}
	return nil
}
