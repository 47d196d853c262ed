package bench

import (
	"slices"
	"strings"

	"seamfit/internal/length"
)

// openShift begins a shift. The table of sizes that it works by is part of its
// record, also where it goes without saying.
func (a *applying) openShift(c OpenShift) []Blocker {
	if c.Shift.Catalogue == "" {
		c.Shift.Catalogue = a.state.Setup.Catalogue
	}
	if _, ok := a.state.Setup.Book.Catalogue(c.Shift.Catalogue); !ok {
		return refuse(CatalogueUnknown, "No catalogue %q is known: name one of the embedded ones, or your own in the settings.", c.Shift.Catalogue)
	}
	c.Shift.ClockBehind = a.state.ClockBehind(a.head("").Entered)
	people := slices.Concat(c.Shift.People, a.state.Setup.People)
	c.Shift.People = nil
	a.record(ShiftOpened{Head: a.head(""), Shift: c.Shift})
	for _, p := range people {
		if a.state.Shift.People.Role(p.Name) != "" {
			continue // what is told of the shift goes before the settings
		}
		if blockers := a.tellShift(TellShift{Detail: p}); blockers != nil {
			return blockers
		}
	}
	return nil
}

func (a *applying) openBird(c OpenBird) []Blocker {
	if a.state.Shift == nil {
		return refuse(NoShift, "No shift is open: say the place, the bander and the permit first.")
	}
	if _, exists := a.state.Handling(c.ID); exists || c.ID == "" {
		return refuse(HandlingExists, "That bird is open already: go on with it, or begin another.")
	}
	bird, blockers := cleanBird(c.Bird)
	if blockers != nil {
		return blockers
	}
	a.record(BirdTold{Head: a.head(c.ID), Shift: a.state.Shift.ID, Bird: bird})
	return nil
}

func (a *applying) describeBird(h Handling, c DescribeBird) []Blocker {
	bird, blockers := cleanBird(c.Bird)
	if blockers != nil {
		return blockers
	}
	if bird == h.Bird {
		return nil
	}
	if h.Complete && c.Why == "" {
		return refuse(ReasonMissing, "This record is complete: say why it is corrected.")
	}
	head := a.head(h.ID)
	if h.Complete {
		head.Replaces, head.Why = 1, c.Why
	}
	a.record(BirdTold{Head: head, Shift: h.Shift, Bird: bird})
	return nil
}

// cleanBird trims what was typed and sets the site that goes without saying.
func cleanBird(b Bird) (Bird, []Blocker) {
	b.Species, b.Age, b.Sex = strings.TrimSpace(b.Species), cleanWord(b.Age), cleanWord(b.Sex)
	if b.Site == "" {
		b.Site = SiteBelow
	}
	if b.Leg != LegUnsaid && b.Leg != LegLeft && b.Leg != LegRight {
		return b, refuse(BadSide, "A leg is left or right, not %q.", string(b.Leg))
	}
	if b.Site != SiteBelow && b.Site != SiteAbove {
		return b, refuse(BadSide, "A band sits below or above the joint, not %q.", string(b.Site))
	}
	return b, nil
}

// cleanWord trims an age or a sex, and knows the words for one that can't be told.
func cleanWord(word string) string {
	word = strings.TrimSpace(word)
	if strings.EqualFold(word, NotKnown) || strings.EqualFold(word, "unknown") {
		return NotKnown
	}
	return word
}

func (a *applying) takeReading(h Handling, c TakeReading) []Blocker {
	limit, is := a.state.Setup.AbsurdOver, "wide"
	if c.Axis.along() {
		limit, is = longestTarsus, "long"
	}
	if c.Value <= 0 || c.Value > limit {
		mend := "zero the caliper with its jaws closed and measure again"
		if c.Means == MeansTyped {
			mend = "type it again, with its decimal mark"
		}
		return refuse(WidthAbsurd, "A leg is not %s %s (above 0 and up to %s is taken): %s.", c.Value, is, limit, mend)
	}
	if c.Means == MeansCaliper && !h.InHand() {
		return refuse(LeftTheHand, "This bird has left the hand, so the reading can't be its leg: begin the next bird, or type a width that was measured before.")
	}
	if c.Axis == "" {
		c.Axis = AxisGreatest
	}
	if blockers := readingKind(h, c); blockers != nil {
		return blockers
	}
	a.record(ReadingTaken{
		Head: a.head(h.ID), Axis: c.Axis, Means: c.Means, Raw: c.Raw, Value: c.Value, Unit: c.Unit,
		UnitAssumed: c.UnitAssumed, Resolution: c.Resolution, Device: c.Device, Channel: c.Channel,
		Feathers: c.Feathers,
	})
	a.reweigh(h.ID)
	return nil
}

// longestTarsus bounds what is measured along a leg (bench setting).
const longestTarsus = 300 * length.Millimetre

// readingKind refuses a reading of something that no bird has.
func readingKind(h Handling, c TakeReading) []Blocker {
	switch {
	case !slices.Contains(Axes(), c.Axis):
		return refuse(AxisUnknown, "A reading is of the greatest or the cross width, the upper or the lower stop, the usable tarsus, other marks, or a found band's wall, not %q.", string(c.Axis))
	case !slices.Contains([]Feathers{FeathersNone, FeathersOver, FeathersUnder}, c.Feathers):
		return refuse(FeathersUnknown, "A leg is measured bare, over its feathers or under them, not %q.", string(c.Feathers))
	case c.Axis == AxisWall && !slices.ContainsFunc(h.Bands, func(b Band) bool { return b.Found }):
		return refuse(BandMissing, "A wall is measured on a band that the bird wore already: tell the found band first.")
	default:
		return nil
	}
}

// TypedReading returns the command for a width that a person typed, with the
// step of its last digit as the resolution.
func TypedReading(w When, text string, u length.Unit) (TakeReading, error) {
	typed, err := length.ParsePerson(text, u)
	if err != nil {
		return TakeReading{}, err
	}
	return TakeReading{
		When: w, Means: MeansTyped, Raw: []byte(text),
		Value: typed.Value, Unit: typed.Unit, Resolution: typed.Step,
	}, nil
}

func (a *applying) setAside(h Handling, c SetAside) []Blocker {
	if c.Reading < 1 || c.Reading > len(h.Readings) {
		return refuse(NoSuchReading, "This bird has no reading %d: it has %d.", c.Reading, len(h.Readings))
	}
	if strings.TrimSpace(c.Reason) == "" {
		return refuse(ReasonMissing, "A reading is set aside only with the reason: say what was wrong with it.")
	}
	reading := h.Readings[c.Reading-1]
	if reading.SetAside != "" {
		return nil
	}
	reason := strings.TrimSpace(c.Reason)
	head := a.head(h.ID)
	if h.Complete {
		head.Replaces, head.Why = reading.Seq, reason
	}
	a.record(ReadingSetAside{Head: head, Reading: reading.Seq, Reason: reason})
	if h.Complete {
		a.correctEstimate(h.ID, reason)
		return nil
	}
	a.reweigh(h.ID)
	return nil
}

// correctEstimate estimates the leg of a complete record anew from the readings
// that count now. The choice of size stays as it was made.
func (a *applying) correctEstimate(handling, why string) {
	h, _ := a.state.Handling(handling)
	told, ok := a.estimated(h)
	if !ok || h.Estimate == nil {
		return
	}
	told.Replaces, told.Why = h.Estimate.Seq, why
	a.record(told)
}

// estimate records the leg estimate where readings have come since the last
// one, and returns its sequence; 0 when nothing is measured.
func (a *applying) estimate(h Handling) int {
	_, seqs := h.Counted()
	if len(seqs) == 0 {
		return 0
	}
	if h.Estimate != nil && slices.Equal(h.Estimate.Readings, seqs) {
		return h.Estimate.Seq
	}
	told, ok := a.estimated(h)
	if !ok {
		return 0
	}
	return a.record(told)
}

// estimated returns the leg estimate from the readings that count; false when
// they give none.
func (a *applying) estimated(h Handling) (LegEstimated, bool) {
	_, seqs := h.Counted()
	result, err := a.state.Fit(h)
	if err != nil {
		return LegEstimated{}, false
	}
	told := LegEstimated{
		Head: a.head(h.ID), Leg: result.Leg, Agreement: result.Agreement, Readings: seqs,
		CalibrationState: a.state.Setup.calibratedFor(h), Feathers: h.Feathers(),
	}
	if told.CalibrationState != CalibrationMissing {
		told.Calibration = a.state.Setup.Calibration.ID
	}
	return told, true
}
