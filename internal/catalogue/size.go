package catalogue

import "seamfit/internal/length"

// Mark says how far a row can be trusted.
type Mark string

// The marks of rows.
const (
	FromSource   Mark = "source"   // a published source that was read; the row cites it
	FromPractice Mark = "practice" // common practice of the trade, no source
	FromMemory   Mark = "memory"   // remembered, not checked
	FromUser     Mark = "user"     // from the user's own file
)

// Advice returns what a person must be told beside a row with this mark; ""
// when nothing.
func (m Mark) Advice() string {
	switch m {
	case FromMemory:
		return "not verified: check your office's list"
	case FromPractice:
		return "common practice, no published source"
	default:
		return ""
	}
}

func (m Mark) valid() bool {
	switch m {
	case FromSource, FromPractice, FromMemory, FromUser:
		return true
	default:
		return false
	}
}

// Shape is the outline of a closed band.
type Shape string

// The shapes of bands. Formulas for play hold for round bands only.
const (
	Round Shape = "round"
	Other Shape = "other"
)

// Size is one row of a table of band sizes.
type Size struct {
	Label        string
	Inner        length.Length // inner diameter, closed; 0 = not published (shape "other" only)
	Height       length.Length // 0 = not published
	Thickness    length.Length // 0 = not published
	MassMG       int64         // mass in milligrams; 0 = not published
	Shape        Shape
	Closures     []string // ids of the closure kinds it is made with; the first is the usual one
	Discontinued bool
	Note         string
	Source       string
	Mark         Mark
}

// Catalogue is one issuer's table of sizes, in the table's own order.
type Catalogue struct {
	Name   string // as in settings: "us-federal"
	Title  string
	Source string
	Mark   Mark
	Sizes  []Size
}

// Size returns the row with this label, exactly as written.
func (c *Catalogue) Size(label string) (Size, bool) {
	for _, size := range c.Sizes {
		if size.Label == label {
			return size, true
		}
	}
	return Size{}, false
}
