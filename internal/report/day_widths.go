package report

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	g "maragu.dev/gomponents"
	"maragu.dev/gomponents/html"

	"seamfit/internal/bench"
	"seamfit/internal/catalogue"
	"seamfit/internal/metrology"
)

// widthRow is the leg widths of one species.
type widthRow struct {
	Species            string
	N                  int
	Mean, SD, Min, Max float64
	Sizes              string // chosen
}

// measured returns the estimates of the birds that have one.
func measured(birds []bench.Handling) (with []bench.Handling, widths []float64) {
	for _, h := range birds {
		if h.Estimate != nil {
			with, widths = append(with, h), append(widths, h.Estimate.Leg.MeanMM)
		}
	}
	return with, widths
}

// widthSection is the leg widths by species among the bands' inner diameters;
// none where no bird was measured.
func (d Day) widthSection(birds []bench.Handling) (g.Node, error) {
	rows, drawing, err := d.widths(birds)
	if err != nil || len(rows) == 0 {
		return nil, err
	}
	t := newTable(column{"Species", plain}, column{"Birds", number}, column{"Mean mm", number}, column{"SD mm", number}, column{"Smallest", number}, column{"Largest", number}, column{"Sizes chosen", plain})
	for _, r := range rows {
		sd := "–"
		if r.N > 1 {
			sd = mm(r.SD, 2)
		}
		t.add(r.Species, strconv.Itoa(r.N), mm(r.Mean, 2), sd, mm(r.Min, 2), mm(r.Max, 2), r.Sizes)
	}
	return g.Group{
		html.H2(text("Leg widths")), plot(drawing),
		html.P(text("Dots are birds, with the interval that covers 95 % of what instrument and repeats leave open. Upright lines are inner diameters; those of sizes that were chosen are drawn full.")),
		t.node(),
	}, nil
}

// widths returns the table of widths by species and its plot; none where no
// bird was measured.
func (d Day) widths(birds []bench.Handling) ([]widthRow, g.Node, error) {
	var rows []widthRow
	names, of := bySpecies(birds)
	var species [][]bench.Handling
	for _, name := range names {
		with, widths := measured(of[name])
		if len(widths) == 0 {
			continue
		}
		s, err := metrology.Summarise(widths)
		if err != nil {
			return nil, nil, fmt.Errorf("the widths of %s: %w", name, err)
		}
		chosen := map[string]bool{}
		for _, h := range with {
			if h.Choice != nil {
				chosen[h.Choice.Size] = true
			}
		}
		rows = append(rows, widthRow{
			Species: name, N: s.N, Mean: s.Mean, SD: s.SD, Min: slices.Min(widths), Max: slices.Max(widths),
			Sizes: strings.Join(inTableOrder(chosen, d.catalogueOf(with[0])), ", "),
		})
		species = append(species, with)
	}
	if len(rows) == 0 {
		return nil, nil, nil
	}
	return rows, d.widthsPlot(rows, species), nil
}

// The measures of the plot of widths in pixels.
const (
	widthsAcross, widthsLeft, widthsRight = drawingWidth, 170, 20
	widthsTop, widthsRow                  = 58, 46
)

// widthsPlot draws each bird's width ± U on a line of its species, and the
// inner diameters of the sizes that lie near.
func (d Day) widthsPlot(rows []widthRow, species [][]bench.Handling) g.Node {
	low, high := rows[0].Min, rows[0].Max
	for _, r := range rows {
		low, high = min(low, r.Min), max(high, r.Max)
	}
	c := d.catalogueOf(species[0][0])
	chosen := map[string]bool{}
	for _, birds := range species {
		for _, h := range birds {
			if h.Choice == nil {
				continue
			}
			chosen[h.Choice.Size] = true
			if size, ok := c.Size(h.Choice.Size); ok && size.Inner > 0 {
				high = max(high, size.Inner.MM())
			}
		}
	}
	margin := max((high-low)*0.08, 0.3)
	height := widthsTop + widthsRow*len(rows) + 50
	x := axis{low - margin, high + margin, widthsLeft, widthsAcross - widthsRight}
	s := newDrawing(height, "Leg widths by species", "Each dot is a bird's leg width in millimetres with its expanded uncertainty; upright lines are inner diameters of band sizes. The table below has the figures.")
	bottom := height - 44
	drawSizes(s, x, bottom, c, chosen)
	for i, birds := range species {
		middle := widthsTop + widthsRow*i + widthsRow/2
		s.text(widthsLeft-8, middle+4, shortened(rows[i].Species, 24), "text-anchor:end;font-style:italic")
		s.Line(widthsLeft, middle, widthsAcross-widthsRight, middle, "stroke:#ddd")
		for k, h := range birds {
			leg := h.Estimate.Leg
			y := middle - 12 + k%5*6 // spread, so that equal widths show
			s.Line(x.at(max(leg.MeanMM-leg.ExpandedMM, x.low)), y, x.at(min(leg.MeanMM+leg.ExpandedMM, x.high)), y, "stroke:#06c")
			s.Circle(x.at(leg.MeanMM), y, 3, "fill:#06c;fill-opacity:.6")
		}
	}
	values, decimals := x.ticks(8)
	for _, v := range values {
		s.Line(x.at(v), bottom, x.at(v), bottom+5, "stroke:#333")
		s.Text(x.at(v), bottom+19, fmt.Sprintf("%.*f", decimals, v), "text-anchor:middle")
	}
	s.Line(widthsLeft, bottom, widthsAcross-widthsRight, bottom, "stroke:#333")
	s.Text((widthsLeft+widthsAcross-widthsRight)/2, height-6, "mm", "text-anchor:middle")
	return s.done()
}

// drawSizes draws the inner diameters in range; labels that would meet go to a
// row above.
func drawSizes(s drawing, x axis, bottom int, c *catalogue.Catalogue, chosen map[string]bool) {
	s.Text(widthsLeft-8, 16, "inner diameter of size", "text-anchor:end;fill:#555")
	sizes := slices.Clone(c.Sizes)
	slices.SortStableFunc(sizes, func(a, b catalogue.Size) int { return int(a.Inner - b.Inner) })
	last := [3]int{-100, -100, -100}
	previous := catalogue.Size{}
	for _, size := range sizes {
		mm := size.Inner.MM()
		if mm < x.low || mm > x.high || size.Inner == 0 || size.Discontinued && !chosen[size.Label] {
			continue
		}
		at := x.at(mm)
		style := "stroke:#999;stroke-dasharray:4 4"
		if chosen[size.Label] {
			style = "stroke:#b00;stroke-width:2"
		}
		s.Line(at, widthsTop-6, at, bottom, style)
		if size.Inner == previous.Inner && !chosen[size.Label] {
			continue // one label for sizes of one diameter
		}
		previous = size
		row := slices.IndexFunc(last[:], func(edge int) bool { return at-edge > 7*len(size.Label)+10 })
		if row < 0 {
			continue
		}
		last[row] = at
		s.text(at, widthsTop-12-14*row, size.Label, "text-anchor:middle;fill:#333")
	}
}

// shortened cuts a text that would run out of its place.
func shortened(text string, most int) string {
	runes := []rune(text)
	if len(runes) <= most {
		return text
	}
	return string(runes[:most-1]) + "…"
}
