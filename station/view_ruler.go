package station

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"seamfit/internal/fit"
	"seamfit/internal/grid"
)

// Columns of the ruler beside its scale.
const (
	rulerLabel   = 12
	rulerVerdict = 18
)

// scale maps leg widths in millimetres to columns.
type scale struct {
	from, to float64
	left     int
	columns  int
}

// at returns the column of a width, which may lie outside the scale.
func (s scale) at(mm float64) int {
	return s.left + int(math.Round((mm-s.from)/(s.to-s.from)*float64(s.columns-1)))
}

func (s scale) inside(col int) bool { return col >= s.left && col < s.left+s.columns }

// ruler draws, for the sizes that are nearest, the leg widths that each fits
// (from its inner diameter over the greatest play to that over the least), and
// through them the leg's 95 % interval. Behind both stands where the bench's
// own birds of this kind usually are.
func (v *view) ruler(a grid.Area) {
	width, height := a.Size()
	theme := v.s.Options.Theme
	shown := v.judged(height - 1)
	if len(shown) == 0 {
		text := "ruler: the leg among the sizes, as soon as it is measured"
		if v.measured {
			text = "ruler: no size of this catalogue can be judged by its inner diameter"
		}
		a.Put(2, 1, text, theme.style(quiet))
		return
	}
	model := v.s.Bench.Setup.Model
	sc := scale{left: rulerLabel, columns: width - rulerLabel - rulerVerdict}
	sc.from, sc.to = v.fit.Leg.Low(), v.fit.Leg.High()
	for _, c := range shown {
		sc.from = math.Min(sc.from, c.InnerMM/(1+model.MaxPlay))
		sc.to = math.Max(sc.to, c.InnerMM/(1+model.MinPlay))
	}
	margin := (sc.to - sc.from) * 0.02
	sc.from, sc.to = math.Max(sc.from-margin, 0), sc.to+margin
	for y, c := range shown {
		v.rulerRow(a, y, c, sc)
	}
	v.rulerAxis(a, len(shown), sc)
}

// judged returns the n sizes that play can judge and that stand first, the one
// that was chosen among them, by inner diameter.
func (v *view) judged(n int) []fit.Candidate {
	var list []fit.Candidate
	for _, c := range v.fit.Sizes {
		switch {
		case c.Verdict == fit.Unjudged:
		case len(list) < n:
			list = append(list, c)
		case n > 0 && v.chosen(c):
			list[n-1] = c
		}
	}
	slices.SortStableFunc(list, func(a, b fit.Candidate) int { return cmp.Compare(a.InnerMM, b.InnerMM) })
	return list
}

func (v *view) chosen(c fit.Candidate) bool { return v.h.Choice != nil && v.h.Choice.Size == c.Size }

func (v *view) rulerRow(a grid.Area, y int, c fit.Candidate, sc scale) {
	theme := v.s.Options.Theme
	model := v.s.Bench.Setup.Model
	mark, r := "  ", plain
	if c.Recommended {
		mark = "■ "
	}
	if c.Size == v.fit.Best {
		r = strong
	}
	a.Put(1, y, mark+grid.Fit(c.Size, rulerLabel-4), theme.style(r))
	low, high := sc.at(c.InnerMM/(1+model.MaxPlay)), sc.at(c.InnerMM/(1+model.MinPlay))
	from, to := v.usual(sc)
	for col := from; col <= to; col++ {
		a.Put(col, y, "·", theme.style(quiet))
	}
	for col := max(low, sc.left); col <= high && sc.inside(col); col++ {
		sign := "░"
		if col >= from && col <= to {
			sign = "▒"
		}
		a.Put(col, y, sign, theme.style(ruled))
	}
	for col := max(sc.at(v.fit.Leg.Low()), sc.left); col <= sc.at(v.fit.Leg.High()) && sc.inside(col); col++ {
		sign := "│"
		if col >= low && col <= high {
			sign = "█"
		}
		a.Put(col, y, sign, theme.style(strong))
	}
	verdict := verdictWords(c)
	switch {
	case v.chosen(c):
		verdict += ", taken"
	case c.Size == v.fit.Best:
		verdict += ", best"
	}
	a.Put(sc.left+sc.columns+1, y, verdict, theme.style(r))
}

// verdictWords says the verdict; borderline names its side.
func verdictWords(c fit.Candidate) string {
	switch {
	case c.Verdict == fit.Borderline && c.Side == fit.Tight:
		return "near tight"
	case c.Verdict == fit.Borderline:
		return "near loose"
	case c.Verdict == fit.Unjudged:
		return "not judged"
	default:
		return string(c.Verdict)
	}
}

// rulerAxis draws the scale with labels at round widths.
func (v *view) rulerAxis(a grid.Area, y int, sc scale) {
	theme := v.s.Options.Theme
	a.Put(1, y, "leg width", theme.style(quiet))
	step := roundStep((sc.to - sc.from) / 6)
	for i := math.Ceil(sc.from / step); i*step <= sc.to; i++ {
		label := fmt.Sprintf("%.*f", decimalsOf(step), i*step)
		if col := sc.at(i * step); sc.inside(col) && sc.inside(col+len(label)) {
			a.Put(col, y, "'"+label, theme.style(ruled))
		}
	}
	legend := "mm   ■ listed"
	if from, to := v.usual(sc); from <= to {
		legend = "mm ■ list ·before"
	}
	a.Put(sc.left+sc.columns+1, y, legend, theme.style(quiet))
}

// roundStep returns the least of 1, 2 and 5 times a power of ten that is not
// below the given step.
func roundStep(step float64) float64 {
	power := math.Pow(10, math.Floor(math.Log10(step)))
	for _, m := range []float64{1, 2, 5} {
		if m*power >= step {
			return m * power
		}
	}
	return 10 * power
}

func decimalsOf(step float64) int { return max(int(math.Ceil(-math.Log10(step)-1e-9)), 0) }
