package report

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"

	g "maragu.dev/gomponents"
	"maragu.dev/gomponents/html"

	"seamfit/internal/bands"
	"seamfit/internal/bench"
	"seamfit/internal/metrology"
)

// closingRow is the closings of one size and metal. A band is flush at first
// look when its first closing had no finding; closings after the first of a
// band are corrections.
type closingRow struct {
	Size, Metal                         string
	Bands, Flush, Corrections, Removals int
	Interval                            metrology.Interval // of the share flush at first look, 95 %
}

// share is the share of bands that were flush at first look.
func (r closingRow) share() float64 { return float64(r.Flush) / float64(r.Bands) }

// closingSection is the closings by size and metal; none where no band was
// closed.
func closingSection(birds []bench.Handling) (g.Node, error) {
	rows, err := closingRows(birds)
	if err != nil || len(rows) == 0 {
		return nil, err
	}
	t := newTable(column{"Size", plain}, column{"Metal", plain}, column{"Bands closed", number}, column{"Flush at first look", number}, column{"Share (95 % interval)", number}, column{"Corrections", number}, column{"Removals", number})
	for _, r := range rows {
		share := ""
		if r.Bands > 0 {
			share = withInterval(r.share(), r.Interval)
		}
		t.add(r.Size, r.Metal, strconv.Itoa(r.Bands), strconv.Itoa(r.Flush), share, strconv.Itoa(r.Corrections), strconv.Itoa(r.Removals))
	}
	return g.Group{
		html.H2(text("Closings")), plot(closingsPlot(rows)), t.node(),
		html.P(text("Bands are counted under the size that the record has now. The interval is Wilson's.")),
	}, nil
}

// withInterval writes a share with its interval.
func withInterval(share float64, i metrology.Interval) string {
	return fmt.Sprintf("%s (%s to %s)", percent(share), percent(i.Low), percent(i.High))
}

func closingRows(birds []bench.Handling) ([]closingRow, error) {
	rows := map[[2]string]*closingRow{}
	for _, h := range birds {
		if h.Choice == nil {
			continue
		}
		key := [2]string{h.Choice.Size, h.Choice.Metal}
		r := rows[key]
		if r == nil {
			r = &closingRow{Size: key[0], Metal: key[1]}
			rows[key] = r
		}
		looks := map[int]int{}
		for _, c := range h.Closings {
			looks[c.Band]++
			switch {
			case looks[c.Band] > 1:
				r.Corrections++
				continue
			case c.Flush():
				r.Flush++
			}
			r.Bands++
		}
		for _, b := range h.Bands {
			if b.State == bands.Destroyed && !b.Found {
				r.Removals++
			}
		}
	}
	var list []closingRow
	for _, r := range rows {
		if r.Bands == 0 && r.Removals == 0 {
			continue
		}
		if r.Bands > 0 {
			var err error
			if r.Interval, err = metrology.Wilson(r.Flush, r.Bands, 0.95); err != nil {
				return nil, err
			}
		}
		list = append(list, *r)
	}
	slices.SortFunc(list, func(a, b closingRow) int { return cmp.Or(cmp.Compare(a.Size, b.Size), cmp.Compare(a.Metal, b.Metal)) })
	return list, nil
}

// closingsPlot draws the share of bands that were flush at first look, with
// its interval.
func closingsPlot(rows []closingRow) g.Node {
	const across, left, right, top, line = drawingWidth, 190, 90, 14, 30
	rows = slices.DeleteFunc(slices.Clone(rows), func(r closingRow) bool { return r.Bands == 0 })
	if len(rows) == 0 {
		return nil
	}
	height := top + line*len(rows) + 40
	x := axis{0, 1, left, across - right}
	s := newDrawing(height, "Flush at first look, by size", "The share of bands whose first closing had nothing wrong, with its 95 % interval. The table below has the figures.")
	bottom := height - 36
	for i, r := range rows {
		y := top + line*i + line/2
		s.text(left-8, y+4, shortened("size "+r.Size+", "+r.Metal, 26), "text-anchor:end")
		s.Rect(left, y-9, x.at(r.share())-left, 18, "fill:#9bd")
		s.Line(x.at(r.Interval.Low), y, x.at(r.Interval.High), y, "stroke:black")
		s.Line(x.at(r.Interval.Low), y-5, x.at(r.Interval.Low), y+5, "stroke:black")
		s.Line(x.at(r.Interval.High), y-5, x.at(r.Interval.High), y+5, "stroke:black")
		s.Text(across-right+8, y+4, fmt.Sprintf("%d of %d", r.Flush, r.Bands))
	}
	s.percentScale(x, bottom)
	return s.done()
}

// percentScale draws a scale of shares below a plot.
func (d drawing) percentScale(x axis, bottom int) {
	d.Line(x.from, bottom, x.to, bottom, "stroke:#333")
	values, decimals := axis{100 * x.low, 100 * x.high, 0, 1}.ticks(5)
	for _, v := range values {
		d.Line(x.at(v/100), bottom, x.at(v/100), bottom+5, "stroke:#333")
		d.Text(x.at(v/100), bottom+19, fmt.Sprintf("%.*f %%", decimals, v), "text-anchor:middle")
	}
}
