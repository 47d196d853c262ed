package station

import (
	"fmt"
	"slices"
	"strings"

	"seamfit/internal/bench"
)

func (v *view) seamLines(a Ask, columns int) []line {
	switch a {
	case AskSpotOuter, AskSpotWidth, AskSpotJudged:
		return v.spotLines(a, columns)
	case AskNoBand:
		if _, found := v.h.FoundOnLeg(); found {
			return wrapped("", "The band that the bird wears was inspected and left as it is: nothing to close.", plain, columns)
		}
		return wrapped("", "No band is taken yet: give its number first (Tab goes to the other steps).", plain, columns)
	case AskWork:
		if w, now, ok := v.s.workshop(v.h); ok {
			return v.workLines(w, now, columns)
		}
	case AskLook:
		if _, now, ok := v.s.workshop(v.h); ok {
			return v.trainingLook(now, columns)
		}
		return v.lookLines(columns)
	case AskStatedBefore:
		return v.statedBeforeLines(columns)
	case AskReadBack:
		if v.s.late() {
			return append(wrapped("", "The digits that were read back off the closed band, as the sheet has them under read-back. What is written under number does not count.", plain, columns), fieldLine("read back:", v.s.Desk.Typed))
		}
		lines := wrapped("", "Read the number off the band on the leg, and key its last three digits or all of it. What is on paper or was scanned does not count.", plain, columns)
		return append(lines, fieldLine("on the band:", v.s.Desk.Typed))
	case AskSupervisor, AskSupervised:
		return v.superviseLines(a, columns)
	case AskConfirmed:
		lines := append([]line{say(piece{"The closing is confirmed.", strong})}, v.supervisedLine()...)
		return append(lines, say(piece{"Enter", key}, piece{" goes on   ", plain}, piece{string(keyLookAgain), key}, piece{" it was closed once more: a new look", plain}))
	}
	return v.statementLines(columns)
}

// lookLines ask for the look, with the guide where it has room.
func (v *view) lookLines(columns int) []line {
	prompt := fmt.Sprintf("Closing %d: close the band with all its squeezes, then look all round.", v.closings()+1)
	gone := !v.h.InHand() && !v.s.late()
	switch {
	case v.s.late():
		prompt = fmt.Sprintf("Closing %d, as the sheet has its look.", v.closings()+1)
	case gone:
		prompt = fmt.Sprintf("The bird is gone. Closing %d, if its look was before that:", v.closings()+1)
	}
	lines := append(v.stopAdvice(columns),
		say(piece{prompt, strong}),
		say(piece{string(keyFlush), key}, piece{" flush: nothing wrong", plain}))
	lines = append(lines, v.findingLines(columns)...)
	if len(v.s.Desk.Marked) > 0 {
		lines = append(lines, say(piece{"Enter", key}, piece{" records what is marked   ", plain}, piece{"Backspace", key}, piece{" takes the marks away", plain}))
	}
	if gone {
		return lines // nothing can be mended any more
	}
	if guide := v.guide(columns, v.spare-len(lines)); guide != nil {
		return append(lines, guide...)
	}
	return append(v.corrections(columns), lines...)
}

// wasBeforeLines ask whether what is to be told of a bird that is gone was before
// it left.
func (v *view) wasBeforeLines(columns int) []line {
	what := "Did the band come off before that?"
	switch v.s.Desk.Before {
	case AskSupervisor:
		what = "Did a supervisor look at the closed band before that?"
	case AskLook:
		seen := "flush"
		if marked := v.s.Desk.Marked; len(marked) > 0 {
			seen = strings.Join(findingNames(marked), ", ")
		}
		what = fmt.Sprintf("Was this seen before it left: closing %d, %s?", v.closings()+1, seen)
	}
	return append(wrapped("", "The bird left at "+clock(v.h.Left)+". "+what, strong, columns),
		say(piece{"y", key}, piece{" it was before: it is told now   ", plain}, piece{"any other key", key}, piece{" records nothing", plain}))
}

// statedBeforeLines ask whether what confirms the closing of a bird that is gone
// was seen before it left.
func (v *view) statedBeforeLines(columns int) []line {
	text := fmt.Sprintf("The bird left at %s. Its closing is not confirmed: were the points of a good closure, and its number, seen on the band before it left?", clock(v.h.Left))
	return append(wrapped("", text, strong, columns),
		say(piece{"y", key}, piece{" they were: they are stated now   ", plain}, piece{"Tab", key}, piece{" to the fate: closure unconfirmed", plain}))
}

// findingColumn is the width of one finding with its key.
const findingColumn = 18

// findingLines list the findings with their keys, and which are marked.
func (v *view) findingLines(columns int) []line {
	var lines []line
	for i, c := range v.s.defectKeys(v.h) {
		if i%(columns/findingColumn) == 0 {
			lines = append(lines, line{})
		}
		sign, r := " ", plain
		if slices.Contains(v.s.Desk.Marked, c.words) {
			sign, r = "■", strong
		}
		row := &lines[len(lines)-1]
		row.pieces = append(row.pieces, piece{string(c.key), key}, piece{sign + cell(strings.ReplaceAll(c.words, "_", " "), findingColumn-2), r})
	}
	return lines
}

// corrections tell in short how the findings of the last look are usually
// mended, where the guide has no room.
func (v *view) corrections(columns int) []line {
	closing, ok := v.h.LastClosing()
	if !ok || closing.Flush() {
		return nil
	}
	var lines []line
	for _, id := range closing.Findings {
		f, known := v.s.Bench.Setup.Book.Finding(id)
		if !known || f.Correction == "" {
			continue
		}
		text := fmt.Sprintf("%s: %s (%s)", strings.ReplaceAll(id, "_", " "), strings.TrimRight(f.Correction, "."), adviceOr(f.Mark.Advice(), f.Source))
		lines = append(lines, wrapped("- ", text, plain, columns)...)
	}
	return lines
}

func adviceOr(advice, source string) string {
	if advice != "" {
		return advice
	}
	return source
}

// statementLines list the statements with their keys, and whether each is
// made of the last closing.
func (v *view) statementLines(columns int) []line {
	keys := v.s.statementKeys(v.h)
	if len(keys) == 0 {
		return wrapped("", "The look was flush. Choose the size first: which statements confirm the closing depends on it.", plain, columns)
	}
	kind, _ := v.s.closureOf(v.h)
	prompt := "Flush. State each point only when you have seen it, one key each:"
	if v.s.late() {
		prompt = "Flush. State each point that the sheet has ticked, one key each:"
	}
	lines := []line{say(piece{prompt, strong})}
	for i, c := range keys {
		sign, r := "·", plain
		if slices.Contains(v.h.Confirmation.Statements, c.words) {
			sign, r = "√", good
		}
		lines = append(lines, say(piece{sign + " ", r}, piece{string(c.key), key}, piece{" " + kind.Statements[i].Text, plain}))
	}
	back := "· "
	if !hasCode(v.blockers, bench.ReadBackMissing, bench.ReadBackMismatch, bench.NumberMissing) {
		back = "√ "
	}
	lines = append(lines, say(piece{back, plain}, piece{"digits", key}, piece{" the last three, read off the band   ", plain}, piece{string(keyLookAgain), key}, piece{" closed once more", plain}))
	lines = append(lines, v.supervisedLine()...)
	return append(lines, v.looks(columns, v.spare-len(lines))...)
}
