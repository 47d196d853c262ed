package station

import (
	"strings"

	"seamfit/internal/grid"
)

// digitRows is the height of the large digits at scale 1. On a screen whose
// 24 rows fill a laptop, five rows are about four centimetres: more than
// enough for two metres.
const digitRows = 5

// glyph returns the five rows of a large character, drawn with full cells
// only, which every terminal font has. Upright strokes are two columns wide,
// since a cell is about twice as high as it is wide.
func glyph(char rune) [digitRows]string {
	switch char {
	case '0':
		return [...]string{"██████", "██  ██", "██  ██", "██  ██", "██████"}
	case '1':
		return [...]string{"  ██  ", "████  ", "  ██  ", "  ██  ", "██████"}
	case '2':
		return [...]string{"██████", "    ██", "██████", "██    ", "██████"}
	case '3':
		return [...]string{"██████", "    ██", " █████", "    ██", "██████"}
	case '4':
		return [...]string{"██  ██", "██  ██", "██████", "    ██", "    ██"}
	case '5':
		return [...]string{"██████", "██    ", "██████", "    ██", "██████"}
	case '6':
		return [...]string{"██████", "██    ", "██████", "██  ██", "██████"}
	case '7':
		return [...]string{"██████", "    ██", "   ██ ", "  ██  ", "  ██  "}
	case '8':
		return [...]string{"██████", "██  ██", "██████", "██  ██", "██████"}
	case '9':
		return [...]string{"██████", "██  ██", "██████", "    ██", "██████"}
	case '.':
		return [...]string{"  ", "  ", "  ", "  ", "██"}
	case '-':
		return [...]string{"    ", "    ", "████", "    ", "    "}
	default:
		return [...]string{"  ", "  ", "  ", "  ", "  "}
	}
}

// largeWidth returns the columns that text takes in large digits.
func largeWidth(text string, scale int) int {
	width := 0
	for _, char := range text {
		width += (grid.Width(glyph(char)[0]) + 1) * scale
	}
	return max(width-scale, 0)
}

// drawLarge draws text in large digits into the area, flush right.
func drawLarge(a grid.Area, text string, scale int, style grid.Style) {
	width, _ := a.Size()
	x := width - largeWidth(text, scale)
	for _, char := range text {
		rows := glyph(char)
		for y := range digitRows * scale {
			col := x
			for _, cell := range rows[y/scale] {
				if cell != ' ' {
					a.Put(col, y, strings.Repeat("█", scale), style)
				}
				col += scale
			}
		}
		x += (grid.Width(rows[0]) + 1) * scale
	}
}

// largeScale returns the greatest scale, at most 2, at which text fits; 0 when
// it does not fit at all.
func largeScale(text string, width, height int) int {
	for scale := 2; scale > 0; scale-- {
		if largeWidth(text, scale) <= width && digitRows*scale <= height {
			return scale
		}
	}
	return 0
}
