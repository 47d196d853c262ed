package seam

import (
	"fmt"
	"strings"
)

// Marks of the learning curve: a closing that was flush, and one that was not.
const (
	flushMark  = "■"
	failedMark = "x"
)

// curveRows is the height of a learning curve.
const curveRows = 6

// Curve returns the learning curve as text: the score S after each of the last
// closings that have room in so many columns, the line h that meets the
// target, and below each closing whether it was flush. It ends with a line
// break, and is empty without closings.
func Curve(r Record, width int) string {
	const labels = 9
	room := min(max(width-labels, 10), len(r.Outcomes))
	if room == 0 {
		return ""
	}
	first := len(r.Outcomes) - room
	rowOf := func(s float64) int {
		if s >= r.Needed-equal {
			return curveRows - 1
		}
		return int(s / r.Needed * (curveRows - 1))
	}
	var b strings.Builder
	for row := curveRows - 1; row >= 0; row-- {
		label := ""
		switch row {
		case curveRows - 1:
			label = fmt.Sprintf("h %.2f", r.Needed)
		case 0:
			label = "0.00"
		}
		line := fmt.Sprintf("%7s │", label)
		for i := first; i < len(r.Outcomes); i++ {
			switch {
			case rowOf(r.Scores[i]) == row:
				line += "●"
			case row == curveRows-1:
				line += "-"
			default:
				line += " "
			}
		}
		b.WriteString(strings.TrimRight(line, " ") + "\n")
	}
	looks := ""
	for _, flush := range r.Outcomes[first:] {
		if flush {
			looks += flushMark
		} else {
			looks += failedMark
		}
	}
	fmt.Fprintf(&b, "%7s │%s\n", "look", looks)
	fmt.Fprintf(&b, "%7s  closings %d to %d; %s flush, %s not; the target is met where ● touches h\n", "", first+1, len(r.Outcomes), flushMark, failedMark)
	return b.String()
}
