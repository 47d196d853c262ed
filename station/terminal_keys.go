package station

import (
	"strings"

	"github.com/gdamore/tcell/v2"

	"seamfit/internal/grid"
)

// pasting collects a bracketed paste, which arrives as keys.
type pasting struct{ text strings.Builder }

// longestPaste bounds what one paste may hold: the rest of it is not taken.
const longestPaste = 4096

// translate returns the station's event for one of the terminal's; nil for
// what it has no use for.
func (t *Terminal) translate(event tcell.Event, paste *pasting) (Event, *pasting) {
	now := Moment{At: t.clock()}
	switch e := event.(type) {
	case *tcell.EventResize:
		width, height := e.Size()
		return Resize{Moment: now, Width: width, Height: height}, paste
	case *tcell.EventPaste:
		if e.Start() {
			return nil, &pasting{}
		}
		if paste == nil {
			return nil, nil
		}
		return Paste{Moment: now, Text: paste.text.String()}, nil
	case *tcell.EventKey:
		if paste == nil {
			code, char := keyOf(e)
			return Key{Moment: now, Code: code, Rune: char}, nil
		}
		if paste.text.Len() < longestPaste {
			paste.text.WriteString(pasted(e))
		}
	}
	return nil, paste
}

func pasted(e *tcell.EventKey) string {
	if e.Key() == tcell.KeyRune {
		return string(e.Rune())
	}
	return " "
}

// keyOf returns the station's name for a key.
func keyOf(e *tcell.EventKey) (Code, rune) {
	switch k := e.Key(); {
	case k == tcell.KeyRune && e.Modifiers()&(tcell.ModAlt|tcell.ModMeta|tcell.ModCtrl) == 0:
		return CodeRune, e.Rune()
	case k >= tcell.KeyF1 && k <= tcell.KeyF9:
		return CodeF1 + Code(k-tcell.KeyF1), 0
	case k >= tcell.KeyCtrlA && k <= tcell.KeyCtrlZ:
		return CodeControl, 'a' + rune(k-tcell.KeyCtrlA)
	default:
		return namedKey(k), 0
	}
}

func namedKey(k tcell.Key) Code {
	switch k {
	case tcell.KeyEnter:
		return CodeEnter
	case tcell.KeyTab:
		return CodeTab
	case tcell.KeyBacktab:
		return CodeBackTab
	case tcell.KeyUp:
		return CodeUp
	case tcell.KeyDown:
		return CodeDown
	case tcell.KeyLeft:
		return CodeLeft
	case tcell.KeyRight:
		return CodeRight
	case tcell.KeyBackspace, tcell.KeyBackspace2:
		return CodeBackspace
	case tcell.KeyDelete:
		return CodeDelete
	case tcell.KeyEscape:
		return CodeEscape
	default:
		return CodeOther
	}
}

// styleOf returns the terminal's style for a cell's.
func styleOf(s grid.Style) tcell.Style {
	return tcell.StyleDefault.Foreground(colorOf(s.Fore)).Background(colorOf(s.Back)).
		Bold(s.Bold).Dim(s.Dim).Underline(s.Underline).Reverse(s.Reverse)
}

func colorOf(c grid.Color) tcell.Color {
	if c == grid.Default {
		return tcell.ColorDefault
	}
	return tcell.PaletteColor(int(c - grid.Black))
}
