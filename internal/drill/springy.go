package drill

import (
	"math"
	"slices"

	"seamfit/internal/seam"
)

// Deed is what is done to a band.
type Deed uint8

// The deeds. The first four squeeze with the pliers: until the edges nearly
// meet, until they meet, until they pass each other slightly, and with all
// one's strength.
const (
	Gently Deed = iota
	Meet
	Past
	Hard
	Nudge      // push a riding edge back, from the side to which the pliers are turned
	Straighten // push each edge sideways past the line
	Spread     // open it with the spreaders
)

// Act is one deed with the pliers as they stand.
type Act struct {
	Deed   Deed
	Pliers seam.Pliers
}

// Springy is a band of metal that springs: what its seam is like follows from
// what is done to it. The zero value is no band. It is a value; Do answers
// with another one.
//
// How far it springs is physics (Blank.Spring). How it answers to the pliers
// follows common practice: a squeeze sets the third of the ring under the jaws
// and little of the rest, so that an unturned squeeze springs open, small
// hard-metal bands take three angles, and larger ones want their edges past
// each other slightly, to spring back level; an overlap goes back when it is
// nudged about 1 mm from the edge from both sides, and grows when the pliers
// sit farther in. The figures in it are the training's own.
type Springy struct {
	blank  Blank
	hard   bool
	spring float64    // gap that the whole ring would spring, mm
	set    [3]float64 // part of its bend that each third holds: left, middle, right
	bulge  float64    // out of round that no further squeeze takes out
	nudged [2]bool    // riding edge pushed from the left, from the right
	slips  int        // of the jaws off the rim
	seed   uint64
	acts   uint64
	sight  seam.Sight
}

// Flaw is what can be wrong with a band before it is closed.
type Flaw uint8

// The flaws.
const (
	NoFlaw Flaw = iota
	Twisted
	Feather
)

// NewSpringy returns a band that stands open round a leg. It returns
// Blank.Spring's errors.
func NewSpringy(b Blank, flaw Flaw, seed uint64) (Springy, error) {
	spring, err := b.Spring()
	if err != nil {
		return Springy{}, err
	}
	a, _ := alloy(b.Metal)
	s := Springy{blank: b, hard: a.Hard, spring: spring, seed: seed}
	s.sight.GapMM = 0.6 * b.Inner.MM()
	switch flaw {
	case Twisted:
		s.sight.OffsetMM = 0.3
	case Feather:
		s.sight.Caught = true
	case NoFlaw:
	}
	return s, nil
}

// Sight returns what an eye sees of it now.
func (s Springy) Sight() seam.Sight { return s.sight }

// Jammed reports whether an edge rides so far over the other that spreaders do
// not go in: only cutting the band off helps.
func (s Springy) Jammed() bool { return s.sight.GapMM < -jam*s.blank.Thickness.MM() }

// jam is how many thicknesses an edge may ride before the spreaders fail.
const jam = 0.9

// Do returns the band after an act, and what is heard or felt of it.
func (s Springy) Do(a Act) (Springy, string) {
	s.acts++
	a.Pliers.Turn = max(-1, min(a.Pliers.Turn, 1))
	switch a.Deed {
	case Nudge:
		return s.nudge(a.Pliers)
	case Straighten:
		return s.straighten()
	case Spread:
		return s.spread()
	default:
		return s.squeeze(a)
	}
}

func (s Springy) noise(which uint64) float64 { return normal(s.seed, s.acts, which) }

// far and near bound where the jaws' edge may sit: within them, a squeeze
// takes hold of the ends and does not slip off.
const (
	near = 0.75
	far  = 1.5
)

func (s Springy) squeeze(a Act) (Springy, string) {
	if s.sight.GapMM < 0 {
		s.sight.GapMM -= 0.1*s.blank.Thickness.MM() + 0.2*s.depth(a.Deed)
		return s, "The riding edge slides farther over the other."
	}
	before := s.sight.GapMM
	s.work(a)
	past := s.depth(a.Deed)
	left := 0.0
	if a.Deed == Gently {
		left = 0.2
	}
	gap := left - past + s.loose() + 0.01*s.noise(1)
	if gap > -seam.SeenOverlapMM && gap < 0 {
		gap = 0
	}
	s.sight.GapMM = min(before, gap)
	s.place(a.Pliers)
	switch {
	case s.sight.GapMM < 0:
		return s, "A click: an edge has slipped past the other."
	case past > 0:
		return s, "Two clicks: the edges pass each other, and spring back."
	case s.sight.GapMM > seam.SeenGapMM:
		return s, "It springs open as the pliers let go."
	default:
		return s, "It stays as the pliers leave it."
	}
}

// depth is by how much a deed pushes the edges past each other.
func (s Springy) depth(d Deed) float64 {
	switch d {
	case Past:
		// A hand goes by how the band sprang, within about a twentieth.
		return 0.325 * s.spring * max(0.5, 1+0.05*s.noise(2))
	case Hard:
		return (0.9*s.spring + 0.3*s.blank.Thickness.MM()) * max(0.5, 1+0.1*s.noise(2))
	default:
		return 0
	}
}

// work sets the metal under the jaws, and a little of the rest.
func (s *Springy) work(a Act) {
	under, rest := 0.85, 0.35
	if s.hard {
		under, rest = 0.75, 0.2
	}
	if a.Deed == Gently {
		under, rest = under/2, rest/2
	}
	for i := range s.set {
		part := rest
		if i == a.Pliers.Turn+1 {
			part = under
		}
		s.set[i] += (1 - s.set[i]) * part
	}
	if a.Deed == Hard {
		s.bulge += 0.12
	}
}

// loose is the gap that the ring springs now.
func (s Springy) loose() float64 {
	return s.spring * (1 - (s.set[0]+s.set[1]+s.set[2])/3)
}

// place is what a squeeze does beside closing, by where the pliers sit.
func (s *Springy) place(p seam.Pliers) {
	s.sight.TaperMM += 0.05*float64(p.Turn) + 0.015*s.noise(3)
	if p.EdgeMM > far {
		s.bulge += 0.15 * (p.EdgeMM - far)
	}
	if p.EdgeMM < near {
		s.slip()
	}
	s.sight.RoundMM = s.bulge + 0.15*(slices.Max(s.set[:])-slices.Min(s.set[:]))
}

// slip is the jaws coming off the rim: they drag one edge sideways, and the
// second time they leave a burr.
func (s *Springy) slip() {
	s.slips++
	s.sight.OffsetMM += math.Copysign(0.12, s.sight.OffsetMM)
	if s.slips > 1 {
		s.sight.Burr = true
	}
}

func (s Springy) nudge(p seam.Pliers) (Springy, string) {
	switch {
	case p.EdgeMM < near:
		s.slip()
		return s, "The jaws slip off the rim."
	case s.sight.GapMM >= 0:
		s.sight.RoundMM += 0.03
		s.bulge += 0.03
		return s, "No edge rides: there is nothing to push back."
	case p.EdgeMM > far:
		s.sight.GapMM -= 0.25*(p.EdgeMM-1) + 0.1*s.blank.Thickness.MM()
		return s, "The overlap grows: the pliers sit too far from the edge."
	case p.Turn == 0:
		return s, "It gives nowhere: push from the side, the pliers turned."
	}
	s.nudged[(p.Turn+1)/2] = true
	if !s.nudged[0] || !s.nudged[1] {
		s.sight.GapMM *= 0.6
		return s, "A click. The other side has still to be pushed."
	}
	s.nudged = [2]bool{}
	s.sight.GapMM = math.Abs(0.03 * s.noise(1))
	return s, "The second click: the edges pass each other, and spring back level."
}

func (s Springy) straighten() (Springy, string) {
	if math.Abs(s.sight.OffsetMM) > seam.SeenOffsetMM/2 {
		s.sight.OffsetMM = 0.03 * s.noise(1)
		return s, "Each edge goes past the line, and springs back."
	}
	s.sight.OffsetMM += math.Copysign(0.1, s.sight.OffsetMM)
	return s, "The edges were in line, and are pushed out of it a little."
}

func (s Springy) spread() (Springy, string) {
	if s.Jammed() {
		return s, "The spreaders do not go in."
	}
	s.sight.GapMM = 0.3 * s.blank.Inner.MM()
	s.sight.TaperMM, s.sight.Caught, s.nudged = 0, false, [2]bool{}
	for i := range s.set {
		s.set[i] *= 0.3
	}
	return s, "It opens; nothing is caught any more."
}
