package station

import (
	"maps"
	"slices"
	"strings"

	"seamfit/internal/bench"
	"seamfit/internal/seam"
)

// Workshop is a trainer whose bands are of metal that springs: their seams
// answer to what the trainee does with the pliers, and are shown as they are,
// without a word of what is wrong. It is pure.
type Workshop interface {
	Trainer
	// Hints reports whether the closing guide is shown.
	Hints() bool
	// Tools returns what can be done to a band, with the keys.
	Tools() []seam.Tool
	// Work returns what the band at work on h is like after the acts, which are
	// keys of tools. bird counts from 1 in the run. It returns an error for a
	// band that it can't make, which is then closed without pliers.
	Work(s bench.State, bird int, h bench.Handling, acts string) (seam.Worked, error)
	// After returns what becomes of a bird that has left the hand.
	After(s bench.State, bird int, h bench.Handling, done []seam.Handiwork) []string
	// Score returns how the birds went, by their number in the run.
	Score(s bench.State, birds map[int]bench.Handling, done []seam.Handiwork) []string
}

// keyScore shows the score between two birds; keyPliersOff ends the work on a
// band and begins the look.
const (
	keyScore     = 's'
	keyPliersOff = 'l'
)

// workshop returns the workshop and the band on its bench as it is now; false
// where there is none.
func (s State) workshop(h bench.Handling) (Workshop, seam.Worked, bool) {
	w, ok := s.Options.Trainer.(Workshop)
	if !ok {
		return nil, seam.Worked{}, false
	}
	band, _ := h.CurrentBand()
	now, err := w.Work(s.Bench, s.ordinal(h.ID), h, s.acts(h.ID, band.ID))
	return w, now, err == nil
}

// atPliers reports whether the band of h can be worked on in a workshop: not
// when its bird is gone.
func (s State) atPliers(h bench.Handling) bool {
	_, _, at := s.workshop(h)
	return at && h.InHand()
}

// acts returns what was done to a band.
func (s State) acts(handling string, band int) string {
	for _, d := range s.Done {
		if d.Handling == handling && d.Band == band {
			return d.Acts
		}
	}
	return ""
}

// act adds a key to what was done to the band at work.
func (t *turn) act(key rune) {
	h, ok := t.s.bird()
	band, worked := h.CurrentBand()
	if !ok || !worked {
		return
	}
	done := slices.Clone(t.s.Done)
	t.s.Done = done
	for i := range done {
		if done[i].Handling == h.ID && done[i].Band == band.ID {
			if len(done[i].Acts) < mostActs {
				done[i].Acts += string(key)
			}
			return
		}
	}
	t.s.Done = append(done, seam.Handiwork{Handling: h.ID, Band: band.ID, Acts: string(key)})
}

// mostActs bounds what is remembered of one band. Nobody works so long on one.
const mostActs = 2000

// workKey takes a key at the pliers.
func (t *turn) workKey(r rune) {
	h, ok := t.s.bird()
	if !ok {
		return
	}
	w, _, ok := t.s.workshop(h)
	switch {
	case !ok:
	case r == keyPliersOff:
		t.quiet()
		t.question(AskLook)
	case slices.ContainsFunc(w.Tools(), func(tool seam.Tool) bool { return tool.Key == r }):
		t.act(r)
		_, now, _ := t.s.workshop(h)
		t.say(now.Said)
	}
}

// closedOnceMore goes back to the pliers, where there are some, or else to the
// look.
func (t *turn) closedOnceMore() {
	t.quiet()
	if h, ok := t.s.bird(); ok && t.s.atPliers(h) {
		t.question(AskWork)
		return
	}
	t.question(AskLook)
}

// keepGone keeps a bird of a workshop's run as it was last, for the score.
func (t *turn) keepGone() {
	if _, ok := t.s.Options.Trainer.(Workshop); !ok {
		return
	}
	h, ok := t.s.bird()
	if !ok || h.Fate == nil || h.InHand() {
		return
	}
	n := t.s.ordinal(h.ID)
	if had, known := t.s.Gone[n]; known && had.Complete == h.Complete && had.Bird == h.Bird && len(had.Closings) == len(h.Closings) {
		return
	}
	gone := maps.Clone(t.s.Gone)
	if gone == nil {
		gone = map[int]bench.Handling{}
	}
	gone[n] = h
	t.s.Gone = gone
}

// scoreKey shows the score, between two birds of a workshop's run.
func (t *turn) scoreKey(r rune) {
	if _, ok := t.s.Options.Trainer.(Workshop); ok && r == keyScore {
		t.quiet()
		t.s.Scoring = true
	}
}

func (v *view) scoreLines() []line {
	w, ok := v.s.Options.Trainer.(Workshop)
	if !ok {
		return nil
	}
	columns := v.width - 4
	var lines []line
	for _, text := range w.Score(v.s.Bench, v.s.Gone, v.s.Done) {
		lines = append(lines, wrapped("- ", text, plain, columns)...)
	}
	return append(lines, line{}, words("Any key goes back."))
}

// workLines show the band on the bench as it is, and what can be done to it.
func (v *view) workLines(w Workshop, now seam.Worked, columns int) []line {
	lines := v.stopAdvice(columns)
	text := []line{say(piece{"Squeeze and mend; nobody says how it looks:", strong})}
	text = append(text, toolLines(w.Tools(), columns-drawingColumns-2)...)
	text = append(text, say(piece{string(keyPliersOff), key}, piece{" pliers off: look all round", strong}))
	lines = append(lines, besideSeam(now, &now.Pliers, text)...)
	if w.Hints() {
		lines = append(lines, v.guide(columns, v.spare-len(lines))...)
	}
	return lines
}

// toolLines list the tools with their keys, in as many lines as it takes.
func toolLines(tools []seam.Tool, columns int) []line {
	choices := make([]choice, len(tools))
	for i, t := range tools {
		choices[i] = choice{t.Key, t.Words}
	}
	return choicesIn(choices, columns)
}

// besideSeam puts text beside the drawing of a seam as it is.
func besideSeam(now seam.Worked, pliers *seam.Pliers, text []line) []line {
	rows := drawing(now.Sight, pliers)
	lines := make([]line, max(len(rows), len(text)))
	for i := range lines {
		left := ""
		if i < len(rows) {
			left = rows[i]
		}
		lines[i].pieces = []piece{{cell(left, drawingColumns+2), plain}}
		if i < len(text) {
			lines[i].pieces = append(lines[i].pieces, text[i].pieces...)
		}
	}
	return lines
}

// trainingLook asks for the look at a seam that is drawn as it is.
func (v *view) trainingLook(now seam.Worked, columns int) []line {
	text := []line{
		say(piece{"Look all round. What do you see?", strong}),
		say(piece{string(keyFlush), key}, piece{" flush: nothing wrong", plain}),
	}
	text = append(text, v.findingLines(columns-drawingColumns-2)...)
	if len(v.s.Desk.Marked) > 0 {
		text = append(text, say(piece{"Enter", key}, piece{" records it  ", plain}, piece{"Backspace", key}, piece{" unmarks", plain}))
	}
	return append(v.stopAdvice(columns), besideSeam(now, nil, text)...)
}

// aftermath tells, once a bird has gone, what its trainee did not see.
func (v *view) aftermath(columns int) []line {
	w, ok := v.s.Options.Trainer.(Workshop)
	if !ok || !v.open {
		return nil
	}
	var lines []line
	for _, text := range w.After(v.s.Bench, v.s.ordinal(v.h.ID), v.h, v.s.Done) {
		lines = append(lines, wrapped("! ", strings.TrimSpace(text), wrong, columns)...)
	}
	return lines
}
