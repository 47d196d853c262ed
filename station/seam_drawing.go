package station

import (
	"fmt"
	"math"
	"strings"

	"seamfit/internal/catalogue"
	"seamfit/internal/seam"
)

// The drawing of a seam: left, the band as it is seen from outside, with its
// edges; below that, the metal as it is seen from the rim; right, the ring from
// above. What is wrong can be told apart by shape alone, and shows exactly from
// where an eye sees it (seam.Sight.Findings); it is drawn larger than it is.
const (
	faceColumns = 21
	faceRows    = 3
	ringColumns = 11
	// drawingColumns and drawingRows are its size.
	drawingColumns = faceColumns + 2 + ringColumns
	drawingRows    = faceRows + 1 + 2 + 1
)

const seamColumn = faceColumns / 2

// drawing returns the rows of the drawing of a seam, all of one width. pliers
// nil: without pliers.
func drawing(s seam.Sight, pliers *seam.Pliers) []string {
	left := append(faceOf(s), profileOf(s)...)
	right := ringOf(s, pliers)
	rows := make([]string, drawingRows)
	for i := range rows {
		l, r := "", ""
		if i < len(left) {
			l = left[i]
		}
		if i < len(right) {
			r = right[i]
		}
		rows[i] = cell(l, faceColumns) + "  " + cell(r, ringColumns)
	}
	if pliers != nil {
		rows[drawingRows-1] = cell(jawsOf(*pliers), drawingColumns)
	}
	return rows
}

// cells is how many cells something is drawn large: none while it is not seen,
// then one for each time that it is as large as what is just seen.
func cells(mm, seen float64, most int) int {
	if !(mm > seen) {
		return 0
	}
	return int(math.Max(1, math.Min(math.Ceil(mm/seen)-1, float64(most))))
}

// faceOf is the band from outside: its edges left and right of the seam, out
// of line by a row when they are.
func faceOf(s seam.Sight) []string {
	leftTop, rightTop := 0, 0
	switch {
	case s.OffsetMM > seam.SeenOffsetMM:
		rightTop = 1
	case s.OffsetMM < -seam.SeenOffsetMM:
		leftTop = 1
	}
	rows := make([]string, faceRows+1)
	for y := range rows {
		row := []rune(strings.Repeat(" ", faceColumns))
		left, right := edges(s, y-leftTop), edges(s, y-rightTop)
		if y >= leftTop && y < leftTop+faceRows {
			fill(row, 0, left.left, '░')
			row[left.left] = '│'
		}
		if y >= rightTop && y < rightTop+faceRows {
			fill(row, right.right+1, faceColumns, '░')
			row[right.right] = '│'
			if right.ridden > 0 {
				fill(row, right.right+1, right.right+1+right.ridden, '▓')
			}
		}
		if s.Caught && y == leftTop+1 {
			fill(row, seamColumn-3, seamColumn, '~')
			fill(row, seamColumn+1, seamColumn+4, '~')
		}
		rows[y] = string(row)
	}
	return rows
}

// edge is where the edges stand in one row: the last column of the left metal,
// the first of the right, and how many columns the right one rides.
type edge struct{ left, right, ridden int }

func edges(s seam.Sight, y int) edge {
	if ridden := ridden(s); ridden > 0 {
		return edge{seamColumn, seamColumn - (ridden+1)/2, ridden}
	}
	gap := cells(s.GapMM, seam.SeenGapMM, 13)
	// The taper opens the rim that is wider: two columns there, one between.
	if wide := min(cells(math.Abs(s.TaperMM), seam.SeenTaperMM, 2), 2); wide > 0 {
		fromNarrow := y
		if s.TaperMM > 0 {
			fromNarrow = faceRows - 1 - y
		}
		gap += max(fromNarrow, 0) * (wide + 1) / 2
	}
	if gap == 0 {
		return edge{left: seamColumn, right: seamColumn}
	}
	left := seamColumn - (gap+1)/2
	return edge{left: left, right: left + gap + 1}
}

// ridden is how many columns one edge rides over the other.
func ridden(s seam.Sight) int {
	if s.GapMM >= -seam.SeenOverlapMM {
		return 0
	}
	return 2 + cells(-s.GapMM, 2*seam.SeenGapMM, 4)
}

// profileOf is the metal from the rim: two rows, the upper one for an edge
// that rides.
func profileOf(s seam.Sight) []string {
	upper, lower := []rune(strings.Repeat(" ", faceColumns)), []rune(strings.Repeat(" ", faceColumns))
	e := edges(s, faceRows/2)
	if e.ridden > 0 {
		fill(upper, e.right, faceColumns, '═')
		fill(lower, 0, e.right+e.ridden+1, '═')
	} else {
		fill(lower, 0, faceColumns, '═')
		if e.left == e.right {
			lower[e.left] = '╪'
		} else {
			fill(lower, e.left+1, e.right, ' ')
		}
	}
	if s.Burr {
		at := max(e.left-1, 0)
		upper[at] = '^'
	}
	return []string{string(upper), string(lower)}
}

// ringOf is the ring from above, with the seam at its top and the pliers where
// they take hold.
func ringOf(s seam.Sight, pliers *seam.Pliers) []string {
	rows := []string{"", "  ┌──┬──┐", "  │     │", "  │     │", "  └─────┘"}
	if s.RoundMM > seam.SeenRoundMM {
		rows = []string{"", "┌────┬────┐", "│         │", "└─────────┘", ""}
	}
	if pliers != nil {
		rows[0] = [...]string{" ▼", "     ▼", "        ▼"}[max(-1, min(pliers.Turn, 1))+1]
	}
	return rows
}

// columnsPerMM is the scale of the pliers' place.
const columnsPerMM = 2

// jawsOf shows where the jaws' edges stand to the band's edges, and in words.
func jawsOf(p seam.Pliers) string {
	out := min(int(math.Round(max(p.EdgeMM, 0)*columnsPerMM)), seamColumn)
	row := []rune(strings.Repeat(" ", faceColumns))
	row[seamColumn-out], row[seamColumn+out] = '▲', '▲'
	turn := [...]string{"left", "mid", "right"}[max(-1, min(p.Turn, 1))+1]
	return string(row) + fmt.Sprintf(" %.1f mm %s", max(p.EdgeMM, 0), turn)
}

func fill(row []rune, from, to int, char rune) {
	for i := max(from, 0); i < min(to, len(row)); i++ {
		row[i] = char
	}
}

// exemplar returns how a finding looks; false for one that is not of the seam.
func exemplar(finding string) (seam.Sight, bool) {
	switch finding {
	case catalogue.Gap:
		return seam.Sight{GapMM: 0.4}, true
	case catalogue.Overlap:
		return seam.Sight{GapMM: -0.5}, true
	case catalogue.Spiral:
		return seam.Sight{OffsetMM: 0.4}, true
	case catalogue.Taper:
		return seam.Sight{TaperMM: 0.3}, true
	case catalogue.OutOfRound:
		return seam.Sight{RoundMM: 0.5}, true
	case catalogue.Burr:
		return seam.Sight{Burr: true}, true
	case catalogue.Caught:
		return seam.Sight{Caught: true}, true
	default:
		return seam.Sight{}, false
	}
}
