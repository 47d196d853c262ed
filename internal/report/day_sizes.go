package report

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	g "maragu.dev/gomponents"
	"maragu.dev/gomponents/html"

	"seamfit/internal/bench"
	"seamfit/internal/catalogue"
	"seamfit/internal/fit"
)

// choiceRow compares the sizes that were chosen for a species with those that
// its office recommends.
type choiceRow struct {
	Species, Recommended, Advice  string
	Chosen                        string
	Listed, OffList, Tight, Birds int
}

// choiceSection compares the sizes chosen with those recommended; none where
// no size was chosen.
func (d Day) choiceSection(birds []bench.Handling) g.Node {
	rows := d.choiceRows(birds)
	if len(rows) == 0 {
		return nil
	}
	t := newTable(column{"Species", plain}, column{"Recommended", plain}, column{"Chosen", plain}, column{"On the list", number}, column{"Off the list", number}, column{"Tight", number})
	for _, r := range rows {
		recommended := r.Recommended
		if r.Advice != "" {
			recommended += " (" + r.Advice + ")"
		}
		t.add(r.Species, recommended, r.Chosen, strconv.Itoa(r.Listed), strconv.Itoa(r.OffList), strconv.Itoa(r.Tight))
	}
	return g.Group{
		html.H2(text("Sizes chosen and recommended")),
		html.P(text("How the chosen sizes fit: " + listed(countVerdicts(birds)) + ".")),
		t.node(),
	}
}

func (d Day) choiceRows(birds []bench.Handling) []choiceRow {
	var rows []choiceRow
	names, of := bySpecies(birds)
	for _, name := range names {
		row := choiceRow{Species: name, Recommended: "none on the list"}
		chosen := map[string]int{}
		listed := map[string]bool{}
		for _, h := range of[name] {
			if h.Choice == nil {
				continue
			}
			row.Birds++
			chosen[h.Choice.Size]++
			onList := false
			for _, r := range d.recommended(h) {
				listed[r.Size] = true
				onList = onList || r.Size == h.Choice.Size
			}
			switch {
			case onList:
				row.Listed++
			case len(d.recommended(h)) > 0:
				row.OffList++
			}
			if h.Choice.Verdict == string(fit.Tight) {
				row.Tight++
			}
		}
		if row.Birds == 0 {
			continue
		}
		if sp, ok := d.Book.SpeciesNamed(name); ok && len(listed) > 0 {
			row.Recommended, row.Advice = strings.Join(inTableOrder(listed, d.catalogueOf(of[name][0])), ", "), sp.Mark.Advice()
		}
		var parts []string
		for _, size := range inTableOrder(chosen, d.catalogueOf(of[name][0])) {
			parts = append(parts, fmt.Sprintf("%s × %d", size, chosen[size]))
		}
		row.Chosen = strings.Join(parts, ", ")
		rows = append(rows, row)
	}
	return rows
}

func (d Day) recommended(h bench.Handling) []catalogue.Recommendation {
	sp, ok := d.Book.SpeciesNamed(h.Bird.Species)
	if !ok {
		return nil
	}
	known := h.Bird.Known()
	return sp.SizesFor(d.catalogueOf(h).Name, known.Sex, known.Age)
}

// inTableOrder returns the labels in the order of the table of sizes; those
// that it lacks come last.
func inTableOrder[V any](labels map[string]V, c *catalogue.Catalogue) []string {
	place := func(label string) int {
		if i := slices.IndexFunc(c.Sizes, func(s catalogue.Size) bool { return s.Label == label }); i >= 0 {
			return i
		}
		return len(c.Sizes)
	}
	var list []string
	for label := range labels {
		list = append(list, label)
	}
	slices.SortFunc(list, func(a, b string) int { return cmp.Or(cmp.Compare(place(a), place(b)), cmp.Compare(a, b)) })
	return list
}

// countVerdicts counts how the chosen sizes fit.
func countVerdicts(birds []bench.Handling) []count {
	in := map[string]int{}
	for _, h := range birds {
		if h.Choice == nil {
			continue
		}
		if h.Choice.Method == bench.MethodNotMeasured {
			in[string(bench.MethodNotMeasured)]++
			continue
		}
		in[h.Choice.Verdict]++
	}
	counts := []count{{string(fit.Tight), in[string(fit.Tight)]}} // told even when there is none
	delete(in, string(fit.Tight))
	var names []string
	for name := range in {
		names = append(names, name)
	}
	slices.Sort(names)
	for _, name := range names {
		counts = append(counts, count{cmp.Or(name, "no verdict"), in[name]})
	}
	return counts
}
