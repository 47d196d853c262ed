package bench

import (
	"fmt"
	"slices"
)

// Practised is one bander with bands of one size and metal.
type Practised struct{ Bander, Size, Metal string }

// Practice is what the bench asks of its banders before they close bands on
// birds: who has met the bench target on a dowel, for which bands. It is advice
// unless the bench's settings require it, and never a licence.
type Practice struct {
	Planned  []BandKind // whose standing is told at the shift's start
	Required bool       // a choice without the target met needs its reason
	Met      []Practised
}

// BandKind is a size and a metal.
type BandKind struct{ Size, Metal string }

// MetBy reports whether a bander has met the bench target.
func (p Practice) MetBy(bander string, k BandKind) bool {
	return slices.Contains(p.Met, Practised{bander, k.Size, k.Metal})
}

// against returns what speaks against bands of a kind in a bander's hands.
func (p Practice) against(bander string, k BandKind) []string {
	if !p.Required || p.MetBy(bander, k) {
		return nil
	}
	return []string{fmt.Sprintf("%s has not met the bench target for it, which this bench requires", bander)}
}
