package station

import (
	"strings"
	"time"

	"seamfit/internal/bench"
)

// whenceKey is a key of the bird step for one thing about where and when the
// bird was taken: its question, what the screen asks, and the label of the field.
type whenceKey struct {
	choice
	ask           Ask
	prompt, label string
}

func whenceKeys() []whenceKey {
	return []whenceKey{
		{choice{'n', "nest"}, AskNest, "The nest, burrow or box that the bird was taken from:", "nest:"},
		{choice{'b', "brood"}, AskBrood, "Its brood: which chick, or of how many?", "brood:"},
		{choice{'t', "time of capture"}, AskCaptured, "When was it taken? As 06:25 by this clock, or so many minutes ago, as 7. The time since capture counts from it.", "taken:"},
		{choice{'r', "put back"}, AskReturned, "Where was the bird put back, or let go?", "put back:"},
	}
}

// whenceQuestion puts one of these questions, where r is its key; it reports whether
// it is one.
func (t *turn) whenceQuestion(r rune) bool {
	for _, k := range whenceKeys() {
		if k.key == r {
			t.question(k.ask)
			return true
		}
	}
	return false
}

// whenceEntered takes the answer to one of these questions.
func (t *turn) whenceEntered(a Ask) {
	text := strings.Join(strings.Fields(t.s.Desk.Typed), " ")
	c := bench.TellCircumstances{When: t.when(), Why: t.s.Desk.Why}
	switch a {
	case AskNest:
		if c.Nest = text; text == "" {
			c.Nest = t.s.Before.Nest
		}
		text = c.Nest
	case AskBrood:
		c.Brood = text
	case AskCaptured:
		at, ok := timeBefore(text, t.when().At)
		if text != "" && !ok {
			t.refuse([]bench.Blocker{{Code: bench.CaptureUnclear, Mend: "That is no time of capture: write one of the last twelve hours, like 06:25, or the minutes since, as 7."}})
			return
		}
		c.Captured = at
	case AskReturned:
		c.ReturnedTo = text
	}
	if text == "" {
		t.turnTo(StepBird)
		return
	}
	why := t.s.Desk.Why
	if !t.ask(c) {
		return
	}
	if c.Nest != "" {
		t.s.Before.Nest = c.Nest
	}
	t.turnTo(StepBird)
	if h, _ := t.s.bird(); h.Complete {
		t.s.Desk.Ask, t.s.Desk.Why = AskBirdAgain, why
	}
	t.s.Message = "Recorded."
}

// longestByClock is how long ago a time of day may be: one that would be farther
// back is still to come today, and was read wrongly. Minutes may be more.
const longestByClock = 12 * time.Hour

// timeBefore reads a time of day, the last one before now, or a number of
// minutes before it.
func timeBefore(text string, now time.Time) (time.Time, bool) {
	if clock, _, ok := timeOfDay(text); ok && strings.Contains(text, ":") { // without, it is minutes
		at := time.Date(now.Year(), now.Month(), now.Day(), clock.Hour(), clock.Minute(), clock.Second(), 0, now.Location())
		if at.After(now) {
			at = at.AddDate(0, 0, -1)
		}
		return at, now.Sub(at) <= longestByClock
	}
	ago, err := time.ParseDuration(text + "m")
	if err != nil || ago < 0 || ago > 24*time.Hour {
		return time.Time{}, false
	}
	return now.Add(-ago), true
}

func (v *view) whenceLines(a Ask, columns int) []line {
	for _, k := range whenceKeys() {
		if k.ask != a {
			continue
		}
		lines := append(wrapped("", k.prompt, plain, columns), fieldLine(k.label, v.s.Desk.Typed))
		if before := v.s.Before.Nest; a == AskNest && before != "" {
			lines = append(lines, say(piece{"Enter", key}, piece{" " + before + ", as before", plain}))
		}
		return lines
	}
	return nil
}

// whenceWords write all that is told of where and when a bird was taken.
func whenceWords(w bench.CircumstancesTold) string {
	var parts []string
	for _, part := range []struct{ lead, text string }{{"nest ", w.Nest}, {"brood ", w.Brood}, {"put back ", w.ReturnedTo}} {
		if part.text != "" {
			parts = append(parts, part.lead+part.text)
		}
	}
	if !w.Captured.IsZero() {
		parts = append(parts, "taken "+w.Captured.Format("15:04"))
	}
	return strings.Join(parts, ", ")
}

// nestWords say how long the nest of the bird has been waiting, since its first
// bird was taken; empty where no nest is told.
func (v *view) nestWords() string {
	since, known := v.s.Bench.NestSince(v.h)
	if !known || v.s.late() { // on paper no clock runs
		return ""
	}
	return "nest " + v.h.Nest() + " " + minutes(max(v.s.Now.Sub(since), 0))
}
