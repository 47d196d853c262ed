package seam

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"seamfit/internal/length"
)

// bandSizes are inner diameter and thickness in mm of bands from the smallest
// to the largest (from inches: "Technical Specifications for Band Sizes", US
// Geological Survey, Bird Banding Laboratory).
var bandSizes = []struct {
	label    string
	inner, t float64
}{
	{"0A", .078 * 25.4, .020 * 25.4},
	{"1", .094 * 25.4, .020 * 25.4},
	{"1B", .109 * 25.4, .032 * 25.4},
	{"2", .156 * 25.4, .032 * 25.4},
	{"4", .250 * 25.4, .040 * 25.4},
	{"6", .375 * 25.4, .051 * 25.4},
	{"7B", .531 * 25.4, .051 * 25.4},
	{"8", .688 * 25.4, .063 * 25.4},
	{"9C", 1.125 * 25.4, .063 * 25.4},
}

// outline is a band's outer outline as points; what is between them is metal
// or air that a jaw does not reach.
type points [][2]float64

// arc adds points at radius r over the angles from a to b, the seam being at
// the angle 0.
func (p points) arc(r, a, b float64) points {
	const parts = 3000
	for i := range parts + 1 {
		sin, cos := math.Sincos(a + (b-a)*float64(i)/parts)
		p = append(p, [2]float64{r * cos, r * sin})
	}
	return p
}

// width is what flat jaws read across the outline, standing at the angle psi
// from the seam: the extent of all points along that direction.
func (p points) width(psi float64) float64 {
	sin, cos := math.Sincos(psi)
	low, high := math.Inf(1), math.Inf(-1)
	for _, q := range p {
		x := q[0]*cos + q[1]*sin
		low, high = min(low, x), max(high, x)
	}
	return high - low
}

// widths are k widths at equal angles, the first off radians beside the seam.
func (p points) widths(k int, off float64) []float64 {
	ws := make([]float64, k)
	for i := range ws {
		ws[i] = p.width(off + math.Pi*float64(i)/float64(k))
	}
	return ws
}

func dimension(t require.TestingT, mm float64) Dimension {
	l, err := length.FromMM(mm)
	require.NoError(t, err)
	return Dimension{Value: l}
}

// closedBand is a band of inner diameter and thickness in mm with these widths,
// its outer diameter known exactly.
func closedBand(t require.TestingT, inner, thickness float64, widths []float64) Closed {
	c := Closed{
		Thickness: dimension(t, thickness).Value,
		Outer:     Outer{Basis: Stated, Diameters: []Dimension{dimension(t, inner+2*thickness)}},
	}
	for _, w := range widths {
		c.Widths = append(c.Widths, dimension(t, w))
	}
	return c
}

// everyday is an uncalibrated caliper.
func everyday() Caliper { return Caliper{RepeatabilitySD: 0.03, MPE: 20 * length.Micrometre} }

// splitRing is a ring bent from a strip of developed length L = π(ID+t) so far
// that its edges stand gap apart at mid-thickness: mid radius (L+gap)/2π, an
// outer arc and the corners of the inner edges.
func splitRing(inner, t, gap float64) (p points, outer, angle float64) {
	mid := (math.Pi*(inner+t) + gap) / (2 * math.Pi)
	outer, angle = mid+t/2, gap/mid
	p = p.arc(outer, angle/2, 2*math.Pi-angle/2)
	for _, side := range []float64{angle / 2, -angle / 2} {
		sin, cos := math.Sincos(side)
		p = append(p, [2]float64{(mid - t/2) * cos, (mid - t/2) * sin})
	}
	return p, outer, angle
}

// A split ring: what is recovered from widths is the gap that was put in. Jaws
// over the gap stand on its two edges, R(1−cos(γ/2)) lower than on a whole
// ring of outer radius R whose gap spans the angle γ; only the width through
// the seam is lower, as long as γ is below the spacing of the widths. So k
// widths give a gap that is too small by at most π·R(1−cos(γ/2))/k, and never
// too large.
func TestTheGapThatWasPutInIsRecovered(t *testing.T) {
	l := DefaultLimits()
	worst := 0.0
	for _, size := range bandSizes {
		for _, gap := range []float64{0, 0.02, 0.05, 0.1, 0.2, 0.3, 0.5, 0.8, 1.2} {
			ring, outer, angle := splitRing(size.inner, size.t, gap)
			for _, k := range []int{2, 3, 4} {
				name := fmt.Sprintf("size %s, gap %g mm, %d widths", size.label, gap, k)
				j, err := Judge(closedBand(t, size.inner, size.t, ring.widths(k, 0)), everyday(), l)
				require.NoError(t, err, name)
				bound := math.Pi * outer * (1 - math.Cos(angle/2)) / float64(k)
				// Nanometres of the readings, and points of the outline that lie up
				// to R(1−cos(π/3000)) short of where a jaw would touch.
				rounding := 1e-5 + 2*math.Pi*outer*(1-math.Cos(math.Pi/3000))
				assert.LessOrEqual(t, j.GapMM, gap+rounding, name)
				assert.GreaterOrEqual(t, j.GapMM, gap-bound-rounding, name)
				worst = max(worst, gap-j.GapMM)
				// What is seen outside spans the same angle at the outer radius.
				// g·OD/(OD−t) takes the flush radius for the open one; a band that
				// is open by g is wider by g/π, a part in a hundred.
				assert.InDelta(t, angle*outer, j.Visible.ValueMM, bound*1.3+0.01*gap+rounding, name)
				assert.NotEqual(t, Step, j.Verdict, name)
				switch {
				case gap >= 0.5:
					assert.Equal(t, Gap, j.Verdict, name)
				case gap <= 0.1:
					assert.Equal(t, Flush, j.Verdict, name)
				}
			}
		}
	}
	t.Logf("at most %.3f mm of the gap is lost", worst)
}

// steppedRing is a ring of the same strip whose edges have passed each other by
// delta at mid-thickness: the ring below is shorter by delta, and an edge that
// rides by height lies on it over delta, measured at its own mid-thickness.
func steppedRing(inner, t, delta, height float64) points {
	below := (math.Pi*(inner+t) - delta) / (2 * math.Pi)
	r := below + t/2
	half := delta / 2 / (r + height/2)
	return points{}.arc(r, 0, 2*math.Pi).arc(r+height, -half, half)
}

// A riding edge adds its thickness to a width, so an overlap reads as a gap: it
// has to be seen as a step before. With the first width through the seam within
// the stated angle, a band whose edges have passed each other is called neither
// flush nor gap, for every overlap. The step itself shows for every overlap up
// to the stated one; beyond, the edge lies under the other widths too, and the
// band is smaller round than flush by far.
//
// What can't be seen is tested below.
func TestASteppedRingIsNeverFlushOrGap(t *testing.T) {
	l := DefaultLimits()
	for _, size := range bandSizes {
		od := size.inner + 2*size.t
		for _, k := range []int{2, 3, 4} {
			to, off := stepShows(od, size.t, k, l.OutOfRound.MM())
			require.Positive(t, to, "size %s, %d widths", size.label, k)
			require.Positive(t, off)
			t.Logf("size %-2s, %d widths: shows to %5.2f mm, first width within %4.1f°", size.label, k, to, off*180/math.Pi)
			for _, part := range []float64{0.001, 0.02, 0.05, 0.1, 0.15, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.97} {
				for _, aside := range []float64{0, -0.5, 0.98} {
					name := fmt.Sprintf("size %s, %d widths, overlap %.3f mm, %.0f %% aside", size.label, k, part*to, 100*aside)
					ring := steppedRing(size.inner, size.t, part*to, size.t)
					j, err := Judge(closedBand(t, size.inner, size.t, ring.widths(k, aside*off)), everyday(), l)
					if err != nil {
						require.ErrorContains(t, err, "not of one closed band", name)
						continue
					}
					require.Equal(t, Step, j.Verdict, name)
					require.Nil(t, j.PGapOverLimit, name)
					require.True(t, j.Riding.ValueMM > size.t/2 || j.OutOfRoundMM > l.OutOfRound.MM(), name)
				}
			}
			// Beyond, with the widths where the step shows least.
			for delta := to; delta < 0.3*math.Pi*od; delta += od / 40 {
				for _, aside := range []float64{0, 1} {
					ring := steppedRing(size.inner, size.t, delta, size.t)
					j, err := Judge(closedBand(t, size.inner, size.t, ring.widths(k, aside*off)), everyday(), l)
					if err == nil {
						require.Equal(t, Step, j.Verdict, "size %s, %d widths, overlap %.2f mm", size.label, k, delta)
					}
				}
			}
		}
	}
}

// The stated limit is where the simulated step vanishes.
func TestTheStepVanishesWhereStated(t *testing.T) {
	limit := DefaultLimits().OutOfRound.MM()
	shows := func(ws []float64, thickness float64) bool {
		low, high, rest := ws[0], ws[0], 0.0
		for _, w := range ws {
			low, high, rest = min(low, w), max(high, w), rest+w
		}
		rest = (rest - ws[0]) / float64(len(ws)-1)
		return ws[0]-rest > thickness/2 || high-low > limit
	}
	vanishes := 0
	for _, size := range bandSizes {
		od := size.inner + 2*size.t
		to, off := stepShows(od, size.t, 3, limit)
		both := func(delta float64) bool {
			ring := steppedRing(size.inner, size.t, delta, size.t)
			return shows(ring.widths(3, 0), size.t) && shows(ring.widths(3, off*0.999), size.t)
		}
		assert.True(t, both(0.999*to), "size %s", size.label)
		if to < math.Pi*(od-size.t)/4*0.999 {
			vanishes++
			assert.False(t, both(1.003*to), "size %s: at %.2f mm", size.label, 1.003*to)
		}
	}
	assert.Positive(t, vanishes)
}

func TestAnEdgeThatHasJustClimbedShowsOnEveryBand(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		thickness := rapid.Float64Range(0.1, 3).Draw(t, "thickness")
		od := 2*thickness + rapid.Float64Range(0.01, 30).Draw(t, "inner")
		k := rapid.IntRange(fewestWidths, mostWidths).Draw(t, "widths")
		limit := rapid.Float64Range(0, 5).Draw(t, "out of round")
		to, off := stepShows(od, thickness, k, limit)
		require.Positive(t, to)
		require.Positive(t, off)
		require.LessOrEqual(t, off, aim)
	})
}

// For these overlaps the widths are blind, and the notes say so: the first width
// 30° beside the seam, where two widths share what little the edge lifts them,
// and δ between nothing and about πt/3; and an edge that rides by less than
// half a thickness and than the out-of-round limit.
func TestOverlapsThatCannotBeSeen(t *testing.T) {
	const inner, thickness = 13.4874, 1.2954 // size 7B
	judge := func(widths []float64) Judgement {
		j, err := Judge(closedBand(t, inner, thickness, widths), everyday(), DefaultLimits())
		require.NoError(t, err)
		assert.Contains(t, fmt.Sprint(j.Notes), "no other overlap can be seen in the widths")
		assert.Contains(t, fmt.Sprint(j.Notes), "within 10°")
		return j
	}
	flush := 0
	for delta := 0.05; delta < 1; delta += 0.05 {
		if judge(steppedRing(inner, thickness, delta, thickness).widths(3, math.Pi/6)).Verdict == Flush {
			flush++
		}
	}
	t.Logf("30° beside the seam: %d of 19 overlaps up to 1 mm pass as flush", flush)
	assert.Positive(t, flush, "the note would be wrong: nothing is hidden")

	low := judge(steppedRing(inner, thickness, 0.2, 0.2).widths(3, 0))
	assert.Equal(t, Flush, low.Verdict, "an edge that rides by 0.2 mm")
	high := judge(steppedRing(inner, thickness, 0.2, 0.3).widths(3, 0))
	assert.Equal(t, Step, high.Verdict, "one that rides by 0.3 mm")
}
