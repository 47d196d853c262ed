package metrology

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// fewestColumns is the least width of a plot that can be read.
const fewestColumns = 40

// ResidualLimit returns how far off the line 95 % of single readings lie, in
// millimetres: t₀.₉₇₅(ν)·s, with the SD of the residuals and its degrees of
// freedom.
func (c Calibration) ResidualLimit() float64 {
	return CoverageFactor(coverage, float64(c.N-2)) * c.ResidualSDMM
}

// ResidualPlot draws the residuals of the readings as text, one row for each
// reference, in ASCII that any terminal shows: a digit is the number of
// readings at that place (o: one, +: over nine), X one that Grubbs' test
// doubts, | the limits of ResidualLimit, : zero. The lines are at most columns
// wide, 40 at least.
func (c Calibration) ResidualPlot(columns int) string {
	const label = 12
	width := max(columns, fewestColumns) - label
	width -= 1 - width%2 // odd, so that zero has a column
	limit := c.ResidualLimit()
	reach := limit
	rows := map[float64][]ReadingResidual{}
	var references []float64
	for _, r := range c.Readings {
		reach = max(reach, math.Abs(r.ResidualMM))
		if rows[r.ReferenceMM] == nil {
			references = append(references, r.ReferenceMM)
		}
		rows[r.ReferenceMM] = append(rows[r.ReferenceMM], r)
	}
	slices.Sort(references)
	half := width / 2
	column := func(mm float64) int {
		if reach == 0 {
			return half
		}
		return half + int(math.Round(mm/reach*float64(half-1)))
	}
	var b strings.Builder
	fmt.Fprintf(&b, "residuals in mm, limits +-%.4f for 95 %% of readings\n", limit)
	for _, reference := range references {
		line := []byte(strings.Repeat(" ", width))
		line[half] = ':'
		line[column(-limit)], line[column(limit)] = '|', '|'
		mark(line, rows[reference], column)
		fmt.Fprintf(&b, "%9.3f   %s\n", reference, strings.TrimRight(string(line), " "))
	}
	axis := []byte(strings.Repeat(" ", width))
	copy(axis, fmt.Sprintf("%+.4f", -reach))
	axis[half] = '0'
	end := fmt.Sprintf("%+.4f", reach)
	copy(axis[width-len(end):], end)
	fmt.Fprintf(&b, "%12s%s\n", "", string(axis))
	return b.String()
}

// mark puts the readings of one reference on its line.
func mark(line []byte, readings []ReadingResidual, column func(float64) int) {
	counts := map[int]int{}
	for _, r := range readings {
		counts[column(r.ResidualMM)]++
	}
	for at, n := range counts {
		switch {
		case n == 1:
			line[at] = 'o'
		case n <= 9:
			line[at] = byte('0' + n)
		default:
			line[at] = '+'
		}
	}
	for _, r := range readings {
		if r.Suspect {
			line[column(r.ResidualMM)] = 'X'
		}
	}
}
