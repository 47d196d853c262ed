package report

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	g "maragu.dev/gomponents"
	"maragu.dev/gomponents/html"

	"seamfit/internal/bench"
	"seamfit/internal/metrology"
)

// incidents are how often birds came to harm. Rates are of birds, not of
// notes: a bird with two injuries is one.
type incidents struct {
	Birds int
	Rates []rate
	Kinds []count
}

// rate is the share of birds that came to one kind of harm, beside published
// ones.
type rate struct {
	Name      string
	N         int
	Share     float64
	Interval  metrology.Interval // 95 %
	Published []published
}

// published is a rate from the literature.
type published struct {
	Share  float64
	Of     string
	Source string
}

// incidentSection tells how often birds came to harm beside published rates.
func incidentSection(birds []bench.Handling) (g.Node, error) {
	head := html.H2(text("Incidents"))
	if len(birds) == 0 {
		return g.Group{head, html.P(text("No bird was in the hand."))}, nil
	}
	all, err := countIncidents(birds)
	if err != nil {
		return nil, err
	}
	t := newTable(column{"Harm", plain}, column{"Birds", number}, column{"Rate (95 % interval)", number}, column{"Published", plain})
	for _, r := range all.Rates {
		var rates []string
		for _, p := range r.Published {
			rates = append(rates, fmt.Sprintf("%s of %s (%s)", percent(p.Share), p.Of, p.Source))
		}
		t.add(r.Name, fmt.Sprintf("%d of %d", r.N, all.Birds), withInterval(r.Share, r.Interval), strings.Join(rates, "; "))
	}
	kinds := "No incident was told."
	if len(all.Kinds) > 0 {
		kinds = "Told: " + listed(all.Kinds) + "."
	}
	const sources = " The published rates are of many stations and years; a day's birds are too few to compare closely. Spotswood et al. 2012, Methods in Ecology and Evolution 3:29–38, doi 10.1111/j.2041-210X.2011.00123.x; Clewley et al. 2018, Ecology and Evolution."
	return g.Group{head, plot(incidentsPlot(all)), t.node(), html.P(text(kinds + sources))}, nil
}

// The published rates. Spotswood et al. 2012, Methods in Ecology and Evolution
// 3:29–38, doi 10.1111/j.2041-210X.2011.00123.x; Clewley et al. 2018, Ecology
// and Evolution.
func publishedInjury() []published {
	return []published{{0.0059, "620,997 captures at 22 organisations", "Spotswood et al. 2012"}}
}

func publishedDeath() []published {
	return []published{
		{0.0023, "620,997 captures at 22 organisations", "Spotswood et al. 2012"},
		{0.0011, "about 1.5 million recaptures", "Clewley et al. 2018"},
	}
}

// countIncidents counts them. A death is a bird that died in the hand, or an
// incident of that kind.
func countIncidents(birds []bench.Handling) (incidents, error) {
	all := incidents{Birds: len(birds)}
	kinds := map[string]int{}
	injured, dead := 0, 0
	for _, h := range birds {
		for _, i := range h.Incidents {
			kinds[i.Kind]++
		}
		if has(h, "injury") {
			injured++
		}
		if has(h, "death") || h.Fate != nil && h.Fate.Fate == bench.FateDied {
			dead++
		}
	}
	for kind, n := range kinds {
		all.Kinds = append(all.Kinds, count{kind, n})
	}
	slices.SortFunc(all.Kinds, func(a, b count) int { return cmp.Or(cmp.Compare(b.N, a.N), cmp.Compare(a.Name, b.Name)) })
	if all.Birds == 0 {
		return all, nil
	}
	for _, r := range []rate{{Name: "injury", N: injured, Published: publishedInjury()}, {Name: "death", N: dead, Published: publishedDeath()}} {
		var err error
		if r.Interval, err = metrology.Wilson(r.N, all.Birds, 0.95); err != nil {
			return all, err
		}
		r.Share = float64(r.N) / float64(all.Birds)
		all.Rates = append(all.Rates, r)
	}
	return all, nil
}

func has(h bench.Handling, kind string) bool {
	return slices.ContainsFunc(h.Incidents, func(i bench.IncidentTold) bool { return strings.EqualFold(strings.TrimSpace(i.Kind), kind) })
}

// incidentsPlot draws each rate with its interval and the published ones.
func incidentsPlot(all incidents) g.Node {
	const across, left, right, top, line = drawingWidth, 90, 30, 10, 42
	if len(all.Rates) == 0 {
		return nil
	}
	height := top + line*len(all.Rates) + 60
	most := 0.01
	for _, r := range all.Rates {
		most = max(most, r.Interval.High)
	}
	x := axis{0, most * 1.05, left, across - right}
	s := newDrawing(height, "Incidents beside published rates", "The share of birds that came to harm with its 95 % interval, and published rates as diamonds. The table below has the figures.")
	for i, r := range all.Rates {
		y := top + line*i + line/2
		s.Text(left-8, y+4, r.Name, "text-anchor:end")
		s.Line(x.at(r.Interval.Low), y, x.at(r.Interval.High), y, "stroke:#06c;stroke-width:2")
		s.Circle(x.at(r.Share), y, 5, "fill:#06c")
		for _, p := range r.Published {
			at := x.at(p.Share)
			s.Polygon([]int{at - 6, at, at + 6, at}, []int{y, y - 6, y, y + 6}, "fill:none;stroke:#b00;stroke-width:2")
		}
	}
	bottom := top + line*len(all.Rates) + 8
	s.percentScale(x, bottom)
	s.Text(left, height-8, fmt.Sprintf("● these %d birds, with the 95 %% interval   ◇ published", all.Birds), "fill:#333")
	return s.done()
}
