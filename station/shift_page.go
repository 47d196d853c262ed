package station

import (
	"fmt"
	"strings"
	"time"

	"seamfit/internal/bench"
	"seamfit/internal/catalogue"
)

// Usual is what usually holds for a shift of the bench. The first lines are
// taken with Enter when one is opened; the details are told with it, the point
// only at the usual place.
type Usual struct {
	Place, Bander, Permit, Scribe string
	Point                         *bench.Point
	Details                       []bench.ShiftDetail
}

// watchApart is from how far apart of clock and watch on the bench says so.
const watchApart = time.Minute

// shiftKeys are the keys of the shift's page, with the questions they put.
func (s State) shiftKeys() []choice {
	keys := []choice{{'p', "where the bench stands"}, {'n', "a person"}, {'i', "an instrument"}}
	if !s.late() {
		keys = append([]choice{{'w', "compare the clock with a watch"}}, keys...)
	}
	return keys
}

// shiftPage shows what was told of the shift, at any time while it is open.
func (t *turn) shiftPage() {
	if t.s.Front.Cautions || t.s.Bench.Shift == nil || !t.s.sheetTold() {
		return
	}
	t.quiet()
	t.s.Front.Stage, t.s.Front.Typed = AskShift, ""
}

// offShiftPage leaves the page and its questions for the bench.
func (t *turn) offShiftPage() {
	switch t.s.Front.Stage {
	case AskShift, AskWatch, AskPoint, AskPerson, AskRole, AskInstrument:
		t.s.Front.Stage, t.s.Front.Typed = AskPlace, ""
	}
}

// shiftKey takes a key of the page, or the role of the person who was named.
func (t *turn) shiftKey(a Ask, r rune) {
	if a == AskRole {
		for _, c := range roleKeys() {
			if c.key == r {
				t.tellShift(bench.Person{Name: t.s.Front.Typed, Role: bench.Role(c.words)})
			}
		}
		return
	}
	stage, known := map[rune]Ask{'w': AskWatch, 'p': AskPoint, 'n': AskPerson, 'i': AskInstrument}[r]
	if _, offered := wordsOf(t.s.shiftKeys(), r); known && offered {
		t.s.Front.Stage, t.s.Front.Typed = stage, ""
	}
}

func roleKeys() []choice {
	var names []string
	for _, role := range bench.Roles() {
		names = append(names, string(role))
	}
	return lettered(names, names, "")
}

// shiftEntered takes Enter at the page, or at one of its lines.
func (t *turn) shiftEntered(a Ask) {
	text := strings.TrimSpace(t.s.Front.Typed)
	switch {
	case a == AskShift:
		t.offShiftPage()
	case text == "":
		t.shiftPage()
	case a == AskWatch:
		watch, ok := watchTime(text, t.at)
		if !ok {
			t.refuse([]bench.Blocker{{Code: CodeNotATime, Mend: "That is no time of day: type what the watch shows, like 06:31:20 or 06:31."}})
			return
		}
		t.tellShift(bench.WatchCheck{Watch: watch, Clock: t.at})
	case a == AskPoint:
		t.tellShift(pointOf(text))
	case a == AskPerson:
		t.s.Front.Stage = AskRole
	case a == AskInstrument:
		kind, rest, _ := strings.Cut(text, ",")
		name, note, _ := strings.Cut(rest, ",")
		t.tellShift(bench.Instrument{What: kind, Name: name, Note: note})
	}
}

// tellShift tells a detail, and goes back to the page.
func (t *turn) tellShift(d bench.ShiftDetail) {
	if blockers := t.do(bench.TellShift{When: t.stamp(t.at, t.s.Bander), Detail: d}, ""); blockers != nil {
		t.refuse(blockers)
		return
	}
	t.shiftPage()
	t.bell(BellCapture)
}

// tellUsual tells, with a new shift, what the settings say of every shift.
func (t *turn) tellUsual(place string) {
	u := t.s.Options.Usual
	details := u.Details
	if u.Point != nil && strings.EqualFold(place, u.Place) {
		details = append([]bench.ShiftDetail{*u.Point}, details...)
	}
	for _, d := range details {
		if p, is := d.(bench.Person); is && t.s.Bench.Shift.People.Role(p.Name) != "" {
			continue // one role in a shift, and they have one
		}
		if blockers := t.do(bench.TellShift{When: t.stamp(t.at, t.s.Bander), Detail: d}, ""); blockers != nil {
			t.refuse(blockers)
		}
	}
}

// pointOf reads "latitude, longitude, accuracy in metres, datum"; the last two
// may be left out. A comma is a decimal mark only where semicolons divide.
func pointOf(text string) bench.Point {
	mark := ","
	if strings.Contains(text, ";") {
		mark = ";"
	}
	parts := append(strings.SplitN(text, mark, 4), "", "", "")
	for i, part := range parts {
		parts[i] = strings.TrimSpace(part)
	}
	accuracy := strings.TrimSpace(strings.TrimSuffix(parts[2], "m"))
	return bench.Point{Latitude: parts[0], Longitude: parts[1], AccuracyM: accuracy, Datum: parts[3]}
}

// watchTime reads what a watch shows as the such time next to the clock's.
// Without seconds only the minutes are compared.
func watchTime(text string, clock time.Time) (time.Time, bool) {
	read, toSecond, ok := timeOfDay(text)
	if !ok {
		return time.Time{}, false
	}
	second := read.Second()
	if !toSecond {
		second = clock.Second()
	}
	at := time.Date(clock.Year(), clock.Month(), clock.Day(), read.Hour(), read.Minute(), second, 0, clock.Location())
	switch apart := at.Sub(clock); {
	case apart > 12*time.Hour:
		at = at.AddDate(0, 0, -1)
	case apart < -12*time.Hour:
		at = at.AddDate(0, 0, 1)
	}
	return at, true
}

// watchBanner warns as long as the clock stood far from the watch.
func (v *view) watchBanner(columns int) []line {
	shift := v.s.Bench.Shift
	if shift == nil || shift.Watch == nil || shift.Watch.Behind().Abs() <= watchApart {
		return nil
	}
	text := catalogue.Capital(shift.Watch.Words()) + ": set it right, then compare again (Ctrl+P)."
	return wrapped("! ", text, wrong, columns)
}

// shiftPageLines show what was told of the shift, and ask for more.
func (v *view) shiftPageLines(a Ask) []line {
	columns := v.width - 4
	shift := v.s.Bench.Shift
	told := [][2]string{
		{"place", shift.Place},
		{"permit", shift.Permit},
		{"bander", shift.Bander},
		{"scribe", shift.Scribe},
		{"position", "not told"},
		{"watch", "not compared yet"},
	}
	if shift.Point != nil {
		told[4][1] = shift.Point.Words()
	}
	if shift.Watch != nil {
		told[5][1] = shift.Watch.Words() + ", at " + clock(shift.Watch.Clock)
	}
	for _, p := range shift.People {
		told = append(told, [2]string{string(p.Role), p.Name})
	}
	for _, i := range shift.Instruments {
		told = append(told, [2]string{i.What, strings.TrimSpace(i.Name + " " + i.Note)})
	}
	var lines []line
	for _, t := range told {
		if t[1] != "" {
			lines = append(lines, wrapped(fmt.Sprintf("%-14s ", t[0]), t[1], plain, columns)...)
		}
	}
	most := max(v.height-14, 6)
	if len(lines) > most {
		lines = shorten(lines, most)
	}
	lines = append(append(lines, line{}), v.shiftQuestion(a, columns)...)
	return append(lines, v.refusals(columns)...)
}

func (v *view) shiftQuestion(a Ask, columns int) []line {
	typed := v.s.Front.Typed
	switch a {
	case AskWatch:
		return []line{say(piece{"The clock says " + clock(v.s.Now) + ". What does your watch say? Enter takes it.", strong}), fieldLine("watch:", typed)}
	case AskPoint:
		return append(wrapped("", "Latitude, longitude, how surely in metres, and the datum if it is another than WGS 84: 56.184, -4.012, 5", plain, columns), fieldLine("position:", typed))
	case AskPerson:
		return []line{words("Who is it?"), fieldLine("name:", typed)}
	case AskRole:
		return append([]line{words(typed + " is the shift's:")}, choicesIn(roleKeys(), columns)...)
	case AskInstrument:
		return append(wrapped("", "What it is, what it is called here, and anything worth keeping: balance, B-2, checked against 100 g", plain, columns), fieldLine("instrument:", typed))
	default:
		return append(choicesIn(v.s.shiftKeys(), columns), say(piece{"Enter", key}, piece{" goes back to the bench", plain}))
	}
}
