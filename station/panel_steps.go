package station

import (
	"fmt"
	"strings"

	"seamfit/internal/bands"
	"seamfit/internal/bench"
	"seamfit/internal/catalogue"
	"seamfit/internal/fit"
	"seamfit/internal/grid"
)

func (v *view) birdLines(a Ask, columns, room int) []line {
	d := v.s.Desk
	switch a {
	case AskSpecies:
		return v.speciesLines(room)
	case AskAge:
		return append([]line{words("Which age?")}, choicesIn(ages(), columns)...)
	case AskNest, AskBrood, AskCaptured, AskReturned:
		return v.whenceLines(a, columns)
	case AskOtherAge:
		return []line{words("The age in your own words:"), fieldLine("age:", d.Typed)}
	case AskSex:
		return append([]line{words("Which sex?")}, choicesIn(sexes(), columns)...)
	case AskSide:
		lines := append([]line{words("Which leg gets the band?")}, choicesIn(sides(), columns)...)
		if v.s.Before.Leg != bench.LegUnsaid {
			lines = append(lines, say(piece{"Enter", key}, piece{" " + string(v.s.Before.Leg) + " leg, as before", plain}))
		}
		return lines
	default:
		again := []choice{{'s', "species"}, {'a', "age"}, {'x', "sex"}, {'l', "leg"}, {'j', "above or below the joint"}}
		for _, k := range whenceKeys() {
			again = append(again, k.choice)
		}
		lines := []line{words("The bird is told. To say something anew:")}
		lines = append(lines, choicesIn(again, columns)...)
		return append(lines, say(piece{"Enter", key}, piece{" goes on", plain}))
	}
}

func (v *view) speciesLines(room int) []line {
	d := v.s.Desk
	lines := []line{fieldLine("species:", d.Typed)}
	found := v.s.speciesFound()
	switch {
	case strings.TrimSpace(d.Typed) == "":
		lines = append(lines, words("Type a few letters of its name, then choose."))
		if before := v.s.Before.Species; before != "" {
			lines = append(lines, say(piece{"Enter", key}, piece{" " + v.s.shortName(bench.Handling{Bird: bench.Bird{Species: before}}) + ", as before", plain}))
		}
		return lines
	case len(found) == 0:
		return append(lines, say(piece{"No such name on the list. ", plain}, piece{"Enter", key}, piece{" takes it as typed.", plain}))
	}
	for i, sp := range found {
		if len(lines) >= room-1 {
			break
		}
		pointer, r := "  ", plain
		if i == min(d.Row, len(found)-1) {
			pointer, r = "► ", strong
		}
		row := []piece{{pointer + cell(sp.English+"  "+sp.Scientific, speciesWidth), r}}
		if sp.Mark.Advice() != "" {
			row = append(row, piece{"  sizes not verified", quiet})
		}
		lines = append(lines, say(row...))
	}
	return append(lines, say(piece{"Up Down", key}, piece{" choose   ", plain}, piece{"Enter", key}, piece{" take it   ", plain}, piece{"Right", key}, piece{" as typed", plain}))
}

func (v *view) legLines(a Ask, columns int) []line {
	d := v.s.Desk
	switch a {
	case AskTypedWidth:
		return []line{words(v.widthWords() + ", in mm; or with its unit, as 0.3315 in."), fieldLine("width:", d.Typed)}
	case AskSlot:
		return []line{words("The slot of the leg gauge that fits, as the gauge names it."), fieldLine("slot:", d.Typed)}
	case AskWhichMeasure, AskMeasure, AskMeasureReason:
		return v.furtherLines(a, columns)
	case AskWhichReading:
		lines := []line{words("Which reading is set aside? Its digit:")}
		return append(lines, wrapped("", readingList(v.h, true), plain, columns)...)
	case AskAside:
		return []line{words("What was wrong with the reading? It stays in the record, out of the estimate."), fieldLine("reason:", d.Typed)}
	}
	lines := v.legPrompt(columns)
	keys := []choice{{'t', "type a width"}, {'x', "set a reading aside"}, {'g', "leg gauge"}, {'f', "now " + feathersWords(d.Taking.Feathers)}}
	for _, k := range axisKeysFor(v.h) {
		keys = append(keys, k.choice)
	}
	if len(v.s.furtherMeasures()) > 0 {
		keys = append(keys, choice{keyFurther, "further measures"})
	}
	switch o := v.s.Options; {
	case o.Streams:
		keys = append(keys, choice{'a', "take the value that stands"})
	case o.Asks:
		keys = append(keys, choice{'a', "ask the caliper"})
	}
	lines = append(lines, choicesIn(keys, columns)...)
	if len(v.h.Readings) > 0 {
		lines = append(lines, say(piece{"Enter", key}, piece{" goes on", plain}))
	}
	return lines
}

// widthWords say which width is typed: on a sheet they are told one by one.
func (v *view) widthWords() string {
	widths, _ := v.h.Counted()
	if wanted := v.s.Bench.Setup.Readings; v.s.late() && len(widths) < wanted {
		return fmt.Sprintf("Width %d of %d, as the sheet has it", len(widths)+1, wanted)
	}
	return "The width as read"
}

func (v *view) legPrompt(columns int) []line {
	widths, _ := v.h.Counted()
	wanted := v.s.Bench.Setup.Readings
	next, other := axisKeyOf(v.s.Desk.Taking.Next)
	var lines []line
	switch {
	case !v.h.InHand():
		lines = wrapped("", "The bird has left the hand: only a width that was measured before can be typed.", plain, columns)
	case other:
		lines = wrapped("", next.prompt, strong, columns)
	case v.measured && !v.fit.Agreement.OK:
		text := fmt.Sprintf("The readings disagree: %.2f mm apart, and %.3f mm is the most that such readings differ by. Take another, or set the wrong one aside.",
			v.fit.Agreement.RangeMM, v.fit.Agreement.CriticalRangeMM)
		lines = wrapped("! ", text, wrong, columns)
	case v.s.late() && len(widths) < wanted:
		lines = wrapped("", fmt.Sprintf("Reading %d of %d, as the sheet has it: t types the widths.", len(widths)+1, wanted), strong, columns)
	case len(widths) < wanted:
		lines = wrapped("", fmt.Sprintf("Reading %d of %d: the greatest width of the tarsus, where the band will sit. Open the jaws between readings.", len(widths)+1, wanted), strong, columns)
	default:
		lines = wrapped("", "The leg is measured. Another reading counts too.", plain, columns)
	}
	if len(v.h.Readings) > 0 {
		lines = append(lines, words("readings: "+readingList(v.h, false)))
	}
	if text := v.historyWords(); text != "" {
		lines = append(lines, words(text))
	}
	return lines
}

func (v *view) sizeLines(a Ask, columns, room int) []line {
	d := v.s.Desk
	switch a {
	case AskWarnings:
		return v.warningLines(columns)
	case AskMetal:
		lines := []line{say(piece{"Size " + d.Choice.Size + ": which metal?", strong})}
		lines = append(lines, choicesIn(v.s.metals(), columns)...)
		lines = append(lines, v.metalAdvice(columns)...)
		enter := say(piece{"Enter", key}, piece{" " + v.s.usualMetal() + "   ", plain})
		if kinds := v.s.closures(); len(kinds) > 1 {
			kind := kinds[0]
			if d.Choice.Closure != "" {
				kind = d.Choice.Closure
			}
			enter.pieces = append(enter.pieces, piece{string(keyClosure), key}, piece{" another closure than " + kind, plain})
		}
		return append(lines, enter)
	case AskClosure:
		var kinds []choice
		for i, id := range v.s.closures() {
			kinds = append(kinds, choice{rune('1' + i), id})
		}
		lines := append([]line{words("Which closure?")}, choicesIn(kinds, columns)...)
		return append(lines, say(piece{"Enter", key}, piece{" the first", plain}))
	case AskSizeReason:
		return []line{
			words("Why size " + d.Choice.Size + " in " + d.Choice.Metal + " all the same? It is stored; Esc goes back."),
			fieldLine("reason:", d.Typed),
		}
	case AskTightAgain:
		lines := wrapped("! ", "Size "+d.Choice.Size+" is TIGHT on this leg, and a tight band cripples it.", alarm, columns)
		return append(lines, say(piece{"y", key}, piece{" takes it all the same; any other key goes back", plain}))
	}
	return v.sizeList(columns, room)
}

// sizeList offers the sizes and the worst of what warns, as many of both as
// there is room for.
func (v *view) sizeList(columns, room int) []line {
	offered := v.s.offered()
	const leastRows = 3
	var warnings []line
	shown := 0
	all := v.warnings()
	for _, w := range all {
		more := wrapped("! ", w.Text, wrong, columns)
		if len(warnings)+len(more) > max(room-2-leastRows, 1) {
			break
		}
		warnings, shown = append(warnings, more...), shown+1
	}
	above := v.unmeasuredLines(columns)
	rows := max(min(room-len(warnings)-len(above)-2, len(offered)), 1)
	first := max(0, min(v.s.Desk.Row-rows+1, len(offered)-rows))
	lines := append(above, words("     size     inner   play  verdict    why"))
	for i := first; i < min(first+rows, len(offered)); i++ {
		lines = append(lines, v.sizeRow(i, offered[i], columns))
	}
	keys := say(piece{"1-9", key}, piece{" or ", plain}, piece{"Up Down Enter", key}, piece{" choose; ■ listed   ", plain})
	if v.h.Choice != nil && v.kinds() > 1 {
		keys.pieces = append(keys.pieces, piece{string(keyClosure), key}, piece{" closure   ", plain})
	}
	if v.s.maybeTooSmall(v.h) {
		keys.pieces = append(keys.pieces, piece{string(keyTooSmall), key}, piece{" not banded   ", plain})
	}
	if hidden := len(all) - shown; hidden > 0 {
		keys.pieces = append(keys.pieces, piece{"w", key}, piece{fmt.Sprintf(" %s more", count(hidden, "warning")), plain})
	}
	return append(append(lines, warnings...), keys)
}

// metalAdvice says why hard metal is advised for the bird, and of the metals
// whose wear is known how long a number can be read.
func (v *view) metalAdvice(columns int) []line {
	var lines []line
	for _, text := range v.s.Bench.MetalAdvice(v.h, "").Words("") {
		lines = append(lines, wrapped("", catalogue.Capital(text)+".", plain, columns)...)
	}
	for _, metal := range v.s.Bench.Setup.Book.Metals {
		advice := v.s.Bench.MetalAdvice(v.h, metal.Name)
		if advice.Wear == nil {
			continue
		}
		advice.HardAdvised = false
		for _, text := range advice.Words(metal.Name) {
			lines = append(lines, wrapped("", catalogue.Capital(text)+".", plain, columns)...)
		}
	}
	return lines
}

// kinds counts the closure kinds of the size that has been chosen.
func (v *view) kinds() int {
	size, ok := v.s.Bench.Catalogue().Size(v.h.Choice.Size)
	if !ok {
		return 0
	}
	return len(v.s.Bench.ClosuresFor(v.h, size))
}

// warnings returns what warns about the choice: of all sizes, and of the one
// that the row in view would take.
func (v *view) warnings() []fit.Warning {
	offered := v.s.offered()
	if !v.measured || len(offered) == 0 {
		return v.fit.Warnings
	}
	return v.fit.WarningsFor(offered[min(v.s.Desk.Row, len(offered)-1)].Size)
}

// warningLines list everything that warns about the choice.
func (v *view) warningLines(columns int) []line {
	lines := []line{say(piece{"Before you choose:", strong})}
	for _, w := range v.warnings() {
		lines = append(lines, wrapped("! ", w.Text, wrong, columns)...)
	}
	return append(lines, say(piece{"any key", key}, piece{" goes back to the sizes", plain}))
}

func (v *view) sizeRow(i int, c fit.Candidate, columns int) line {
	pointer, digit, mark, r := " ", " ", " ", plain
	if i == v.s.Desk.Row {
		pointer, r = "►", strong
	}
	if i < 9 {
		digit = string(rune('1' + i))
	}
	if c.Recommended {
		mark = "■"
	}
	play := ""
	if c.Verdict != fit.Unjudged {
		play = fmt.Sprintf("%.0f %%", 100*c.Play)
	}
	verdict, why := verdictWords(c), c.Why(v.fit, v.s.Bench.Setup.Model)
	switch {
	case !v.measured && c.Recommended:
		verdict, why = "", "listed"
	case !v.measured:
		verdict, why = "", "not listed"
	case c.Size == v.fit.Best:
		why = "best: " + why
	}
	text := fmt.Sprintf(" %s %s %6s %6s  %s ", mark, cell(c.Size, 8), innerText(c), play, cell(verdict, 10))
	room := columns - grid.Width(pointer+digit+text)
	return say(piece{pointer, r}, piece{digit, key}, piece{text + wholeClauses(why, room), r})
}

func innerText(c fit.Candidate) string {
	if c.InnerMM == 0 {
		return "?"
	}
	return fmt.Sprintf("%.2f", c.InnerMM)
}

func (v *view) numberLines(a Ask, columns int) []line {
	d := v.s.Desk
	switch a {
	case AskOnLeg:
		reason := " it is on the leg: give the reason"
		if hasCode(v.s.Refused, bench.NumberNotIssued, bench.NumberOutOfOrder) {
			reason = " take it all the same: give the reason"
		}
		return []line{
			say(piece{"r", key}, piece{reason, plain}),
			say(piece{"any other key", key}, piece{" another number", plain}),
		}
	case AskNumberReason:
		return []line{words("Why is it this number? The reason is stored."), fieldLine("reason:", d.Typed)}
	case AskInscription:
		return append(wrapped("", "The band that the bird wears: its number as inscribed, ? for each digit that can't be read.", plain, columns), fieldLine("found band:", d.Typed))
	case AskFoundLeg, AskCondition, AskScheme, AskThen:
		return v.foundLines(a, columns)
	}
	return v.numberPrompt(columns)
}

func (v *view) numberPrompt(columns int) []line {
	pattern := v.s.Bench.Setup.Pattern
	text := fmt.Sprintf("Scan the band, or type its number as %s.", pattern.Example)
	if band, ok := v.h.CurrentBand(); ok {
		text = fmt.Sprintf("A number is taken. Another one, as %s, puts it back; Enter goes on.", pattern.Example)
		if band.Closed {
			text = "A band is on the leg. If it has another number than was told, type that number as read off it; F6 removes the band."
		}
	}
	lines := append(v.stopAdvice(columns), wrapped("", text, plain, columns)...)
	lines = append(lines, fieldLine("number:", v.s.Desk.Typed))
	if next := v.s.offeredNumber(v.h); next != "" {
		lines = append(lines, say(piece{"Enter", key}, piece{" " + next + ", the next one, if that is what the band says", plain}))
	}
	lines = append(lines, v.stockLines(columns)...)
	return append(lines, say(piece{"F4", key}, piece{" the bird wears a band already", plain}))
}

func (v *view) fateLines(a Ask, columns int) []line {
	d := v.s.Desk
	switch a {
	case AskFate:
		lines := []line{words("How does the bird leave the hand?")}
		var offered []choice
		for _, c := range fates() {
			offered = append(offered, choice{c.key, bench.Fate(c.words).Words()})
		}
		lines = append(lines, choicesIn(offered, columns)...)
		if open(v.h) {
			lines = append(lines, say(piece{string(keyResolve), key}, piece{" there is no bird: it was begun by mistake", plain}))
		}
		return lines
	case AskFateReason:
		return append(v.bandGoesBack(columns), words(catalogue.Capital(d.Fate.Words())+": why? The reason is stored; Esc goes back."), fieldLine("reason:", d.Typed))
	case AskResolve:
		if v.h.Void() {
			return []line{words("Begun by mistake: what happened? It is stored; Esc goes back."), fieldLine("reason:", d.Typed)}
		}
		return []line{words("What resolves it: seen again, band found, or why nothing more can be done?"), fieldLine("reason:", d.Typed)}
	}
	return v.completeLines(columns)
}

// bandGoesBack says what a fate makes of a band that was taken and never looked
// at: only the person knows whether it is on the leg.
func (v *view) bandGoesBack(columns int) []line {
	band, taken := v.h.CurrentBand()
	if !taken || band.State != bands.Opened || v.s.Desk.Fate == bench.FateUnconfirmed {
		return nil
	}
	return wrapped("! ", "Its band "+band.Number+" then counts as not put on, and goes back. If it is on the leg, go back with Esc and tell the closure as unconfirmed.", wrong, columns)
}

// completeLines offers to complete the record, or lists what is still open.
func (v *view) completeLines(columns int) []line {
	var lines []line
	switch {
	case len(v.blockers) == 0:
		lines = append(lines, say(piece{"Nothing is missing. ", strong}, piece{"Enter", key}, piece{" marks the record complete.", plain}))
	case v.h.Resolved != "" && len(v.s.Refused) == 0:
		lines = append(lines, wrapped("", "Resolved: nothing more is asked. The record stays without the mark of a complete one.", strong, columns)...)
	case len(v.s.Refused) == 0:
		lines = append(lines, say(piece{"Not complete yet:", strong}))
		lines = append(lines, v.openBlockers(columns)...)
	}
	if v.measured && !v.fit.Agreement.OK {
		lines = append(lines, wrapped("! ", "The leg's readings disagree: set the wrong one aside with its reason (leg step, x), or measure once more.", wrong, columns)...)
	}
	if open(v.h) {
		lines = append(lines, say(piece{string(keyResolve), key}, piece{" resolves it, with the reason", plain}))
	}
	return append(lines, say(piece{"b u c e d", key}, piece{" tell the fate anew", plain}))
}
