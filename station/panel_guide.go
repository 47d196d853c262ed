package station

import (
	"fmt"
	"slices"
	"strings"

	"seamfit/internal/catalogue"
	"seamfit/internal/grid"
	"seamfit/internal/seam"
)

// The closing guide: the step at hand in the words of the procedure that holds
// for the band; and, where the last reading stands at other steps, a drawing of
// the seam as it should look, or as the defect looks that is being mended.

// procedure returns how the band at work is opened, closed and mended.
func (v *view) procedure() (catalogue.Procedure, bool) {
	kind, known := v.s.closureOf(v.h)
	if !known || v.h.Choice == nil {
		return catalogue.Procedure{}, false
	}
	book := v.s.Bench.Setup.Book
	metal, known := book.Metal(v.h.Choice.Metal)
	if !known {
		return catalogue.Procedure{}, false
	}
	size, _ := v.s.Bench.Catalogue().Size(v.h.Choice.Size)
	return book.Procedure(kind.ID, metal, size.Inner)
}

// defect returns the finding that the guide is about: the one marked last, or
// else the first of the last look; false: none, the band is to be closed.
func (v *view) defect() (string, bool) {
	if marked := v.s.Desk.Marked; len(marked) > 0 {
		return marked[len(marked)-1], true
	}
	if closing, ok := v.h.LastClosing(); ok && !closing.Flush() {
		return closing.Findings[0], true
	}
	return "", false
}

// guide returns how the band is closed, or how the defect is mended that the
// guide is about, in at most room rows; nothing where it does not fit.
func (v *view) guide(columns, room int) []line {
	p, known := v.procedure()
	if !known {
		return nil
	}
	title, steps, source := "Close it", p.Closing, adviceOr(p.Mark.Advice(), p.Source)
	if id, wrong := v.defect(); wrong {
		c, ok := v.s.Bench.Setup.Book.Correct(p, id)
		if !ok {
			return nil
		}
		title, steps, source = "To mend: "+findingNames([]string{id})[0], c.Steps, adviceOr(c.Mark.Advice(), c.Source)
	}
	return guideLines(title, source, steps, columns, room)
}

// looks returns what to see and feel of a closing that is flush.
func (v *view) looks(columns, room int) []line {
	p, known := v.procedure()
	if !known {
		return nil
	}
	return guideLines("See and feel", adviceOr(p.Mark.Advice(), p.Source), slices.Concat(p.See, p.Feel), columns, room)
}

// removal returns how a band is taken off.
func (v *view) removal(columns, room int) []line {
	p, known := v.procedure()
	if !known {
		return nil
	}
	return guideLines("Taking it off", adviceOr(p.Mark.Advice(), p.Source), p.Removal, columns, room)
}

// guideLines lists steps under a title. Advice that lacks its end is none:
// what does not fit is left out whole.
func guideLines(title, source string, steps []string, columns, room int) []line {
	lines := wrapped("", fmt.Sprintf("%s (%s):", title, source), strong, columns)
	for _, step := range steps {
		lines = append(lines, wrapped("- ", step, plain, columns)...)
	}
	if len(lines) > room {
		return nil
	}
	return lines
}

// buttEnd is the closure kind whose seam is drawn.
const buttEnd = "butt-end"

// seamPicture returns the drawing that stands where the last reading stands at
// other steps, under its name; nothing where none belongs there.
func (v *view) seamPicture(a Ask) []string {
	if a == AskSpotWidth {
		return v.spotPicture()
	}
	if w, ok := v.s.Options.Trainer.(Workshop); ok && !w.Hints() {
		return nil // what is there is to be seen, not compared
	}
	kind, known := v.s.closureOf(v.h)
	if !known || kind.ID != buttEnd || a != AskLook && a != AskStatements {
		return nil
	}
	if a == AskLook && !v.h.InHand() && !v.s.late() {
		return nil // nothing can be mended any more
	}
	if id, wrong := v.defect(); wrong && a == AskLook {
		sight, drawn := exemplar(id)
		if !drawn {
			return nil
		}
		return picture(findingNames([]string{id})[0], sight)
	}
	return picture("as it should look", seam.Sight{})
}

// picture is a drawing under its name, without its ring unless that shows the
// defect; the pliers sit 1 mm from the edge [practice].
func picture(label string, sight seam.Sight) []string {
	rows := []string{label}
	if sight.RoundMM > seam.SeenRoundMM {
		return append(rows, ringOf(sight, nil)[1:]...)
	}
	for i, row := range drawing(sight, &seam.Pliers{EdgeMM: usualEdgeMM}) {
		face := strings.TrimRight(cutCells(row, faceColumns), " ")
		if face == "" {
			continue // below the metal, where nothing is out of line or rides
		}
		if i == drawingRows-1 {
			face += " pliers"
		}
		rows = append(rows, face)
	}
	return rows
}

// usualEdgeMM is where the pliers' edge sits, in millimetres from the band's.
const usualEdgeMM = 1

// drawRows writes rows of a drawing; the first is its name.
func (v *view) drawRows(a grid.Area, rows []string) {
	width, _ := a.Size()
	left := max((width-faceColumns)/2, 0)
	for y, row := range rows {
		r := plain
		if y == 0 {
			r = strong
		}
		a.Put(left, y, row, v.s.Options.Theme.style(r))
	}
}

// cutCells returns the first columns of a row of narrow characters.
func cutCells(row string, columns int) string {
	runes := []rune(row)
	return string(runes[:min(columns, len(runes))])
}

// stopAdvice says when it is time to give up: after the set number of bands or
// of closings, or at signs of stress.
func (v *view) stopAdvice(columns int) []line {
	var lines []line
	if limit := v.s.Bench.Setup.BandsLimit; limit > 0 && v.h.Tried() >= limit {
		text := fmt.Sprintf("%s taken off this bird, the bench's limit: stop, and let the bird go unbanded.", count(v.h.Tried(), "band"))
		lines = wrapped("! ", text, wrong, columns)
	}
	if limit := v.s.Options.ClosingsLimit; limit > 0 && v.closings() >= limit {
		text := fmt.Sprintf("%d closings, the bench's limit: stop. Take the band off (F6) if trained hands can, and let the bird go unbanded.", v.closings())
		lines = append(lines, wrapped("! ", text, wrong, columns)...)
	}
	for _, i := range v.h.Incidents {
		if i.Kind == incidentStress {
			return append(lines, wrapped("! ", "Signs of stress were seen: stop, and let the bird go; unbanded is better than hurt.", wrong, columns)...)
		}
	}
	return lines
}
