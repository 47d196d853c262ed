package report

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"seamfit/internal/bands"
	"seamfit/internal/bench"
	"seamfit/internal/catalogue"
	"seamfit/internal/fit"
)

// openMatter is a record that someone must look at.
type openMatter struct {
	When, Species, Number string
	What                  string
	Mends                 []string
}

// openMatters lists what is not settled: disputes, closures that nobody
// confirmed, birds that escaped, and records that are not complete, the gravest
// first.
func openMatters(birds []bench.Handling, book *catalogue.Book) []openMatter {
	type graded struct {
		openMatter
		grade int
	}
	var all []graded
	for _, h := range birds {
		m := openMatter{When: h.Opened.Format("2006-01-02 15:04"), Species: cmp.Or(h.Bird.Species, noSpecies), Number: numberOf(h)}
		var grade int
		switch {
		case h.Disputed():
			m.What, grade = "its number is disputed", 1
		case h.Done() || h.Resolved != "":
			continue
		case h.Fate == nil:
			m.What, grade = "the record is not finished", 3
		case h.Fate.Fate == bench.FateUnconfirmed:
			m.What, grade = "let go with a closure that nobody confirmed", 0
		case h.Fate.Fate == bench.FateEscaped:
			m.What, grade = "escaped", 2
		default:
			m.What, grade = "the record is not complete", 3
		}
		if h.Fate != nil && h.Fate.Reason != "" {
			m.What += ": " + h.Fate.Reason
		}
		for _, b := range bench.Blockers(h, book) {
			m.Mends = append(m.Mends, b.Mend)
		}
		all = append(all, graded{m, grade})
	}
	slices.SortStableFunc(all, func(a, b graded) int { return cmp.Compare(a.grade, b.grade) })
	matters := make([]openMatter, len(all))
	for i := range all {
		matters[i] = all[i].openMatter
	}
	return matters
}

// numberOf returns the number of the band that the bird wears or is to wear.
func numberOf(h bench.Handling) string {
	if b, ok := h.CurrentBand(); ok {
		return b.Number
	}
	if b, ok := h.FoundOnLeg(); ok {
		return b.Number
	}
	return ""
}

// birdRow is one bird of the table of birds.
type birdRow struct {
	Time, Species, AgeSex, Number, Leg string
	Width, Size, Verdict, Closings     string
	Fate, Notes                        string
	Open                               bool
}

func (d Day) birdRows(birds []bench.Handling) []birdRow {
	rows := make([]birdRow, 0, len(birds))
	for _, h := range birds {
		r := birdRow{
			Time: h.Opened.Format("15:04"), Species: cmp.Or(h.Bird.Species, noSpecies), Number: numberOf(h), Leg: string(h.Bird.Leg),
			AgeSex: strings.Trim(h.Bird.Age+", "+h.Bird.Sex, ", "), Open: !h.Done() && h.Resolved == "",
		}
		if len(d.Shifts) != 1 {
			r.Time = h.Opened.Format("2006-01-02 15:04")
		}
		if h.Estimate != nil {
			r.Width = fmt.Sprintf("%.2f ± %.2f", h.Estimate.Leg.MeanMM, h.Estimate.Leg.ExpandedMM)
		}
		if h.Choice != nil {
			r.Size, r.Verdict = h.Choice.Size+", "+h.Choice.Metal, h.Choice.Verdict
		}
		if n := len(h.Closings); n > 0 {
			r.Closings = strconv.Itoa(n)
		}
		if h.Fate != nil {
			r.Fate = h.Fate.Fate.Words()
		}
		r.Notes = strings.Join(notesOf(h), "; ")
		rows = append(rows, r)
	}
	return rows
}

// notesOf tells what a table of birds has no column for.
func notesOf(h bench.Handling) (notes []string) {
	for _, b := range h.Bands {
		switch {
		case b.Found:
			notes = append(notes, "wore "+b.Number)
		case b.State == bands.Destroyed:
			notes = append(notes, b.Number+" destroyed: "+b.Reason)
		}
	}
	for _, i := range h.Incidents {
		notes = append(notes, strings.TrimSuffix(i.Kind+": "+i.Note, ": "))
	}
	if h.Choice != nil && h.Choice.Reason != "" {
		notes = append(notes, "size: "+h.Choice.Reason)
	}
	if h.Resolved != "" {
		notes = append(notes, "settled: "+h.Resolved)
	}
	return notes
}

// choiceRow compares the sizes that were chosen for a species with those that
// its office recommends.
type choiceRow struct {
	Species, Recommended, Advice  string
	Chosen                        string
	Listed, OffList, Tight, Birds int
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
	return sp.SizesFor(d.catalogueOf(h).Name, h.Bird.Sex, h.Bird.Age)
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
