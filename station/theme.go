package station

import "seamfit/internal/grid"

// Theme is how the screen is coloured. Colour never carries meaning by itself:
// every theme says the same by words, signs and attributes.
type Theme int

// The themes. ThemeNone uses no colour at all; ThemeRed is red on black, for
// eyes that are used to the dark.
const (
	ThemeColour Theme = iota
	ThemeNone
	ThemeRed
)

// role is what a piece of the screen is; the theme decides how it looks.
type role int

const (
	plain    role = iota
	quiet         // beside the point
	strong        // what matters now
	key           // a key to press
	good          // done
	wrong         // needs mending
	alarm         // must be seen
	field         // what is being typed
	digit         // large digits
	fleeting      // large digits that are no reading yet
	ruled         // lines and scales
)

// style returns how a role looks.
func (t Theme) style(r role) grid.Style {
	style := attributes(r)
	switch t {
	case ThemeColour:
		style.Fore = colourOf(r)
	case ThemeRed:
		style.Back = grid.Black
		style.Fore = grid.Red
		if r == strong || r == key || r == alarm || r == digit {
			style.Fore = grid.BrightRed
		}
	}
	return style
}

// attributes returns what a role looks like in every theme.
func attributes(r role) grid.Style {
	switch r {
	case strong, key, wrong, digit:
		return grid.Style{Bold: true}
	case alarm:
		return grid.Style{Bold: true, Reverse: true}
	case field:
		return grid.Style{Underline: true}
	case fleeting:
		return grid.Style{Dim: true}
	default:
		return grid.Style{}
	}
}

// colourOf keeps to colours that can be read on a dark and on a light screen.
func colourOf(r role) grid.Color {
	switch r {
	case good:
		return grid.Green
	case wrong, alarm:
		return grid.Red
	default:
		return grid.Default
	}
}
