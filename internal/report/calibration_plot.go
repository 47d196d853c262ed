package report

import (
	"bytes"
	"fmt"
	"math"

	svg "github.com/ajstarks/svgo"

	"seamfit/internal/length"
	"seamfit/internal/metrology"
)

// The drawing's measures in pixels.
const (
	plotWidth, plotHeight = 720, 470
	plotLeft, plotRight   = 96, 20
	errorsTop, errorsEnd  = 40, 230
	residsTop, residsEnd  = 290, 420
)

// CalibrationPlot draws a calibration: above, the error of each reading with
// the rods' means ± U, the fitted line and the limits of error; below, the
// residuals with the limits that 95 % of readings keep.
func CalibrationPlot(r metrology.Record) []byte {
	var b bytes.Buffer
	c := r.Result
	s := svg.New(&b)
	s.Start(plotWidth, plotHeight, fmt.Sprintf(`viewBox="0 0 %d %d"`, plotWidth, plotHeight), `role="img"`, `font-family="sans-serif"`, `font-size="12"`)
	s.Title("Errors and residuals of a calibration")
	s.Desc(fmt.Sprintf("Above, the error of each of %d readings on %d rods from %.2f to %.2f mm, with the mean of each rod and its uncertainty, the fitted line and the limits of error. Below, what the line leaves over. The verdict on each rod stands in words beside.", len(c.Readings), len(c.Rods), c.LowMM, c.HighMM))
	s.Rect(0, 0, plotWidth, plotHeight, "fill:white")
	low, high := c.LowMM, c.HighMM
	margin := max((high-low)/20, 0.01)
	low, high = low-margin, high+margin
	limitAt := func(mm float64) float64 {
		at, err := length.FromMM(mm)
		if err != nil {
			return 0
		}
		return r.Conditions.MPE.Limit(at).MM()
	}

	reach := 0.0
	for _, rod := range c.Rods {
		reach = max(reach, math.Abs(rod.MeanErrorMM)+rod.ExpandedMM, limitAt(rod.ReferenceMM))
	}
	for _, reading := range c.Readings {
		reach = max(reach, math.Abs(reading.ReadingMM-reading.ReferenceMM))
	}
	top := panel{svg: s, low: low, high: high, reach: reach * 1.1, top: errorsTop, bottom: errorsEnd}
	top.frame("error = reading − reference, mm")
	top.steps(limitAt)
	top.line(low, func(x float64) float64 { correction, _, _, _, _ := c.At(x); return -correction }, "stroke:black")
	for _, reading := range c.Readings {
		top.dot(reading.ReferenceMM, reading.ReadingMM-reading.ReferenceMM, reading.Suspect)
	}
	for _, rod := range c.Rods {
		top.bar(rod.ReferenceMM, rod.MeanErrorMM, rod.ExpandedMM)
	}
	s.Text(plotLeft, errorsTop-22, "○ readings   ┼ mean ± U of a rod   — fitted line   - - limit of error", "fill:#333")

	limit := c.ResidualLimit()
	reach = limit
	for _, reading := range c.Readings {
		reach = max(reach, math.Abs(reading.ResidualMM))
	}
	below := panel{svg: s, low: low, high: high, reach: reach * 1.1, top: residsTop, bottom: residsEnd}
	below.frame("residual, mm")
	for _, sign := range []float64{-1, 1} {
		below.line(low, func(float64) float64 { return sign * limit }, "stroke:#555;stroke-dasharray:5 4")
	}
	for _, reading := range c.Readings {
		below.dot(reading.ReferenceMM, reading.ResidualMM, reading.Suspect)
	}
	below.ticks()
	s.Text(plotLeft, residsTop-12, fmt.Sprintf("○ residuals off the line   - - ±%.4f mm: 95 %% of readings   × farther off than chance explains", limit), "fill:#333")
	s.Text((plotLeft+plotWidth-plotRight)/2, plotHeight-12, "diameter, mm", "text-anchor:middle")
	s.End()
	return b.Bytes()
}

// panel is one of the two drawings: x from low to high, y from −reach to
// reach.
type panel struct {
	svg         *svg.SVG
	low, high   float64
	reach       float64
	top, bottom int
}

func (p panel) x(mm float64) int {
	return plotLeft + int(math.Round((mm-p.low)/(p.high-p.low)*(plotWidth-plotLeft-plotRight)))
}

func (p panel) y(mm float64) int {
	middle, half := float64(p.top+p.bottom)/2, float64(p.bottom-p.top)/2
	if p.reach == 0 {
		return int(middle)
	}
	return int(math.Round(middle - mm/p.reach*half))
}

func (p panel) frame(title string) {
	right := plotWidth - plotRight
	p.svg.Rect(plotLeft, p.top, right-plotLeft, p.bottom-p.top, "fill:none;stroke:#999")
	p.svg.Line(plotLeft, p.y(0), right, p.y(0), "stroke:#ccc")
	for _, mm := range []float64{-p.reach / 1.1, 0, p.reach / 1.1} {
		p.svg.Text(plotLeft-6, p.y(mm)+4, fmt.Sprintf("%+.4f", mm), "text-anchor:end")
	}
	p.svg.TranslateRotate(14, (p.top+p.bottom)/2, -90)
	p.svg.Text(0, 0, title, "text-anchor:middle")
	p.svg.Gend()
}

// ticks writes the scale of diameters below the panel.
func (p panel) ticks() {
	const number = 6
	for i := range number + 1 {
		mm := p.low + (p.high-p.low)*float64(i)/number
		p.svg.Line(p.x(mm), p.bottom, p.x(mm), p.bottom+5, "stroke:#999")
		p.svg.Text(p.x(mm), p.bottom+20, fmt.Sprintf("%.2f", mm), "text-anchor:middle")
	}
}

// steps draws the limits of error, which change at diameters of their own.
func (p panel) steps(limit func(float64) float64) {
	const pieces = 200
	for _, sign := range []float64{-1, 1} {
		xs, ys := make([]int, pieces+1), make([]int, pieces+1)
		for i := range xs {
			mm := p.low + (p.high-p.low)*float64(i)/pieces
			xs[i], ys[i] = p.x(mm), p.y(sign*limit(mm))
		}
		p.svg.Polyline(xs, ys, "fill:none;stroke:#b00;stroke-dasharray:6 4")
	}
}

func (p panel) line(from float64, at func(float64) float64, style string) {
	p.svg.Line(p.x(from), p.y(at(from)), p.x(p.high), p.y(at(p.high)), style)
}

func (p panel) dot(x, y float64, suspect bool) {
	if suspect {
		p.svg.Text(p.x(x), p.y(y)+5, "×", "text-anchor:middle;font-size:16px")
		return
	}
	p.svg.Circle(p.x(x), p.y(y), 3, "fill:none;stroke:#06c")
}

func (p panel) bar(x, mean, u float64) {
	at := p.x(x) + 8 // beside the readings
	p.svg.Line(at, p.y(mean-u), at, p.y(mean+u), "stroke:black;stroke-width:2")
	p.svg.Line(at-5, p.y(mean), at+5, p.y(mean), "stroke:black;stroke-width:2")
}
