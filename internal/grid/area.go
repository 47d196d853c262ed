package grid

// Area is a rectangle of a grid with coordinates of its own. What is put
// outside it is clipped. The zero value has no cells.
type Area struct {
	grid          *Grid
	x, y          int
	width, height int
}

// Size returns the area's columns and rows.
func (a Area) Size() (width, height int) { return a.width, a.height }

// Sub returns the part of a that starts at column x, row y, and is width by
// height, as far as it lies inside a.
func (a Area) Sub(x, y, width, height int) Area {
	left, top := max(x, 0), max(y, 0)
	right, bottom := min(x+width, a.width), min(y+height, a.height)
	return Area{a.grid, a.x + left, a.y + top, max(right-left, 0), max(bottom-top, 0)}
}

// Put writes text from column x of row y on and returns the column after it.
// Text that does not fit is cut at the area's border; what begins to its left
// is cut there.
func (a Area) Put(x, y int, text string, style Style) int {
	inside := y >= 0 && y < a.height
	for text != "" {
		var cluster string
		var width int
		if cluster, width, text = next(text); width == 0 {
			continue
		}
		if inside && x >= 0 && x+width <= a.width {
			a.grid.set(a.x+x, a.y+y, width, cluster, style)
		}
		x += width
	}
	return x
}

// PutRight writes text so that it ends before column x of row y, and returns
// the column where it begins.
func (a Area) PutRight(x, y int, text string, style Style) int {
	start := x - Width(text)
	a.Put(start, y, text, style)
	return start
}

// Fill puts one character of width 1 into every cell.
func (a Area) Fill(char string, style Style) {
	cluster, width, _ := next(char)
	if width != 1 {
		cluster = replacement
	}
	if a.width == 0 {
		return
	}
	for y := a.y; y < a.y+a.height; y++ {
		// The ends may cut a wide character; between them nothing is left to see.
		for _, x := range []int{a.x, a.x + a.width - 1} {
			a.grid.set(x, y, 1, cluster, style)
		}
		row := a.grid.cells[y*a.grid.width+a.x:][:a.width]
		for x := range row {
			row[x] = Cell{cluster, style}
		}
	}
}

// Cursor puts the terminal's cursor at column x, row y of the area; outside
// it, at its last column or row.
func (a Area) Cursor(x, y int) {
	if a.width == 0 || a.height == 0 {
		return
	}
	a.grid.CursorX = a.x + min(max(x, 0), a.width-1)
	a.grid.CursorY = a.y + min(max(y, 0), a.height-1)
}
