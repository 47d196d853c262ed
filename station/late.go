package station

import (
	"errors"
	"fmt"
	"strings"
	"time"

	"seamfit/internal/bench"
	"seamfit/internal/catalogue"
)

// Sheet is the sheet of paper that is typed in, when the station was started
// for that. Each fact then has the bird's time on the sheet as when it
// happened and now as when it was entered, and the sheet's bander beside who
// types.
type Sheet struct {
	Began  time.Time // its date, and the earliest time on it; zero: not told yet
	Typist string
}

// late reports whether a sheet is typed in, or is about to be.
func (s State) late() bool { return s.Options.Late }

// sheetTold reports whether a sheet's birds can be entered: the station waits
// for none, or knows its date and who types.
func (s State) sheetTold() bool {
	return !s.late() || !s.Sheet.Began.IsZero() && s.Sheet.Typist != "" && s.Front.Stage != AskSheetShift
}

func sheetNotTold() []bench.Blocker {
	return []bench.Blocker{{Code: bench.NoShift, Mend: "Finish this page first: the sheet's date, and who types it in."}}
}

// stamp makes the head of a command about what happened at a time: now, but for
// what is typed in from a sheet.
func (t *turn) stamp(happened time.Time, by string) bench.When {
	if !t.s.late() {
		return bench.When{At: t.at, By: by}
	}
	return bench.When{At: happened, Entered: t.at, By: by, Typed: t.s.Sheet.Typist}
}

// lateEntered takes Enter at a question about a sheet.
func (t *turn) lateEntered(a Ask) {
	f := &t.s.Front
	text := strings.TrimSpace(f.Typed)
	if text == "" && a != AskLeftAt {
		t.refuse([]bench.Blocker{{Code: CodeNotTyped, Mend: "This line is needed: type it, then Enter."}})
		return
	}
	t.quiet()
	switch a {
	case AskSheetDate:
		began, err := sheetDate(text, t.at)
		if err != nil {
			t.refuse(notATime(err))
			return
		}
		t.s.Sheet.Began, f.Stage, f.Typed = began, AskTypist, ""
	case AskTypist:
		t.s.Sheet.Typist, f.Stage, f.Typed = text, AskPlace, ""
		if t.s.Bench.Shift != nil {
			f.Stage = AskSheetShift
		}
	case AskCaught:
		caught, err := timeAfter(t.s.Sheet.Began, text, t.at)
		if err != nil {
			t.refuse(notATime(err))
			return
		}
		f.Stage, f.Typed = AskPlace, ""
		t.beginBird(caught)
	case AskLeftAt:
		t.leftAt(text)
	}
}

// sheetShift answers whether the sheet's birds belong to the shift that is
// open.
func (t *turn) sheetShift(r rune) {
	switch r {
	case 'y':
		t.s.Front.Stage = AskPlace
		t.say("The sheet's birds belong to this shift.")
	case 'n':
		t.refuse([]bench.Blocker{{Code: bench.NoShift, Mend: "One shift is open at a time: leave with Ctrl+Q, end it with seamfit shift close, then type the sheet in as a shift of its own."}})
	}
}

// askLeftAt asks when the bird on the desk left the hand, as the sheet has it.
func (t *turn) askLeftAt() {
	t.quiet()
	t.s.Front.Stage, t.s.Front.Typed = AskLeftAt, ""
}

// leftAt takes the time on the sheet; without one, that of the capture stands
// for it.
func (t *turn) leftAt(text string) {
	h, ok := t.s.bird()
	if !ok {
		return
	}
	left := h.Opened
	if text != "" {
		var err error
		if left, err = timeAfter(h.Opened, text, t.at); err != nil {
			t.refuse(notATime(err))
			return
		}
	}
	t.s.Front.Stage, t.s.Front.Typed = AskPlace, ""
	t.leaves(h, left)
}

func notATime(err error) []bench.Blocker {
	return []bench.Blocker{{Code: CodeNotATime, Mend: catalogue.Capital(err.Error()) + "."}}
}

// sheetDate reads the date of a sheet, with the earliest time on it if told.
func sheetDate(text string, now time.Time) (time.Time, error) {
	for _, layout := range []string{"2006-01-02 15:04", "2006-01-02T15:04", "2006-01-02"} {
		date, err := time.ParseInLocation(layout, text, now.Location())
		switch {
		case err != nil:
		case date.After(now):
			return date, fmt.Errorf("%s is still to come: read the sheet's date again", text)
		default:
			return date, nil
		}
	}
	return time.Time{}, fmt.Errorf("%q is no date: write it like 2031-05-16, or with the first time on the sheet like 2031-05-16 05:40", text)
}

// longestSheet is the most time between two times of a sheet: a time that
// would lie farther ahead was read wrongly.
const longestSheet = 16 * time.Hour

// timeAfter reads a time of day as the first such time at or after another one:
// a sheet may cross midnight.
func timeAfter(begin time.Time, text string, now time.Time) (time.Time, error) {
	read, _, ok := timeOfDay(text)
	if !ok {
		return time.Time{}, fmt.Errorf("%q is no time of day: write it like 06:05", text)
	}
	y, m, d := begin.Date()
	on := func(day int) time.Time {
		return time.Date(y, m, day, read.Hour(), read.Minute(), read.Second(), 0, begin.Location())
	}
	at := on(d)
	if at.Before(begin.Truncate(time.Minute)) {
		at = on(d + 1)
	}
	switch {
	case at.After(now):
		return at, errors.New(text + " is still to come: read the time again, or the sheet's date")
	case at.Sub(begin) > longestSheet && begin.Hour()+begin.Minute() > 0:
		return at, fmt.Errorf("%s comes before %s: read the time again", text, begin.Format("15:04"))
	default:
		return at, nil
	}
}

// sheetLines ask for what holds for the whole sheet.
func (v *view) sheetLines(a Ask) []line {
	columns := v.width - 4
	lines := wrapped("", "Late entry from a sheet of paper: what happened keeps its own time, and the record says when it was typed in and by whom. What completes a record is the same.", plain, columns)
	lines = append(lines, line{})
	date, typist := v.s.Sheet.Began, v.s.Sheet.Typist
	switch a {
	case AskSheetDate:
		lines = append(lines, wrapped("", "The sheet's date; with its first time when it crosses midnight, like 2031-05-16 21:40.", plain, columns)...)
		lines = append(lines, fieldLine("date:", v.s.Front.Typed))
	case AskTypist:
		lines = append(lines, words("date: "+date.Format("2006-01-02 15:04")), words("Who types it in?"), fieldLine("typed by:", v.s.Front.Typed))
	default:
		lines = append(lines, words("date: "+date.Format("2006-01-02 15:04")), words("typed by: "+typist), line{})
		text := "A shift is open: " + v.s.Bench.Shift.Place + ", since " + v.s.Bench.Shift.Started.Format("2006-01-02 15:04") + ". Do the sheet's birds belong to it?"
		lines = append(lines, wrapped("", text, strong, columns)...)
		lines = append(lines, say(piece{"y", key}, piece{" they do   ", plain}, piece{"n", key}, piece{" they are of another one", plain}))
	}
	lines = append(lines, line{}, say(piece{"Enter", key}, piece{" goes on   ", plain}, piece{"Ctrl+Q", key}, piece{" leaves", plain}))
	return append(lines, v.refusals(columns)...)
}

// sheetTimeLines ask for a time of the bird.
func (v *view) sheetTimeLines(a Ask, columns int) []line {
	if a == AskCaught {
		return []line{words("When was the next bird of the sheet caught? Esc goes back."), fieldLine("caught at:", v.s.Front.Typed)}
	}
	lines := wrapped("", "When did it leave the hand? Enter alone: the sheet does not say, and the time of the capture stands for it. Esc goes back.", plain, columns)
	return append(lines, fieldLine("left at:", v.s.Front.Typed))
}

// sheetTitle stands in the header as long as a sheet is typed in.
func (v *view) sheetTitle() string {
	if v.s.Sheet.Began.IsZero() {
		return " LATE ENTRY "
	}
	return " LATE ENTRY " + v.s.Sheet.Began.Format("2006-01-02") + " "
}
