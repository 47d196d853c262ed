package fit

import (
	"cmp"
	"math"
	"slices"

	"seamfit/internal/metrology"
)

// mostReadings is the number of readings of one leg beyond which more are no
// mend: the bird waits.
const mostReadings = 30

// warnAlike tells when the best size and a neighbour can't be told apart: when
// the leg's 95 % interval holds the width at which both are equally far from
// the target play,
//
//	w* = √(ID₁·ID₂) / (1 + target)
//
// A size on the office's list is not weighed against one that is not, since
// play does not decide there.
func (m Model) warnAlike(leg Leg, ranked []Candidate, chosen int, add adder) {
	best := ranked[chosen]
	if best.Verdict == Unjudged {
		return
	}
	for _, other := range neighbours(ranked, chosen) {
		if other.verified != best.verified {
			continue
		}
		if other.InnerMM == best.InnerMM {
			add(CodeAlike, "sizes %s and %s have the same inner diameter: choose by height and closure", best.Size, other.Size)
			continue
		}
		distance := math.Abs(leg.MeanMM - math.Sqrt(best.InnerMM*other.InnerMM)/(1+m.TargetPlay))
		if distance > leg.ExpandedMM {
			continue
		}
		more := m.readingsFor(leg, distance)
		switch {
		case more < 0:
			add(CodeAlike, "sizes %s and %s can't be told apart on this leg, and more readings would not help: either may serve", best.Size, other.Size)
		case more == 1:
			add(CodeAlike, "sizes %s and %s can't be told apart yet: 1 more reading would separate them", best.Size, other.Size)
		default:
			add(CodeAlike, "sizes %s and %s can't be told apart yet: %d more readings would separate them", best.Size, other.Size, more)
		}
	}
}

// neighbours returns the sizes next to the chosen one by inner diameter, on
// either side and with the same diameter, among those that can still be
// chosen.
func neighbours(ranked []Candidate, chosen int) []Candidate {
	best := ranked[chosen]
	var below, above *Candidate
	var found []Candidate
	for i := range ranked {
		c := &ranked[i]
		if i == chosen || c.row.Discontinued || c.Verdict != Fits && c.Verdict != Borderline {
			continue
		}
		switch {
		case c.InnerMM == best.InnerMM:
			found = append(found, *c)
		case c.InnerMM < best.InnerMM && (below == nil || c.InnerMM > below.InnerMM):
			below = c
		case c.InnerMM > best.InnerMM && (above == nil || c.InnerMM < above.InnerMM):
			above = c
		}
	}
	for _, c := range []*Candidate{below, above} {
		if c != nil {
			found = append(found, *c)
		}
	}
	slices.SortStableFunc(found, func(a, b Candidate) int { return cmp.Compare(a.InnerMM, b.InnerMM) })
	return found
}

// readingsFor returns how many further readings bring the half-width of the
// interval below distance, if they scatter as those so far and the mean stays;
// −1 when none up to mostReadings would.
func (m Model) readingsFor(leg Leg, distance float64) int {
	if leg.N >= mostReadings || m.halfWidth(leg, mostReadings) >= distance {
		return -1
	}
	low, high := leg.N, mostReadings // half-width at low too wide, at high enough
	for high-low > 1 {
		if mid := (low + high) / 2; m.halfWidth(leg, mid) >= distance {
			low = mid
		} else {
			high = mid
		}
	}
	return high - leg.N
}

// halfWidth is the expanded uncertainty that n readings would have, all else
// equal.
func (m Model) halfWidth(leg Leg, n int) float64 {
	pooled := m.Pooled[widthClass(leg.ReadMM)].DOF >= pooledEnough
	parts := make([]metrology.Component, len(leg.Components))
	for i, c := range leg.Components {
		parts[i] = metrology.Component{U: c.UMM, DOF: float64(c.DOF)}
		if c.Name != Repeatability {
			continue
		}
		parts[i].U *= math.Sqrt(float64(leg.N) / float64(n))
		if !pooled && !math.IsInf(float64(c.DOF), 1) {
			parts[i].DOF = float64(n - 1)
		}
	}
	u, nu, err := metrology.Combine(parts)
	if err != nil {
		return math.Inf(1)
	}
	return metrology.CoverageFactor(level, nu) * u
}
