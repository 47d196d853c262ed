package seam

import (
	"math"

	"seamfit/internal/catalogue"
)

// Sight is what an eye that looks all round sees of a closed butt-end band, in
// millimetres.
type Sight struct {
	// GapMM is how far the edges stand apart at mid-height; below 0, how far
	// one rides over the other.
	GapMM float64
	// OffsetMM is how far the edges are out of line sideways.
	OffsetMM float64
	// TaperMM is by how much the gap is wider at the upper rim than at the
	// lower one; below 0, the other way.
	TaperMM float64
	// RoundMM is the largest less the smallest width.
	RoundMM      float64
	Burr, Caught bool
}

// From what on an eye at arm's length sees that something is wrong. These are
// the bench's own, for training: no published figure was found.
const (
	SeenGapMM     = 0.12
	SeenOverlapMM = 0.02
	SeenOffsetMM  = 0.15
	SeenTaperMM   = 0.12
	SeenRoundMM   = 0.25
)

// Findings returns the catalogue's ids of what is wrong, in the catalogue's
// order; none when the seam is flush.
func (s Sight) Findings() []string {
	var found []string
	for _, f := range []struct {
		id    string
		wrong bool
	}{
		{catalogue.Gap, s.GapMM > SeenGapMM},
		{catalogue.Overlap, s.GapMM < -SeenOverlapMM},
		{catalogue.Spiral, math.Abs(s.OffsetMM) > SeenOffsetMM},
		{catalogue.Taper, math.Abs(s.TaperMM) > SeenTaperMM},
		{catalogue.OutOfRound, s.RoundMM > SeenRoundMM},
		{catalogue.Burr, s.Burr},
		{catalogue.Caught, s.Caught},
	} {
		if f.wrong {
			found = append(found, f.id)
		}
	}
	return found
}

// Pliers is how the pliers stand to a band.
type Pliers struct {
	Turn   int     // −1, 0 or 1: turned 60° to the left, straight, to the right
	EdgeMM float64 // from the jaws' edge to the band's edge
}

// Tool is one thing that a trainee can do to a practice band by a key.
type Tool struct {
	Key   rune
	Words string
}

// Handiwork is what was done to one band of a training run: keys of tools, in
// order, and LookKey for each look that was told.
type Handiwork struct {
	Handling string
	Band     int
	Acts     string
}

// LookKey stands in a Handiwork for a look that was told.
const LookKey = 'L'

// Worked is what a practice band is like after some handiwork.
type Worked struct {
	Sight  Sight
	Pliers Pliers
	Said   string // what is heard or felt of the last act
}
