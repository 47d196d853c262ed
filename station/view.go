package station

import (
	"fmt"
	"strings"

	"seamfit/internal/bench"
	"seamfit/internal/fit"
	"seamfit/internal/grid"
)

// The least size at which everything has its place.
const (
	leastWidth  = 80
	leastHeight = 24
)

// View draws the state into the grid. It is pure, and stays within the grid
// whatever its size.
func View(s State, g *grid.Grid) {
	g.CursorX, g.CursorY = -1, -1
	all := g.All()
	all.Fill(" ", s.Options.Theme.style(plain))
	width, height := g.Size()
	if cramped(width, height) {
		drawTooSmall(s, all)
		return
	}
	v := newView(s, all)
	switch a := s.ask(); {
	case s.Leaving != Staying:
		v.page("Leave the station?", v.leavingLines())
	case s.Scoring:
		v.page("How it went", v.scoreLines())
	case s.Help:
		v.page("Keys", v.helpLines())
	case a == AskCautions:
		v.page("Before a bird is in the hand", v.cautionLines())
	case a == AskSheetDate || a == AskTypist || a == AskSheetShift:
		v.page("Type in a sheet", v.sheetLines(a))
	case a >= AskShift && a <= AskInstrument:
		v.page("The shift", v.shiftPageLines(a))
	case a == AskPlace || a == AskBander || a == AskPermit:
		v.page("Open a shift", v.shiftLines(a))
	default:
		v.bench(a)
	}
}

// view is what one drawing of the screen needs, computed once.
type view struct {
	s        State
	all      grid.Area
	width    int
	height   int
	h        bench.Handling
	open     bool
	progress [6]Progress
	fit      fit.Result
	measured bool
	blockers []bench.Blocker
	hidden   bool // the band's number
	spare    int  // rows that a question may take, beside what must be seen
}

func newView(s State, all grid.Area) *view {
	v := &view{s: s, all: all}
	v.width, v.height = all.Size()
	v.h, v.open = s.bird()
	if !v.open {
		return v
	}
	v.s.Bench = s.Bench.Answered(v.h)
	s = v.s
	for _, step := range Steps() {
		v.progress[step] = progressOf(s.Bench, v.h, step)
	}
	if result, err := s.Bench.Fit(v.h); err == nil {
		v.fit, v.measured = result, true
	}
	v.blockers = bench.Blockers(v.h, s.Bench.Setup.Book)
	v.hidden = numberHidden(s.Bench, v.h)
	return v
}

// cramped reports whether a window has no room for the bench.
func cramped(width, height int) bool { return width < leastWidth || height < leastHeight }

func (v *view) put(x, y int, text string, r role) int {
	return v.all.Put(x, y, text, v.s.Options.Theme.style(r))
}

func (v *view) rule(y int) { v.put(0, y, strings.Repeat("─", v.width), ruled) }

func drawTooSmall(s State, a grid.Area) {
	width, height := a.Size()
	lines := wrapped("", fmt.Sprintf("Enlarge the window to %d x %d. Only F8 works: the bird left the hand. Nothing is lost. This window has %d columns and %d rows; smaller letters help too.",
		leastWidth, leastHeight, width, height), plain, max(width, 1))
	draw(a, s.Options.Theme, lines)
}

// bench draws the one screen of the bench: steps, last reading, ruler, and
// what is waited for.
func (v *view) bench(a Ask) {
	v.header()
	v.birds()
	v.rule(2)
	top := v.topRows()
	left, right := v.columns()
	v.steps(v.all.Sub(0, 3, v.width-v.digitColumns(right), top), a)
	if rows := v.seamPicture(a); rows != nil {
		v.drawRows(v.all.Sub(left, 3, right, top+1), rows)
	} else {
		v.reading(v.all.Sub(left, 3, right, top+1))
	}
	linkRow := 3 + top
	v.link(v.all.Sub(0, linkRow, left, 1))
	v.rule(linkRow + 1)

	panelEnd := v.height - 1
	rulerTop := linkRow + 2
	rulerRows := v.rulerRows(panelEnd - rulerTop)
	panelTop := rulerTop + rulerRows + 1
	lines := v.panel(a, panelEnd-panelTop, panelEnd-rulerTop)
	if need := panelEnd - len(lines); need < panelTop {
		panelTop = max(need, rulerTop)
	}
	if rows := panelTop - 1 - rulerTop; rows >= leastRuler {
		v.ruler(v.all.Sub(0, rulerTop, v.width, rows))
		v.rule(panelTop - 1)
	}
	draw(v.all.Sub(1, panelTop, v.width-2, panelEnd-panelTop), v.s.Options.Theme, lines)
	v.keys(v.height - 1)
}

// leastRuler is the fewest rows of a ruler: two sizes and the scale.
const leastRuler = 3

// topRows is the height of steps and digits: the digits are larger where there
// is room.
func (v *view) topRows() int {
	if v.height >= 34 && v.width >= 110 {
		return 2 * digitRows
	}
	return len(Steps())
}

// columns divides the width between the steps and the digits.
func (v *view) columns() (left, right int) {
	right = largeWidth("88.88", 1) + 2
	if v.topRows() >= 2*digitRows {
		right = largeWidth("88.88", 2) + 1
	}
	return v.width - right, right
}

// digitColumns is how much of the digits' columns the reading in them takes:
// the steps may use the rest.
func (v *view) digitColumns(columns int) int {
	text, _, _ := v.lastReading()
	scale := largeScale(text, columns-1, v.topRows())
	if text == "" || scale == 0 {
		return min(grid.Width(text)+1, columns)
	}
	return largeWidth(text, scale) + 2
}

func (v *view) rulerRows(room int) int {
	switch {
	case room >= 24:
		return 8
	case room >= 18:
		return 6
	default:
		return 4
	}
}

// header draws who works where, and whether all is saved.
func (v *view) header() {
	right := v.width - 1 - len("15:04:05")
	v.put(right, 0, clock(v.s.Now), plain)
	text, r := v.savedWords()
	right -= 2 + grid.Width(text)
	v.put(right, 0, text, r)
	x := v.put(0, 0, " Seamfit ", strong)
	if v.s.late() {
		x = v.put(x, 0, v.sheetTitle(), alarm) + 1
	}
	if shift := v.s.Bench.Shift; shift != nil {
		if shift.Training {
			x = v.put(x, 0, " TRAINING ", alarm) + 1
		}
		v.put(x, 0, grid.Fit(shift.Place+", "+v.s.Bander, right-x-1), plain)
	}
}

// savedWords says whether everything is on the disk.
func (v *view) savedWords() (string, role) {
	q := v.s.Queue
	switch n := len(q.Facts); {
	case q.Failing():
		return fmt.Sprintf(" NOT SAVED: %d ", n), alarm
	case n > 0:
		return "saving", plain
	case q.SavedAt.IsZero():
		return "", plain
	default:
		return "√ saved " + clock(q.SavedAt), good
	}
}
