package station

import (
	"fmt"
	"strings"
)

// cautions are what everybody reads before the first bird.
func cautions() []string {
	return []string{
		"Banding needs a permit and training. This program gives neither.",
		"Your banding office's rules come first, before anything the bench advises.",
		"Measure before you choose a size. Never guess it from the species alone.",
		"Stop at signs of stress. The bird never waits for the record: F8, or Ctrl+O, at any step records that it left the hand.",
		"Never release a bird with a badly closed band.",
		"Taking a band off is for trained hands.",
		"Values without a published source are marked as bench settings.",
	}
}

func (v *view) cautionLines() []line {
	columns := v.width - 4
	var lines []line
	for _, text := range cautions() {
		lines = append(lines, wrapped("- ", text, plain, columns)...)
	}
	lines = append(lines, line{})
	if v.s.Options.Trainer != nil {
		lines = append(lines, wrapped("", "This is a training run: place, people, birds and numbers are invented, and its records are marked as training for ever.", strong, columns)...)
		lines = append(lines, line{})
	}
	return append(lines, say(piece{"Enter", key}, piece{" goes on", plain}))
}

func (v *view) shiftLines(a Ask) []line {
	f := v.s.Front
	lines := []line{words("A shift is one sitting: its place, who bands, and under which permit."), {}}
	for _, l := range []struct {
		ask   Ask
		label string
		value string
	}{{AskPlace, "place: ", f.Place}, {AskBander, "bander:", f.Bander}, {AskPermit, "permit:", ""}} {
		switch {
		case l.ask == a:
			lines = append(lines, fieldLine(l.label, f.Typed))
			if usual := v.s.usualAnswer(a); usual != "" {
				lines = append(lines, say(piece{"Enter", key}, piece{" " + usual, plain}))
			}
		case l.ask < a:
			lines = append(lines, words(l.label+" "+l.value))
		default:
			lines = append(lines, words(l.label))
		}
	}
	lines = append(lines, line{}, say(piece{"Enter", key}, piece{" goes on   ", plain}, piece{"Ctrl+Q", key}, piece{" leaves", plain}))
	return append(lines, v.refusals(v.width-4)...)
}

func (v *view) helpLines() []line {
	var lines []line
	for _, k := range [][2]string{
		{"F8, Ctrl+O", "the bird left the hand: at any step, in any text"},
		{"F2, Ctrl+N", "a new bird: its clock runs from this key on"},
		{"F3, Ctrl+T", "another open bird"},
		{"F4, Ctrl+F", "the bird wears a band already"},
		{"F5, Ctrl+E", "an incident: injury, stress, death"},
		{"F6, Ctrl+R", "the band comes off: destroyed, with the reason"},
		{"F7, Ctrl+W", "who bands the next birds"},
		{"Ctrl+P", "the shift: watch, position, people, instruments"},
		{"Ctrl+K", "judge a band that was taken off by its widths"},
		{"F9, Ctrl+D", "mark the record complete, or hear what is missing"},
		{"Tab, Shift+Tab", "next step, step before; so do Up and Down"},
		{"Esc, Ctrl+U", "back from a question; empty the field"},
		{"Ctrl+Q", "leave; open birds are taken up again next time"},
		{"caliper button", "a reading, at any step, for the bird marked ►"},
		{"scanner", "the band's number, at any step"},
		{"command cards", "do what keys do (seamfit cards); TAKE asks the caliper"},
	} {
		lines = append(lines, say(piece{fmt.Sprintf("%-16s", k[0]), key}, piece{k[1], plain}))
	}
	return append(lines, line{}, words("Any key goes back."))
}

func (v *view) leavingLines() []line {
	columns := v.width - 4
	var lines []line
	var names []string
	for _, h := range v.s.openBirds() {
		name := v.s.called(h) + " " + v.s.shortName(h)
		if h.InHand() {
			name += " (IN THE HAND)"
		}
		names = append(names, name)
	}
	if len(names) > 0 {
		text := fmt.Sprintf("%s not complete: %s. What is saved is taken up again next time, where it stands.", count(len(names), "bird"), strings.Join(names, ", "))
		lines = append(lines, wrapped("", text, strong, columns)...)
	}
	if n := len(v.s.Queue.Facts); n > 0 && !v.s.Queue.Failing() {
		lines = append(lines, words("What was entered last is being saved."))
	} else if n > 0 {
		text := fmt.Sprintf("%s NOT SAVED would be lost. Stay until it is saved.", count(n, "entry"))
		lines = append(lines, wrapped("! ", text, alarm, columns)...)
	}
	lines = append(lines, line{})
	switch v.s.Leaving {
	case AskedTwice:
		lines = append(lines, say(piece{"y", key}, piece{" once more leaves and loses it; any other key stays", plain}),
			words("When it is saved, the station closes."))
	default:
		lines = append(lines, say(piece{"y", key}, piece{" leaves; any other key stays", plain}))
	}
	return lines
}
