package station

import (
	"strings"

	"seamfit/internal/grid"
)

// piece is a run of text in one role.
type piece struct {
	text string
	role role
}

// line is one row of text. Field is what is being typed after the pieces, with
// the cursor behind it.
type line struct {
	pieces []piece
	field  *string
}

func say(pieces ...piece) line { return line{pieces: pieces} }

func words(text string) line { return say(piece{text, plain}) }

// wrapped returns text as lines of one role; the first begins with lead, the
// others with as many blanks.
func wrapped(lead, text string, r role, columns int) []line {
	var lines []line
	indent := strings.Repeat(" ", grid.Width(lead))
	for i, row := range grid.Wrap(text, columns-len(indent)) {
		if i == 0 {
			row = lead + row
		} else {
			row = indent + row
		}
		lines = append(lines, say(piece{row, r}))
	}
	return lines
}

// choicesIn returns keys with their words, in as many lines as it takes.
func choicesIn(choices []choice, columns int) []line {
	var lines []line
	var now line
	used := 0
	for _, c := range choices {
		width := 2 + grid.Width(c.words) + 3
		if used > 0 && used+width > columns {
			lines = append(lines, now)
			now, used = line{}, 0
		}
		now.pieces = append(now.pieces, piece{string(c.key), key}, piece{" " + c.words + "   ", plain})
		used += width
	}
	if used > 0 {
		lines = append(lines, now)
	}
	return lines
}

// ask returns a line with a field.
func fieldLine(label, typed string) line {
	return line{pieces: []piece{{label + " ", strong}}, field: &typed}
}

// draw writes the lines into the area, from its top.
func draw(a grid.Area, t Theme, lines []line) {
	width, _ := a.Size()
	for y, l := range lines {
		x := 0
		for _, p := range l.pieces {
			x = a.Put(x, y, p.text, t.style(p.role))
		}
		if l.field == nil {
			continue
		}
		room := width - x - 1
		text := tail(*l.field, room)
		end := a.Put(x, y, text, t.style(field))
		a.Cursor(end, y)
	}
}

// tail returns the end of a text that is too long for its field.
func tail(text string, columns int) string {
	runes := []rune(text)
	for len(runes) > 0 && grid.Width(string(runes)) > columns {
		runes = runes[1:]
	}
	return string(runes)
}

// wholeClauses returns as many of a text's clauses, from its first, as fit
// whole: half a clause misleads more than none.
func wholeClauses(text string, columns int) string {
	for grid.Width(text) > columns {
		end := strings.LastIndex(text, "; ")
		if end < 0 {
			break
		}
		text = text[:end]
	}
	return text
}
