package station

import (
	"fmt"
	"strings"

	"seamfit/internal/bands"
	"seamfit/internal/bench"
	"seamfit/internal/grid"
	"seamfit/internal/length"
)

// steps draws the six steps as lines that fill as they are done, and below
// them, where there is room, what has happened so far.
func (v *view) steps(a grid.Area, ask Ask) {
	width, height := a.Size()
	theme := v.s.Options.Theme
	for i, step := range Steps() {
		name, text := plain, plain
		if v.open && step == v.s.Desk.Step && ask != AskDone {
			a.Put(0, i, "►", theme.style(strong))
			name = strong
		}
		sign, r := v.progress[step].sign()
		if r == wrong {
			text = wrong
		}
		a.Put(2, i, sign, theme.style(r))
		a.Put(4, i, step.String(), theme.style(name))
		a.Put(11, i, grid.Fit(v.summary(step), width-12), theme.style(text))
	}
	for i, row := range v.history() {
		if y := len(Steps()) + i; y < height {
			a.Put(4, y, grid.Fit(row, width-5), theme.style(quiet))
		}
	}
}

// sign is how far a step has come, as a sign that does not need colour.
func (p Progress) sign() (string, role) {
	switch p {
	case Done:
		return "√", good
	case Begun:
		return "○", plain
	case Trouble:
		return "!", wrong
	default:
		return "·", plain
	}
}

func (v *view) summary(step Step) string {
	if !v.open {
		return ""
	}
	switch step {
	case StepBird:
		return v.birdWords()
	case StepLeg:
		return v.legWords()
	case StepSize:
		return v.sizeWords()
	case StepNumber:
		return v.numberWords()
	case StepSeam:
		return v.seamWords()
	default:
		return v.fateWords()
	}
}

func (v *view) birdWords() string {
	b := v.h.Bird.Known()
	var parts []string
	if b.Species != "" {
		parts = append(parts, grid.Fit(v.s.shortName(v.h), 24))
	}
	if b.Leg != bench.LegUnsaid {
		parts = append(parts, string(b.Leg)+" leg")
	}
	if b.Site == bench.SiteAbove {
		parts = append(parts, "above the joint")
	}
	for _, part := range []string{b.Age, b.Sex} {
		if part != "" {
			parts = append(parts, part)
		}
	}
	return strings.Join(parts, ", ")
}

func (v *view) legWords() string {
	widths, _ := v.h.Counted()
	if !v.measured {
		if v.h.Choice != nil {
			return methodWords(*v.h.Choice)
		}
		return ""
	}
	number := count(len(widths), "reading")
	if f := v.h.Feathers(); f != bench.FeathersNone {
		number = fmt.Sprintf("%d %s feathers", len(widths), f)
	}
	text := fmt.Sprintf("%.2f ± %.2f mm, %s", v.fit.Leg.MeanMM, v.fit.Leg.ExpandedMM, number)
	if !v.fit.Agreement.OK {
		return text + " DISAGREE"
	}
	if oval := v.fit.Oval; oval != nil && oval.Ovality > 0 {
		text += fmt.Sprintf(", %.0f %% oval", 100*oval.Ovality)
	}
	return text
}

func (v *view) sizeWords() string {
	c := v.h.Choice
	if c == nil {
		return ""
	}
	text := c.Size + " " + c.Metal
	if size, ok := v.s.Bench.Catalogue().Size(c.Size); ok && len(size.Closures) > 1 {
		text += ", " + c.Closure
	}
	if c.Verdict != "" {
		text += ", " + c.Verdict
	} else {
		text += ", " + methodWords(*c)
	}
	if c.Reason != "" {
		text += ": " + c.Reason
	}
	return text
}

func (v *view) numberWords() string {
	if band, ok := v.h.CurrentBand(); ok {
		switch {
		case v.hidden:
			return "hidden until it is read back"
		case contested(v.h, band):
			return band.Number + " DISPUTED"
		case v.h.Disputed():
			other, _ := v.h.DisputedBand()
			return band.Number + ", and " + other.Number + " DISPUTED"
		case band.OnLeg():
			return band.Number + " on the " + legName(band)
		case !v.h.InHand():
			return band.Number + " taken, no look is told"
		default:
			return band.Number + " taken, not yet closed"
		}
	}
	if band, ok := v.h.FoundOnLeg(); ok {
		return band.Number + " found, left as it is"
	}
	return v.removed()
}

// removed tells of the last band that was taken off.
func (v *view) removed() string {
	for i := len(v.h.Bands) - 1; i >= 0; i-- {
		if b := v.h.Bands[i]; b.State == bands.Destroyed {
			return b.Number + " removed: " + b.Reason
		}
	}
	return ""
}

func legName(b bench.Band) string {
	if b.Leg == bench.LegUnsaid {
		return "leg"
	}
	return string(b.Leg) + " leg"
}

func (v *view) seamWords() string {
	closing, ok := v.h.LastClosing()
	if !ok {
		if _, left := v.h.FoundOnLeg(); left {
			return "inspected, left"
		}
		return ""
	}
	n := v.closings()
	switch {
	case !closing.Flush():
		return fmt.Sprintf("closing %d: %s", n, strings.Join(findingNames(closing.Findings), ", "))
	case v.progress[StepSeam] == Done:
		return fmt.Sprintf("closing %d: flush, confirmed", n)
	case v.progress[StepSeam] == Trouble:
		return "the number read back does not match"
	default:
		if hasCode(v.blockers, bench.SizeMissing) {
			return fmt.Sprintf("closing %d: flush; size not chosen", n)
		}
		if hasCode(v.blockers, bench.SupervisorMissing) && !hasCode(v.blockers, bench.StatementMissing, bench.ReadBackMissing) {
			return fmt.Sprintf("closing %d: flush, waits for a supervisor", n)
		}
		missing := 0
		for _, b := range v.blockers {
			if b.Code == bench.StatementMissing || b.Code == bench.ReadBackMissing {
				missing++
			}
		}
		return fmt.Sprintf("closing %d: flush, %d still to confirm", n, missing)
	}
}

// closings counts the closings of the band that is being worked on.
func (v *view) closings() int {
	band, _ := v.h.CurrentBand()
	n := 0
	for _, c := range v.h.Closings {
		if c.Band == band.ID {
			n++
		}
	}
	return n
}

func findingNames(ids []string) []string {
	names := make([]string, len(ids))
	for i, id := range ids {
		names[i] = strings.ReplaceAll(id, "_", " ")
	}
	return names
}

func (v *view) fateWords() string {
	var parts []string
	if v.h.Complete {
		parts = append(parts, v.completeWords())
	} else if v.h.Resolved != "" {
		parts = append(parts, "resolved")
	}
	if v.h.Fate != nil {
		parts = append(parts, v.h.Fate.Fate.Words())
	}
	if !v.h.InHand() {
		parts = append(parts, "left the hand "+v.h.Left.Format("15:04"))
	}
	return strings.Join(parts, ", ")
}

// completeWords says that the record is complete only once that is saved.
func (v *view) completeWords() string {
	switch {
	case v.h.Disputed():
		return "NOT COMPLETE: disputed"
	case v.s.unsaved(v.h.ID) == 0:
		return "complete"
	case v.s.Queue.Failing():
		return "complete, NOT SAVED"
	default:
		return "complete, saving"
	}
}

// history tells, on larger screens, what has happened to this bird.
func (v *view) history() []string {
	if !v.open {
		return nil
	}
	var rows []string
	if len(v.h.Readings) > 0 {
		rows = append(rows, "readings "+readingList(v.h, false))
	}
	var looks []string
	for _, c := range v.h.Closings {
		look := "flush"
		if !c.Flush() {
			look = strings.Join(findingNames(c.Findings), " + ")
		}
		looks = append(looks, look)
	}
	if len(looks) > 0 {
		rows = append(rows, "looks    "+strings.Join(looks, ", then "))
	}
	if text := measuresWords(v.h); text != "" {
		rows = append(rows, "measures "+text)
	}
	if w := v.h.Whence; w != nil {
		rows = append(rows, "whence   "+whenceWords(*w))
	}
	if gone := v.removed(); gone != "" {
		rows = append(rows, "band     "+gone)
	}
	for _, i := range v.h.Incidents {
		rows = append(rows, "incident "+i.Kind+": "+i.Note)
	}
	return rows
}

// readingList lists the readings; those set aside stand in brackets.
func readingList(h bench.Handling, numbered bool) string {
	var parts []string
	standing := 0
	last := lastNine(standingReadings(h))
	for i, r := range h.Readings {
		text := readingText(r.ReadingTaken)
		of, other := axisKeyOf(r.Axis)
		switch {
		case r.SetAside != "":
			text = "(" + text + ")"
		case other:
			text += " " + of.word
		case r.Feathers != bench.FeathersNone:
			text += " " + string(r.Feathers)
		}
		if numbered && r.SetAside == "" && standing < len(last) && last[standing] == i+1 {
			standing++
			text = fmt.Sprintf("[%d] %s", standing, text)
		}
		parts = append(parts, text)
	}
	return strings.Join(parts, "  ")
}

func readingText(r bench.ReadingTaken) string {
	if r.Unit == length.UnknownUnit {
		return r.Value.Exact()
	}
	return r.Value.Format(r.Unit, length.Decimals(r.Resolution, r.Unit))
}

func count(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	if stem, ok := strings.CutSuffix(thing, "y"); ok {
		return fmt.Sprintf("%d %sies", n, stem)
	}
	return fmt.Sprintf("%d %ss", n, thing)
}
