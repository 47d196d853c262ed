package fit

import (
	"fmt"
	"math"
	"strings"
)

// Ruler draws a leg among the inner diameters as text, width columns wide (at
// least 30): the sizes' labels, an axis in millimetres on which # is the
// leg's 95 % interval, ( and ) the least and the greatest play of the limits,
// T the target, | a size, * a size of the office's list, and a key. It ends
// with a line break.
func Ruler(r Result, m Model, width int) string {
	width = max(width, 30)
	leg := r.Leg.MeanMM
	scale := axis{
		from: math.Max(0, r.Leg.Low()-0.04*leg),
		to:   math.Max((1+m.MaxPlay)*1.08*leg, r.Leg.High()),
		cols: width,
	}
	line := []byte(strings.Repeat("-", width))
	for col := scale.at(r.Leg.Low()); col <= scale.at(r.Leg.High()); col++ {
		line[col] = '#'
	}
	labels := labelRows{width: width}
	for _, c := range r.Sizes {
		if c.Verdict == Unjudged || c.InnerMM < scale.from || c.InnerMM > scale.to {
			continue
		}
		col := scale.at(c.InnerMM)
		if c.Recommended || line[col] == '*' {
			line[col] = '*'
		} else {
			line[col] = '|'
		}
		labels.place(clean(c.Size), col)
	}
	// The limits last: they are what the eye compares with.
	line[scale.at((1+m.MinPlay)*leg)] = '('
	line[scale.at((1+m.MaxPlay)*leg)] = ')'
	if col := scale.at((1 + m.TargetPlay) * leg); line[col] == '-' {
		line[col] = 'T'
	}
	left, right := fmt.Sprintf("%.1f", scale.from), fmt.Sprintf("%.1f mm", scale.to)
	gap := max(1, width-len(left)-len(right))
	return labels.String() + string(line) + "\n" + left + strings.Repeat(" ", gap) + right + "\n" +
		"# leg   ( least play   T target   ) greatest play   | size   * listed\n"
}

// axis maps millimetres to columns.
type axis struct {
	from, to float64
	cols     int
}

func (a axis) at(mm float64) int {
	col := int(math.Round((mm - a.from) / (a.to - a.from) * float64(a.cols-1)))
	return min(max(col, 0), a.cols-1)
}

// labelRows sets labels over their columns, in as many rows as it takes for
// none to cover another.
type labelRows struct {
	width int
	rows  [][]rune
}

func (l *labelRows) place(label string, col int) {
	text := []rune(label)
	start := min(max(col-len(text)/2, 0), max(0, l.width-len(text)))
	for _, row := range l.rows {
		if put(row, text, start) {
			return
		}
	}
	row := []rune(strings.Repeat(" ", max(l.width, len(text))))
	put(row, text, start)
	l.rows = append(l.rows, row)
}

// put writes text into row if the place and a blank on either side are free.
func put(row, text []rune, start int) bool {
	for i := max(0, start-1); i < min(len(row), start+len(text)+1); i++ {
		if row[i] != ' ' {
			return false
		}
	}
	copy(row[start:], text)
	return true
}

func (l *labelRows) String() string {
	var b strings.Builder
	for i := len(l.rows) - 1; i >= 0; i-- {
		b.WriteString(strings.TrimRight(string(l.rows[i]), " ") + "\n")
	}
	return b.String()
}
