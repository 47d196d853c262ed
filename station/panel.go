package station

import (
	"fmt"
	"time"

	"seamfit/internal/catalogue"
	"seamfit/internal/grid"
)

// panel returns the lines of what the bench waits for, with everything that
// must be seen before it: what is not saved, which device is lost, what was
// refused. It never takes more than most lines; lists are kept to so many that
// all together takes usual lines. The coach gives way first, then the message,
// then the question down to what is being typed: every refusal is to be seen.
func (v *view) panel(a Ask, usual, most int) []line {
	columns := v.width - 2
	banners := v.banners(columns)
	refused := v.refusals(columns)
	var message []line
	if v.s.Message != "" {
		message = wrapped("", v.s.Message, strong, columns)
	}
	coach := v.coach(columns)
	above := len(banners) + len(refused) + len(message) + len(coach)
	v.spare = most - above
	question := v.question(a, columns, min(max(usual-above, leastQuestion), most))
	if len(banners)+len(refused)+len(question) > most {
		question = fieldOnly(question)
	}
	free := most - len(banners) - len(question)
	if len(refused) > free {
		refused = shorten(refused, free)
	}
	free -= len(refused)
	if len(message) > free {
		message = nil
	}
	free -= len(message)
	if len(coach) > free {
		coach = nil
	}
	question = append(question, v.stillMissing(a, columns, usual-above-len(question))...)
	lines := banners
	for _, part := range [][]line{refused, message, coach, question} {
		lines = append(lines, part...)
	}
	return lines[:min(len(lines), most)]
}

// leastQuestion is the fewest lines that a question with a list needs.
const leastQuestion = 6

// fieldOnly keeps of a question what is being typed: everything that was
// refused is to be seen.
func fieldOnly(lines []line) []line {
	for _, l := range lines {
		if l.field != nil {
			return []line{l}
		}
	}
	return nil
}

// shorten cuts a list to rows and says that there is more.
func shorten(lines []line, rows int) []line {
	if rows < 1 {
		return nil
	}
	return append(lines[:rows-1:rows-1], words("  .. and more: enlarge the window to see it"))
}

// banners tell of troubles that last, each with its mend.
func (v *view) banners(columns int) []line {
	var lines []line
	if q := v.s.Queue; q.Failing() {
		wait := max(q.Retry.Sub(v.s.Now), 0)
		text := fmt.Sprintf("NOT SAVED: %s kept here. %s%s. Next try in %s.", count(len(q.Facts), "entry"), catalogue.Capital(q.What), mendOf(q.Mend), count(int(wait.Round(time.Second)/time.Second), "second"))
		lines = append(lines, wrapped("! ", text, alarm, columns)...)
	}
	if behind := v.s.Latest.Sub(v.s.Now); behind > time.Minute {
		text := fmt.Sprintf("The clock is %s behind the last entry: set it right. The order of the entries is kept all the same.", minutes(behind))
		lines = append(lines, wrapped("! ", text, wrong, columns)...)
	}
	for _, doubt := range v.s.Options.Doubts {
		lines = append(lines, wrapped("! ", doubt, wrong, columns)...)
	}
	lines = append(lines, v.watchBanner(columns)...)
	for d, l := range v.s.Links {
		switch {
		case l.Trouble != "":
			lines = append(lines, wrapped("! ", catalogue.Capital(l.Trouble)+mendOf(l.Mend)+".", wrong, columns)...)
		case l.Low:
			lines = append(lines, wrapped("! ", fmt.Sprintf("The %s's battery is low: change it, some fall silent without another word.", Device(d)), wrong, columns)...)
		}
	}
	if v.open && v.h.InHand() {
		if _, over := v.s.held(v.h); over {
			lines = append(lines, wrapped("! ", "This bird has been in the hand longer than the bench's limit: let it go when you can, F8 records it, and the facts can wait.", wrong, columns)...)
		}
	}
	return lines
}

func mendOf(mend string) string {
	if mend == "" {
		return ""
	}
	return "; " + mend
}

// refusals tell why the last thing asked was not done.
func (v *view) refusals(columns int) []line {
	var lines []line
	for _, b := range v.s.Refused {
		lines = append(lines, wrapped("! ", b.Mend, wrong, columns)...)
	}
	return lines
}

// coach tells a newcomer what to do now.
func (v *view) coach(columns int) []line {
	trainer := v.s.Options.Trainer
	if trainer == nil {
		return nil
	}
	bird := v.s.ordinalAt(len(v.s.Order))
	if v.open {
		bird = v.s.ordinal(v.h.ID)
	}
	texts := trainer.Coach(bird, v.h, v.s.Bench)
	if v.open && !v.h.Done() && len(texts) > 0 {
		if next := nextStep(v.s.Bench, v.h, StepBird); next != v.s.Desk.Step {
			texts = append([]string{"Go to " + next.String() + " with Tab: that comes next."}, texts...)
		}
	}
	var lines []line
	for _, text := range texts {
		lines = append(lines, wrapped("» ", text, plain, columns)...)
	}
	return lines
}

// question returns the lines of the question that stands, in at most room
// lines.
func (v *view) question(a Ask, columns, room int) []line {
	switch a {
	case AskNoBird:
		if v.s.late() {
			return []line{say(piece{"F2", key}, piece{" takes the next bird of the sheet: its time is asked.", plain})}
		}
		lines := append(v.practiceLines(columns), say(piece{"F2", key}, piece{" begins a bird: its clock runs from that key on.", plain}))
		if shift := v.s.Bench.Shift; shift != nil && shift.Watch == nil && !shift.Training {
			lines = append(lines, say(piece{"Ctrl+P", key}, piece{" the shift: the clock against your watch, position, people", plain}))
		}
		return lines
	case AskNextBander:
		return []line{words("Who bands the birds that are opened from now on?"), fieldLine("bander:", v.s.Front.Typed)}
	case AskCaught, AskLeftAt:
		return v.sheetTimeLines(a, columns)
	case AskDone:
		return v.doneLines(columns)
	case AskIncident:
		return append([]line{words("An incident: what kind?")}, choicesIn(incidents(), columns)...)
	case AskStillInHand:
		return []line{
			words("This bird left the hand at " + clock(v.h.Left) + ". Is it still in the hand?"),
			say(piece{"y", key}, piece{" it is: the clock runs on   ", plain}, piece{"any other key", key}, piece{" it is gone", plain}),
		}
	case AskIncidentNote:
		return []line{words("What happened, and what was done about it? Enter records it."), fieldLine(v.s.Desk.Kind+":", v.s.Desk.Typed)}
	case AskWasBefore:
		return v.wasBeforeLines(columns)
	case AskRemoval:
		return v.removalLines(columns)
	case AskWhy:
		return []line{words("Why is the complete record corrected? What was told before stays beside it."), fieldLine("reason:", v.s.Desk.Typed)}
	}
	switch v.s.Desk.Step {
	case StepBird:
		return v.birdLines(a, columns, room)
	case StepLeg:
		return v.legLines(a, columns)
	case StepSize:
		return v.sizeLines(a, columns, room)
	case StepNumber:
		return v.numberLines(a, columns)
	case StepSeam:
		return v.seamLines(a, columns)
	default:
		return v.fateLines(a, columns)
	}
}

func (v *view) doneLines(columns int) []line {
	lines := wrapped("", fmt.Sprintf("The record of bird %s is %s.", v.s.called(v.h), v.completeWords()), strong, columns)
	lines = append(lines, v.aftermath(columns)...)
	return append(lines, say(
		piece{"F2", key}, piece{" next bird   ", plain}, piece{"F3", key}, piece{" another   ", plain},
		piece{string(keyCorrect), key}, piece{" correct the bird   ", plain},
		piece{"x", key}, piece{" set a reading aside", plain}))
}

// stillMissing lists, where there is room, what the record needs before it can
// be complete.
func (v *view) stillMissing(a Ask, columns, room int) []line {
	if !v.open || a == AskComplete || a == AskDone || len(v.s.Refused) > 0 || len(v.blockers) == 0 {
		return nil
	}
	lines := []line{{}, words("Before the record can be complete:")}
	lines = append(lines, v.openBlockers(columns)...)
	if len(lines) > room {
		return nil
	}
	return lines
}

// removalLines ask why the band comes off, under how that is done.
func (v *view) removalLines(columns int) []line {
	if !v.h.InHand() {
		return append(wrapped("", "The band came off, and its number is recorded as destroyed.", plain, columns), fieldLine("reason:", v.s.Desk.Typed))
	}
	lines := wrapped("", "The band comes off, and its number is recorded as destroyed. Removal is for trained hands; stop at signs of stress.", plain, columns)
	lines = append(v.removal(columns, v.spare-len(lines)-1), lines...)
	return append(lines, fieldLine("reason:", v.s.Desk.Typed))
}

// keys draws the keys that work everywhere.
func (v *view) keys(y int) {
	x := 1
	for _, k := range [][2]string{
		{"F1", "keys"},
		{"F2", "new"},
		{"F3", "other"},
		{"F6", "remove"},
		{"F8", "LEFT THE HAND"},
		{"F9", "complete"},
		{"Tab", "step"},
	} {
		x = v.put(x, y, k[0], key)
		x = v.put(x, y, " "+k[1], plain) + 2
	}
}

// page draws one page in place of the bench.
func (v *view) page(title string, lines []line) {
	v.header()
	v.rule(2)
	v.put(2, 3, title, strong)
	draw(v.all.Sub(2, 5, v.width-4, v.height-6), v.s.Options.Theme, lines)
}

// speciesWidth is the widest a species' name is written in a list.
const speciesWidth = 54

func cell(text string, columns int) string {
	text = grid.Fit(text, columns)
	for grid.Width(text) < columns {
		text += " "
	}
	return text
}

// openBlockers returns what keeps the record from being complete, as lines.
func (v *view) openBlockers(columns int) []line {
	var lines []line
	for _, b := range v.blockers {
		lines = append(lines, wrapped("- ", b.Mend, plain, columns)...)
	}
	return lines
}
