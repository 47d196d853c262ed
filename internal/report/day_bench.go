package report

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	g "maragu.dev/gomponents"
	"maragu.dev/gomponents/html"

	"seamfit/internal/bands"
	"seamfit/internal/metrology"
)

// caliperSection is the calibration in force and the checks on a rod.
func (d Day) caliperSection() g.Node {
	parts := g.Group{html.H2(text("The caliper"))}
	if c := d.Calibration; c != nil && len(c.Result.Rods) > 0 {
		line := fmt.Sprintf("Calibrated on %s by %s", c.At.Format(time.DateOnly), c.By)
		if !c.ValidUntil.IsZero() {
			line += ", valid until " + c.ValidUntil.Format(time.DateOnly)
		}
		verdict := "NOT every rod conforms"
		if c.Result.Conforms {
			verdict = "every rod conforms"
		}
		parts = append(parts, html.P(text(line+"; "+verdict+".")), plot(inline(CalibrationPlot(*c))))
	} else {
		parts = append(parts, html.P(text("No calibration is in the records: widths are uncalibrated.")))
	}
	rows := checkRows(d.Checks)
	if len(rows) == 0 {
		return parts
	}
	t := newTable(column{"When", whole}, column{"Rod", plain}, column{"Error mm", number}, column{"Limits mm", whole}, column{"Result", plain}, column{"Reason to go on", plain})
	for _, r := range rows {
		t.add(r.When, r.Rod, r.Error, r.Limits, r.Result, r.Reason)
	}
	return append(parts, html.H3(text("Checks on a rod")), plot(checksPlot(d.Checks)), t.node())
}

// numberSection is where the numbers of each string are; none without a
// string.
func numberSection(stock []bands.StringCount) g.Node {
	if len(stock) == 0 {
		return nil
	}
	t := newTable(
		column{"First", whole}, column{"Last", whole}, column{"Size", plain}, column{"Metal", plain}, column{"Received", number}, column{"In stock", number}, column{"Opened", number},
		column{"On a bird", number}, column{"Destroyed", number}, column{"Lost", number}, column{"Rejected", number}, column{"Returned", number}, column{"Doubtful", plain},
	)
	for _, s := range stock {
		cells := []string{s.First, s.Last, s.Size, s.Metal}
		for _, n := range []int{s.Received, s.InStock, s.Opened, s.OnBird, s.Destroyed, s.Lost, s.Rejected, s.Returned} {
			cells = append(cells, strconv.Itoa(n))
		}
		t.add(append(cells, strings.Join(s.Doubtful, ", "))...)
	}
	return g.Group{html.H2(text("Numbers")), plot(numbersPlot(stock)), t.node()}
}

// checkRow is one look at a rod.
type checkRow struct {
	When, Rod, Error, Limits, Result, Reason string
}

// checkRows lists checks, the newest first.
func checkRows(checks []metrology.Check) []checkRow {
	var rows []checkRow
	reasons := map[string]string{}
	for _, c := range checks {
		if c.Answers != "" {
			reasons[c.Answers] = c.Reason
		}
	}
	for i := len(checks) - 1; i >= 0; i-- {
		c := checks[i]
		if c.Answers != "" {
			continue
		}
		r := checkRow{When: c.At.Format("2006-01-02 15:04"), Rod: c.Rod, Error: fmt.Sprintf("%+.4f", c.Error.MM()), Result: "within limits", Reason: c.Reason}
		if c.Low != 0 || c.High != 0 {
			r.Limits = fmt.Sprintf("%+.4f to %+.4f", c.Low.MM(), c.High.MM())
		}
		if !c.InLimits {
			r.Result = "OUT OF LIMITS"
		}
		if later := reasons[c.ID]; later != "" {
			r.Reason = later
		}
		rows = append(rows, r)
	}
	return rows
}

// checksPlot draws the control chart: the error of each check in order, with
// the limits that it was judged by.
func checksPlot(all []metrology.Check) g.Node {
	const across, height, left, right, top, bottom = drawingWidth, 250, 80, 20, 20, 200
	var checks []metrology.Check
	reach := 0.005
	for _, c := range all {
		if c.Answers != "" {
			continue // has no readings of its own
		}
		checks = append(checks, c)
		reach = max(reach, math.Abs(c.Error.MM()), math.Abs(c.Low.MM()), math.Abs(c.High.MM()))
	}
	if len(checks) == 0 {
		return nil
	}
	x := axis{0.5, float64(len(checks)) + 0.5, left, across - right}
	y := axis{-reach * 1.1, reach * 1.1, bottom, top}
	s := newDrawing(height, "Control chart of the caliper", "The error of each check on a rod, in order, with its control limits. The table below has the figures.")
	s.Rect(left, top, across-left-right, bottom-top, "fill:none;stroke:#999")
	values, decimals := y.ticks(6)
	for _, v := range values {
		s.Line(left, y.at(v), across-right, y.at(v), "stroke:#eee")
		s.Text(left-6, y.at(v)+4, fmt.Sprintf("%+.*f", decimals, v), "text-anchor:end")
	}
	s.Line(left, y.at(0), across-right, y.at(0), "stroke:#999")
	for i, c := range checks {
		from, to, at := x.at(float64(i)+0.5), x.at(float64(i)+1.5), x.at(float64(i+1))
		for _, limit := range []float64{c.Low.MM(), c.High.MM()} {
			if limit != 0 {
				s.Line(from, y.at(limit), to, y.at(limit), "stroke:#b00;stroke-dasharray:5 3")
			}
		}
		if c.InLimits {
			s.Circle(at, y.at(c.Error.MM()), 4, "fill:#06c")
		} else {
			s.Text(at, y.at(c.Error.MM())+6, "×", "text-anchor:middle;font-size:20px;fill:#b00")
		}
	}
	for _, i := range []int{0, len(checks) - 1} {
		anchor := "text-anchor:start"
		at := left
		if i > 0 {
			anchor, at = "text-anchor:end", across-right
		}
		s.Text(at, bottom+18, checks[i].At.Format("2006-01-02"), anchor)
		if len(checks) == 1 {
			break
		}
	}
	s.Text(left, height-10, "error, mm   ● within limits   × out of limits   - - control limits", "fill:#333")
	return s.done()
}

// numbersPlot draws where the numbers of each string are.
func numbersPlot(strings []bands.StringCount) g.Node {
	const across, left, right, top, line = drawingWidth, 230, 60, 30, 28
	if len(strings) == 0 {
		return nil
	}
	height := top + line*len(strings) + 12
	s := newDrawing(height, "Numbers by state", "How many numbers of each string are in which state. The table below has the figures.")
	states := []struct{ name, fill string }{
		{"in stock", "#dde"}, {"opened", "#9bd"}, {"on a bird", "#06c"}, {"destroyed", "#333"}, {"lost", "#b00"}, {"rejected", "#b80"}, {"returned", "#aaa"},
	}
	at := 10
	for _, st := range states {
		s.Rect(at, 6, 12, 12, "fill:"+st.fill+";stroke:#333")
		s.Text(at+16, 16, st.name)
		at += 30 + 8*len(st.name)
	}
	for i, c := range strings {
		y := top + line*i
		s.text(left-8, y+17, shortened(c.First+" to "+c.Last, 32), "text-anchor:end")
		x := axis{0, math.Max(float64(c.Received), 1), left, across - right}
		sum := 0
		for k, n := range []int{c.InStock, c.Opened, c.OnBird, c.Destroyed, c.Lost, c.Rejected, c.Returned} {
			if n > 0 {
				from, to := x.at(float64(sum)), x.at(float64(sum+n))
				s.Rect(from, y+4, max(to-from, 1), 18, "fill:"+states[k].fill+";stroke:#333;stroke-width:.5")
			}
			sum += n
		}
		s.Text(across-right+8, y+17, strconv.Itoa(c.Received))
	}
	return s.done()
}
