package bench

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"
)

// ShiftDetail is something about a shift beside its first line: a Person, the
// Point where it stands, a WatchCheck or an Instrument.
type ShiftDetail interface {
	// Kind names the detail in the records.
	Kind() string
	clean() (ShiftDetail, []Blocker)
}

// Point is where a place lies, in decimal degrees as they were told, with how
// surely in metres ("" where nobody knows) and the datum that they refer to.
type Point struct {
	Latitude  string `json:"latitude"`
	Longitude string `json:"longitude"`
	AccuracyM string `json:"accuracy_m"`
	Datum     string `json:"datum"`
}

// Words say where the point is.
func (p Point) Words() string {
	text := "latitude " + p.Latitude + ", longitude " + p.Longitude
	if p.AccuracyM != "" {
		text += ", within " + p.AccuracyM + " m"
	}
	return text + " (" + p.Datum + ")"
}

// WatchCheck is what a person's watch showed when the bench's clock showed
// Clock.
type WatchCheck struct {
	Watch time.Time `json:"watch"`
	Clock time.Time `json:"clock"`
}

// Behind returns by how much the clock stands behind the watch; below 0: before
// it.
func (w WatchCheck) Behind() time.Duration { return w.Watch.Sub(w.Clock) }

// Words say how the clock stands to the watch, to the second: no eye reads a
// watch more finely.
func (w WatchCheck) Words() string {
	behind := w.Behind().Round(time.Second)
	switch {
	case behind == 0:
		return "clock and watch agree"
	case behind > 0:
		return "the clock is " + behind.String() + " behind the watch"
	default:
		return "the clock is " + behind.Abs().String() + " ahead of the watch"
	}
}

// Instrument is a caliper, a balance, or whatever else is used in a shift.
type Instrument struct {
	What string `json:"kind"`
	Name string `json:"name"`
	Note string `json:"note"`
}

// Kind returns "person".
func (Person) Kind() string { return "person" }

// Kind returns "place".
func (Point) Kind() string { return "place" }

// Kind returns "watch".
func (WatchCheck) Kind() string { return "watch" }

// Kind returns "instrument".
func (Instrument) Kind() string { return "instrument" }

func (p Person) clean() (ShiftDetail, []Blocker) {
	p.Name = strings.Join(strings.Fields(p.Name), " ")
	if p.Name == "" {
		return p, refuse(NameMissing, "Say who it is: a person of the shift has a name.")
	}
	if !slices.Contains(Roles(), p.Role) {
		return p, refuse(RoleUnknown, "Nobody has the role %q in a shift: say bander, scribe, trainee, supervisor or permit holder.", string(p.Role))
	}
	return p, nil
}

// usualDatum is that of satellite receivers.
const usualDatum = "WGS 84"

var (
	degrees = regexp.MustCompile(`^-?[0-9]{1,3}(\.[0-9]{1,9})?$`)
	metres  = regexp.MustCompile(`^[0-9]{1,6}(\.[0-9]{1,9})?$`)
)

func (p Point) clean() (ShiftDetail, []Blocker) {
	mark := strings.NewReplacer(",", ".", " ", "")
	p.Latitude, p.Longitude, p.AccuracyM = mark.Replace(p.Latitude), mark.Replace(p.Longitude), mark.Replace(p.AccuracyM)
	if p.Datum = strings.TrimSpace(p.Datum); p.Datum == "" {
		p.Datum = usualDatum
	}
	for _, angle := range []struct {
		what, text string
		most       float64
	}{{"latitude", p.Latitude, 90}, {"longitude", p.Longitude, 180}} {
		value, err := strconv.ParseFloat(angle.text, 64)
		if err != nil || !degrees.MatchString(angle.text) || value < -angle.most || value > angle.most {
			return p, refuse(PointUnclear, "%q is no %s: write decimal degrees from -%g to %g, south and west with a minus, like 56.184.", angle.text, angle.what, angle.most, angle.most)
		}
	}
	if p.AccuracyM != "" && !metres.MatchString(p.AccuracyM) {
		return p, refuse(PointUnclear, "%q is no accuracy: write metres, like 5, or leave it out.", p.AccuracyM)
	}
	return p, nil
}

func (w WatchCheck) clean() (ShiftDetail, []Blocker) {
	if w.Watch.IsZero() || w.Clock.IsZero() {
		return w, refuse(WatchUnclear, "Say what the watch shows, like 06:31:20, beside the time of the bench's clock.")
	}
	return w, nil
}

func (i Instrument) clean() (ShiftDetail, []Blocker) {
	i.What, i.Name, i.Note = strings.TrimSpace(i.What), strings.TrimSpace(i.Name), strings.TrimSpace(i.Note)
	if i.What == "" || i.Name == "" {
		return i, refuse(NameMissing, "Say which instrument it is: what it is, and what it is called here.")
	}
	return i, nil
}

// TellShift tells a detail of the shift that is open.
type TellShift struct {
	When
	Detail ShiftDetail
}

// ShiftTold is a detail of a shift. Its Head has no handling; Seq counts within
// the shift. The last place and watch check stand.
type ShiftTold struct {
	Head
	Shift  string
	Detail ShiftDetail
}

func (a *applying) tellShift(c TellShift) []Blocker {
	shift := a.state.Shift
	if shift == nil {
		return refuse(NoShift, "No shift is open: say the place, the bander and the permit first.")
	}
	if c.Detail == nil {
		return refuse(NameMissing, "Say what is told of the shift: a person, its place, a watch or an instrument.")
	}
	detail, blockers := c.Detail.clean()
	if blockers != nil {
		return blockers
	}
	if p, ok := detail.(Person); ok {
		switch role := shift.People.Role(p.Name); {
		case role == p.Role:
			return nil
		case role != "":
			return refuse(RoleTaken, "%s is %s in this shift: a person has one role in a shift.", p.Name, role)
		case p.Role == RoleTrainee && a.hasConfirmed(p.Name):
			return refuse(RoleTaken, "%s has confirmed a closing in this shift: a trainee is told before that.", p.Name)
		}
	}
	a.recordDetail(detail)
	return nil
}

func (a *applying) recordDetail(detail ShiftDetail) {
	head := a.head("")
	head.Seq = a.state.Shift.Told + 1
	a.record(ShiftTold{Head: head, Shift: a.state.Shift.ID, Detail: detail})
}

// hasConfirmed reports whether somebody said anything of a closing of this shift,
// of an open bird or since the bench was started. The records know of the others
// and refuse it for them.
func (a *applying) hasConfirmed(name string) bool {
	same := func(by string) bool { return strings.EqualFold(by, name) }
	return slices.ContainsFunc(a.state.spoke, same) || slices.ContainsFunc(a.state.Handlings, func(h Handling) bool {
		return h.Shift == a.state.Shift.ID && slices.ContainsFunc(h.Confirmation.By, same)
	})
}

// With returns the shift with one more detail.
func (s Shift) With(f ShiftTold) Shift {
	s.Told = f.Seq
	switch d := f.Detail.(type) {
	case Person:
		s.People = append(slices.Clone(s.People), d)
	case Point:
		s.Point = &d
	case WatchCheck:
		s.Watch = &d
	case Instrument:
		s.Instruments = append(slices.Clone(s.Instruments), d)
	default:
		panic(fmt.Sprintf("bench: a detail of type %T", d))
	}
	return s
}

// Details say what was told of the shift beside its place, people in charge and
// permit, a line each.
func (s Shift) Details() (lines []string) {
	if p := s.Point; p != nil {
		lines = append(lines, p.Words())
	}
	for _, p := range s.People {
		lines = append(lines, string(p.Role)+" "+p.Name)
	}
	if w := s.Watch; w != nil {
		lines = append(lines, fmt.Sprintf("%s, compared at %s", w.Words(), w.Clock.Format("15:04:05")))
	}
	for _, i := range s.Instruments {
		lines = append(lines, strings.TrimSuffix(fmt.Sprintf("%s %s: %s", i.What, i.Name, i.Note), ": "))
	}
	return lines
}
