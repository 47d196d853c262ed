package report

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	g "maragu.dev/gomponents"
	"maragu.dev/gomponents/html"

	"seamfit/internal/bands"
	"seamfit/internal/bench"
	"seamfit/internal/catalogue"
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

// openSection heads the sheet: what someone must look at, with the mends.
func openSection(matters []openMatter) g.Node {
	section := []g.Node{html.Class("open"), html.ID("open"), html.H2(text("Open matters"))}
	if len(matters) == 0 {
		return html.Section(append(section, html.P(text("Nothing is open.")))...)
	}
	t := newTable(column{"Taken up", whole}, column{"Species", plain}, column{"Number", whole}, column{"What is open", plain}, column{"What to do", plain})
	for _, m := range matters {
		mends := text("mark the record complete")
		if len(m.Mends) > 0 {
			mends = html.Ul(g.Map(m.Mends, func(mend string) g.Node { return html.Li(text(mend)) })...)
		}
		t.addRow("", append(texts(m.When, m.Species, m.Number, m.What), mends)...)
	}
	return html.Section(append(section, t.node())...)
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

// birdSection is the table of birds.
func (d Day) birdSection(birds []bench.Handling) g.Node {
	head := html.H2(text("Birds"))
	if len(birds) == 0 {
		return g.Group{head, html.P(text("No bird was in the hand."))}
	}
	t := newTable(
		column{"Time", whole}, column{"Species", plain}, column{"Age, sex", plain}, column{"Number", whole}, column{"Leg", plain}, column{"Width mm (95 %)", whole},
		column{"Size", whole}, column{"Verdict", plain}, column{"Closings", number}, column{"Fate", plain}, column{"Notes", notes},
	)
	clock := "15:04"
	if len(d.Shifts) != 1 {
		clock = "2006-01-02 15:04"
	}
	for _, h := range birds {
		class := ""
		if !h.Done() && h.Resolved == "" {
			class = "unfinished"
		}
		t.addRow(class, texts(append([]string{h.Opened.Format(clock)}, birdCells(h)...)...)...)
	}
	return g.Group{head, t.node()}
}

// birdCells are the cells of a bird after the time.
func birdCells(h bench.Handling) []string {
	var width, size, verdict, closings, fate string
	if h.Estimate != nil {
		width = fmt.Sprintf("%.2f ± %.2f", h.Estimate.Leg.MeanMM, h.Estimate.Leg.ExpandedMM)
		if !h.Estimate.Agreement.OK {
			width += ", readings DISAGREE"
		}
	}
	if h.Choice != nil {
		size, verdict = h.Choice.Size+", "+h.Choice.Metal, h.Choice.Verdict
	}
	if n := len(h.Closings); n > 0 {
		closings = strconv.Itoa(n)
	}
	if h.Fate != nil {
		fate = h.Fate.Fate.Words()
	}
	return []string{
		cmp.Or(h.Bird.Species, noSpecies), ageAndSex(h.Bird), numberOf(h), string(h.BandedLeg()),
		width, size, verdict, closings, fate, strings.Join(notesOf(h), "; "),
	}
}

// ageAndSex returns in words what was told of them.
func ageAndSex(b bench.Bird) string {
	var told []string
	for _, of := range []struct{ name, word string }{{"age", b.Age}, {"sex", b.Sex}} {
		switch of.word {
		case "":
		case bench.NotKnown:
			told = append(told, of.name+" "+bench.NotKnown)
		default:
			told = append(told, of.word)
		}
	}
	return strings.Join(told, ", ")
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
	for _, m := range h.Measures {
		notes = append(notes, m.Name+" "+m.Value+" "+m.Unit)
	}
	if c := h.Whence; c != nil {
		if !c.Captured.IsZero() {
			notes = append(notes, "caught at "+c.Captured.Format("15:04"))
		}
		for _, part := range [][2]string{{"nest", c.Nest}, {"brood", c.Brood}, {"put back", c.ReturnedTo}} {
			if part[1] != "" {
				notes = append(notes, part[0]+" "+part[1])
			}
		}
	}
	if by := h.Confirmation.Supervised; by != "" {
		notes = append(notes, "seam looked at by "+by)
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
