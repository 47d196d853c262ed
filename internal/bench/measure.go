package bench

import (
	"regexp"
	"slices"
	"strconv"
	"strings"

	"seamfit/internal/catalogue"
	"seamfit/internal/length"
)

// FurtherMeasure is one that the bench takes beside the leg, as its settings
// name it: tarsus length, head and bill, wing, mass. Method says how it is
// taken; a value above AtMost, in the unit, is refused as a slip (0: none is).
type FurtherMeasure struct {
	Name, Unit, Method string
	AtMost             float64
}

// YearsWorn is the further measure that every bench takes of a band that a bird
// came back with: how long the bird has worn it, by records elsewhere.
const YearsWorn = "years worn"

// yearsWorn is that measure, in the unit that UCUM writes "a".
func yearsWorn() FurtherMeasure {
	return FurtherMeasure{Name: YearsWorn, Unit: "a", Method: "of the found band, by the records of who put it on", AtMost: 80}
}

// FurtherOf returns the further measures that can be taken of a bird: those that
// the settings name, and of one that wore a band already the years that it did.
func (s *Setup) FurtherOf(h Handling) []FurtherMeasure {
	if !slices.ContainsFunc(h.Bands, func(b Band) bool { return b.Found }) {
		return s.Further
	}
	return append(slices.Clone(s.Further), yearsWorn())
}

// Length returns the unit of a measure that a caliper can take.
func (m FurtherMeasure) Length() (length.Unit, bool) {
	unit, err := length.ParseUnit(m.Unit)
	return unit, err == nil && unit != length.UnknownUnit
}

// TakeMeasure records a further measure. Value is a plain decimal in the unit
// that the settings give it. One that is told already is corrected by a new one
// with its reason.
type TakeMeasure struct {
	When
	Name       string
	Means      Means // empty: typed
	Raw        []byte
	Value      string
	Resolution string // in the measure's unit; empty: not known
	Device     string
	Channel    string
	Why        string
}

// MeasureTaken is a further measure, with the bytes that it came from. It is
// never taken together with leg widths. A corrected one names in Replaces the
// one before.
type MeasureTaken struct {
	Head
	Name       string
	Means      Means
	Raw        []byte
	Value      string
	Unit       string
	Resolution string
	Device     string
	Channel    string
}

// Measure returns the measure of that name as it stands.
func (h Handling) Measure(name string) (MeasureTaken, bool) {
	i := slices.IndexFunc(h.Measures, func(m MeasureTaken) bool { return strings.EqualFold(m.Name, name) })
	if i < 0 {
		return MeasureTaken{}, false
	}
	return h.Measures[i], true
}

// FurtherNamed returns the further measure that the settings give that name.
func (s *Setup) FurtherNamed(name string) (FurtherMeasure, bool) {
	name = strings.Join(strings.Fields(name), " ")
	i := slices.IndexFunc(s.Further, func(m FurtherMeasure) bool { return strings.EqualFold(m.Name, name) })
	switch {
	case i >= 0:
		return s.Further[i], true
	case strings.EqualFold(name, YearsWorn):
		return yearsWorn(), true
	default:
		return FurtherMeasure{}, false
	}
}

// MeasureByCaliper returns the command for a further measure that a caliper
// sent, in the unit of the measure, with the reading's step as its resolution.
func MeasureByCaliper(w When, m FurtherMeasure, r TakeReading) (TakeMeasure, bool) {
	unit, ok := m.Length()
	if !ok {
		return TakeMeasure{}, false
	}
	decimals := length.Decimals(r.Resolution, unit)
	return TakeMeasure{
		When: w, Name: m.Name, Means: MeansCaliper, Raw: r.Raw, Value: r.Value.Format(unit, decimals),
		Resolution: r.Resolution.Format(unit, decimals), Device: r.Device, Channel: r.Channel,
	}, true
}

var plainDecimal = regexp.MustCompile(`^[0-9]{1,9}(\.[0-9]{1,9})?$`)

func (a *applying) takeMeasure(h Handling, c TakeMeasure) []Blocker {
	m, known := a.state.Setup.FurtherNamed(c.Name)
	if !known {
		return refuse(MeasureUnknown, "The settings name no measure %q: %s.", c.Name, a.state.Setup.furtherWords())
	}
	if m.Name == YearsWorn && len(a.state.Setup.FurtherOf(h)) == len(a.state.Setup.Further) {
		return refuse(BandMissing, "The years are those of a band that the bird wore already: tell the found band first.")
	}
	text := strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(c.Value), m.Unit))
	text = strings.ReplaceAll(text, ",", ".")
	value, err := strconv.ParseFloat(text, 64)
	if err != nil || !plainDecimal.MatchString(text) || value <= 0 {
		return refuse(MeasureUnclear, "%q is no %s: write a number above 0 in %s, like 12.5.", c.Value, m.Name, m.Unit)
	}
	if m.AtMost > 0 && value > m.AtMost {
		return refuse(MeasureAbsurd, "%s of %s %s is over the %g %s that the settings allow: measure again.", catalogue.Capital(m.Name), text, m.Unit, m.AtMost, m.Unit)
	}
	if c.Means == "" {
		c.Means = MeansTyped
	}
	if c.Means == MeansCaliper && !h.InHand() {
		return refuse(LeftTheHand, "This bird has left the hand, so the reading can't be its: begin the next bird, or type what was measured before.")
	}
	head, why := a.head(h.ID), strings.TrimSpace(c.Why)
	before, told := h.Measure(m.Name)
	switch {
	case told && before.Value == text:
		return nil
	case told && why == "":
		return refuse(ReasonMissing, "%s is told already, as %s %s: give the reason why it is corrected.", catalogue.Capital(m.Name), before.Value, before.Unit)
	case h.Complete && why == "":
		return refuse(ReasonMissing, "This record is complete: say why the measure is added.")
	case told:
		head.Replaces = before.Seq
	}
	head.Why = why
	a.record(MeasureTaken{
		Head: head, Name: m.Name, Means: c.Means, Raw: c.Raw, Value: text, Unit: m.Unit, Resolution: c.Resolution,
		Device: c.Device, Channel: c.Channel,
	})
	return nil
}

func (s *Setup) furtherWords() string {
	if len(s.Further) == 0 {
		return "name it under [[measure.further]] there"
	}
	names := make([]string, len(s.Further))
	for i, m := range s.Further {
		names[i] = m.Name
	}
	return "they have " + strings.Join(names, ", ")
}

// foldMeasure puts a measure in the place of the one that it corrects.
func (h *Handling) foldMeasure(f MeasureTaken) {
	for i, m := range h.Measures {
		if strings.EqualFold(m.Name, f.Name) {
			h.Measures[i] = f
			return
		}
	}
	h.Measures = append(h.Measures, f)
}
