package seam

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/length"
	"seamfit/internal/metrology"
)

// world is what a simulated measurement is made of, in mm.
type world struct {
	k, m         int     // widths, bands measured
	outer, bands float64 // the string's mean outer diameter, the SD between bands
	s            float64 // repeatability
	mpe          float64
	ownErrors    bool // the outer diameter meets another error of the caliper than the widths
	stated       float64
}

func (w world) read(r *rand.Rand, value, bias, s float64) Dimension {
	step := 10 * length.Micrometre
	nm := math.Round((value+bias+s*r.NormFloat64())*1e6/float64(step)) * float64(step)
	return Dimension{Value: length.Length(nm), Resolution: step}
}

// trial puts a gap in and returns whether the interval g ± t₀.₉₇₅(ν)·u(g) holds
// it.
func (w world) trial(t testing.TB, r *rand.Rand) bool {
	gap := 0.3 * r.Float64()
	uniform := func(half float64) float64 { return half * (2*r.Float64() - 1) }
	bias := uniform(w.mpe)
	outerBias := bias
	if w.ownErrors {
		outerBias = uniform(w.mpe)
	}
	own := w.outer + w.bands*r.NormFloat64() // this band's, closed flush
	c := Closed{Thickness: 1_020 * length.Micrometre}
	for range w.k {
		c.Widths = append(c.Widths, w.read(r, own+gap/math.Pi, bias, w.s))
	}
	if w.stated > 0 {
		said, err := length.FromMM(own + w.stated*r.NormFloat64())
		require.NoError(t, err)
		u, err := length.FromMM(w.stated)
		require.NoError(t, err)
		c.Outer = Outer{Basis: Stated, Diameters: []Dimension{{Value: said}}, U: u}
	} else {
		c.Outer.Basis = Measured
		for range w.m {
			// What differs between bands includes their own readings' scatter.
			c.Outer.Diameters = append(c.Outer.Diameters, w.read(r, w.outer+w.bands*r.NormFloat64(), outerBias, 0))
		}
	}
	mpe, err := length.FromMM(w.mpe)
	require.NoError(t, err)
	limits := DefaultLimits()
	limits.OuterSD = length.Length(w.bands * 1e6)
	limits.OutOfRound = length.Millimetre
	j, err := Judge(c, Caliper{RepeatabilitySD: w.s, MPE: mpe}, limits)
	require.NoError(t, err)
	return math.Abs(j.GapMM-gap) <= metrology.CoverageFactor(0.95, float64(j.GapDOF))*j.GapUMM
}

// Monte Carlo (after JCGM 101:2008, 9.4: is the stated interval valid?): the 95 %
// interval of the gap holds the true one in 95 % of measurements. Where one and
// the same error of an uncalibrated caliper is in both widths and outer
// diameter it cancels, and taking them as independent errs on the safe side;
// and an SD that is taken as the larger of two does so too.
func TestCoverageOfTheGapsUncertainty(t *testing.T) {
	const trials = 10_000
	for name, c := range map[string]struct {
		world
		low, high float64
	}{
		"three widths, one band, the SD known":     {world{k: 3, m: 1, outer: 11.4, bands: 0.02, s: 0.03, mpe: 0.02, ownErrors: true}, 0.945, 0.96},
		"three widths, five bands":                 {world{k: 3, m: 5, outer: 11.4, bands: 0.03, s: 0.03, mpe: 0.01, ownErrors: true}, 0.945, 0.985},
		"two widths of a small band, twelve bands": {world{k: 2, m: 12, outer: 4.39, bands: 0.02, s: 0.02, mpe: 0.02, ownErrors: true}, 0.945, 0.975},
		"one error in both":                        {world{k: 3, m: 3, outer: 11.4, bands: 0.02, s: 0.03, mpe: 0.02}, 0.95, 0.995},
		"the outer diameter stated":                {world{k: 3, outer: 11.4, s: 0.03, mpe: 0.02, stated: 0.01}, 0.945, 0.96},
		"repeatability alone":                      {world{k: 4, outer: 11.4, s: 0.03, stated: 0.001}, 0.945, 0.955},
	} {
		r := rand.New(rand.NewPCG(1841, 3))
		held := 0
		for range trials {
			if c.trial(t, r) {
				held++
			}
		}
		coverage := float64(held) / trials
		t.Logf("%-42s %.4f", name, coverage)
		assert.GreaterOrEqual(t, coverage, c.low, name)
		assert.LessOrEqual(t, coverage, c.high, name)
	}
}
