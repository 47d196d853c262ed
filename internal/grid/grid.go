package grid

import "strings"

// Cell is one place of a grid. Text is one character with its marks; it is
// empty in the right half of a character two columns wide.
type Cell struct {
	Text  string
	Style Style
}

// blank returns a cell that shows nothing.
func blank() Cell { return Cell{Text: " "} }

// Grid is a rectangle of cells.
type Grid struct {
	width, height int
	cells         []Cell

	// CursorX and CursorY are where the terminal's cursor stands, where text
	// is being typed; CursorX is negative when there is none.
	CursorX, CursorY int
}

// New returns a blank grid. Negative sizes count as 0.
func New(width, height int) *Grid {
	g := &Grid{}
	g.Resize(width, height)
	return g
}

// Resize gives the grid another size and blanks it.
func (g *Grid) Resize(width, height int) {
	g.width, g.height = max(width, 0), max(height, 0)
	if n := g.width * g.height; cap(g.cells) >= n {
		g.cells = g.cells[:n]
	} else {
		g.cells = make([]Cell, n)
	}
	g.Clear()
}

// Clear blanks the grid and takes the cursor off it.
func (g *Grid) Clear() {
	for i := range g.cells {
		g.cells[i] = blank()
	}
	g.CursorX, g.CursorY = -1, -1
}

// Size returns the grid's columns and rows.
func (g *Grid) Size() (width, height int) { return g.width, g.height }

// Cell returns the cell at column x, row y; a blank outside the grid.
func (g *Grid) Cell(x, y int) Cell {
	if x < 0 || y < 0 || x >= g.width || y >= g.height {
		return blank()
	}
	return g.cells[y*g.width+x]
}

// All returns the whole grid as an area.
func (g *Grid) All() Area { return Area{g, 0, 0, g.width, g.height} }

// set puts one cluster. Half of a wide character that is overwritten leaves a
// blank, never half a character.
func (g *Grid) set(x, y, width int, text string, style Style) {
	row := g.cells[y*g.width : (y+1)*g.width]
	if row[x].Text == "" && x > 0 {
		row[x-1].Text = " "
	}
	if after := x + width; after < g.width && row[after].Text == "" {
		row[after].Text = " "
	}
	row[x] = Cell{text, style}
	if width == 2 {
		row[x+1] = Cell{"", style}
	}
}

// Lines returns what each row shows, without blanks at the end.
func (g *Grid) Lines() []string {
	lines := make([]string, g.height)
	for y := range g.height {
		var b strings.Builder
		for _, cell := range g.cells[y*g.width : (y+1)*g.width] {
			b.WriteString(cell.Text)
		}
		lines[y] = strings.TrimRight(b.String(), " ")
	}
	return lines
}

// String returns the rows, each with its line end.
func (g *Grid) String() string { return strings.Join(g.Lines(), "\n") + "\n" }

// Marks returns a map of the attributes: one letter a cell, as Style.Mark,
// without plain cells at the end of a row.
func (g *Grid) Marks() string {
	var b strings.Builder
	for y := range g.height {
		row := make([]byte, g.width)
		for x, cell := range g.cells[y*g.width : (y+1)*g.width] {
			row[x] = cell.Style.Mark()
		}
		b.WriteString(strings.TrimRight(string(row), ".") + "\n")
	}
	return b.String()
}
