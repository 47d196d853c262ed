package report

import (
	"bytes"
	"fmt"
	"math"

	svg "github.com/ajstarks/svgo"
	g "maragu.dev/gomponents"

	"seamfit/internal/catalogue"
)

// drawing is a plot of the day sheet. What it shows is told in words as well,
// for those who can't see it; texts that people wrote are escaped by Text.
type drawing struct {
	*svg.SVG
	b *bytes.Buffer
}

// drawingWidth is the width of every plot in pixels, before the page fits it in.
const drawingWidth = 720

// newDrawing begins a plot, which fills the width that the page gives it.
func newDrawing(height int, title, words string) drawing {
	const width = drawingWidth
	b := &bytes.Buffer{}
	d := drawing{svg.New(b), b}
	d.Start(width, height, fmt.Sprintf(`viewBox="0 0 %d %d"`, width, height), `role="img"`, `font-family="sans-serif"`, `font-size="12"`)
	d.Title(catalogue.Printable(title))
	d.Desc(catalogue.Printable(words))
	d.Rect(0, 0, width, height, "fill:white")
	return d
}

// text writes what a person or the records wrote.
func (d drawing) text(x, y int, text string, style ...string) {
	d.Text(x, y, catalogue.Printable(text), style...)
}

// done ends the plot. Everything in it went through Text, Title and Desc, which
// escape, or is a number or a style of ours.
func (d drawing) done() g.Node {
	d.End()
	return inline(d.b.Bytes())
}

// axis maps values to places of a drawing.
type axis struct {
	low, high float64
	from, to  int
}

func (a axis) at(v float64) int {
	if a.high == a.low {
		return (a.from + a.to) / 2
	}
	return a.from + int(math.Round((v-a.low)/(a.high-a.low)*float64(a.to-a.from)))
}

// ticks returns up to n+1 round values along the axis, and the decimals that
// they need.
func (a axis) ticks(n int) (values []float64, decimals int) {
	width := a.high - a.low
	if width <= 0 || math.IsInf(width, 0) || math.IsNaN(width) || n < 1 {
		return []float64{a.low}, 2
	}
	step := math.Pow(10, math.Floor(math.Log10(width/float64(n))))
	for _, times := range []float64{1, 2, 5, 10} {
		if width/(step*times) <= float64(n) {
			step *= times
			break
		}
	}
	for i := math.Ceil(a.low / step); i*step <= a.high && len(values) <= n; i++ {
		values = append(values, i*step)
	}
	return values, max(0, -int(math.Floor(math.Log10(step)+1e-9)))
}
