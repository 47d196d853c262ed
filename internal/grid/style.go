package grid

// Color is one of the sixteen colours that every terminal has, or Default,
// the terminal's own.
type Color uint8

// The colours.
const (
	Default Color = iota
	Black
	Red
	Green
	Yellow
	Blue
	Magenta
	Cyan
	White
	BrightBlack
	BrightRed
	BrightGreen
	BrightYellow
	BrightBlue
	BrightMagenta
	BrightCyan
	BrightWhite
)

// Style is how a cell looks. The zero value is the terminal's own look.
type Style struct {
	Fore, Back Color
	Bold       bool
	Dim        bool
	Underline  bool
	Reverse    bool
}

// Mark returns one letter for the style's attributes, for maps in tests:
// '.' plain, 'b' bold, 'd' dim, 'u' underlined, 'r' reversed, 'B' bold and
// reversed, '+' any other mixture.
func (s Style) Mark() byte {
	switch [4]bool{s.Bold, s.Dim, s.Underline, s.Reverse} {
	case [4]bool{}:
		return '.'
	case [4]bool{0: true}:
		return 'b'
	case [4]bool{1: true}:
		return 'd'
	case [4]bool{2: true}:
		return 'u'
	case [4]bool{3: true}:
		return 'r'
	case [4]bool{0: true, 3: true}:
		return 'B'
	default:
		return '+'
	}
}
