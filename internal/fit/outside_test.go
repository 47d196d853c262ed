package fit

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"seamfit/internal/catalogue"
	"seamfit/internal/length"
	"seamfit/internal/metrology"
)

// A calibration of metrology is a correction that can be put in force.
var _ Correction = metrology.Calibration{}

// JCGM 106:2012, 8.3.2: a size fits when the leg's estimate keeps a guard band
// of t₀.₉₉·u from the width at which the band would be tight and of t₀.₉₅·u
// from that at which it would be loose.
func TestFitsIsGuardedAcceptance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		model := drawModel(t)
		leg, _, err := Estimate(drawWidths(t, 1), model)
		require.NoError(t, err)
		inner := leg.MeanMM * rapid.Float64Range(1, 1.7).Draw(t, "inner")
		tight, err := metrology.GuardBand(leg.UMM, float64(leg.DOF), 0.01)
		require.NoError(t, err)
		loose, err := metrology.GuardBand(leg.UMM, float64(leg.DOF), 0.05)
		require.NoError(t, err)
		high, low := inner/1.06-tight, inner/1.60+loose
		chances := model.Judge(leg, inner, 0, nil, nil)
		verdict, _ := chances.Verdict()
		inside := math.Min(leg.MeanMM-low, high-leg.MeanMM)
		assert.True(t, inside > 0 == (verdict == Fits) || math.Abs(inside) < 1e-9, "%v by %v mm", verdict, inside)

		p, err := metrology.ConformityProbability(leg.MeanMM, leg.UMM, float64(leg.DOF), metrology.Limits{Low: inner / 1.60, High: inner / 1.06})
		require.NoError(t, err)
		assert.InDelta(t, p, chances.Fit, 1e-9)
	})
}

// "Tarsus program" (Ringing & Migration): mean play 32 %, SD 15.8 %. Of legs
// drawn so that a band of 9.525 mm has that play, the share called fits equals
// the closed form's: play between the limits, each moved inwards by its guard
// band.
func TestShareOfThePublishedDistribution(t *testing.T) {
	const runs, inner = 20_000, 9.525
	model := DefaultModel()
	rng := rand.New(rand.NewPCG(11, 12))
	var u float64
	fits := 0
	for range runs {
		play := 0.32 + 0.158*rng.NormFloat64()
		leg := exact(inner / (1 + play))
		leg.UMM, u = 0.0210158670215308, 0.0210158670215308
		leg.DOF = metrology.Infinite()
		if verdict, _ := model.Judge(leg, inner, 0, nil, nil).Verdict(); verdict == Fits {
			fits++
		}
	}
	widest := inner/1.06 - metrology.NormalQuantile(0.99)*u
	narrowest := inner/1.60 + metrology.NormalQuantile(0.95)*u
	phi := func(leg float64) float64 { return metrology.NormalCDF((inner/leg - 1 - 0.32) / 0.158) }
	want := phi(narrowest) - phi(widest)
	assert.InDelta(t, want, float64(fits)/runs, 3*math.Sqrt(want*(1-want)/runs))
}

// Each recommended size of the species list whose row cites a source that was
// read implies a window of leg widths; both ends of it have the play of the
// limits, and the target lies between.
func TestImpliedLegWindowsOfTheSpeciesList(t *testing.T) {
	book, err := catalogue.Embedded()
	require.NoError(t, err)
	model := DefaultModel()
	verified := 0
	for _, bird := range book.Species {
		if bird.Mark != catalogue.FromSource {
			continue
		}
		for _, r := range bird.Sizes {
			table, found := book.Catalogue(r.Catalogue)
			require.True(t, found, r.Catalogue)
			row, found := table.Size(r.Size)
			if !found || row.Shape != catalogue.Round {
				continue
			}
			verified++
			low, high := model.Window(row.Inner)
			assert.InDelta(t, 0.60, model.Judge(exact(low), row.Inner.MM(), 0, nil, nil).Play, 1e-9)
			assert.InDelta(t, 0.06, model.Judge(exact(high), row.Inner.MM(), 0, nil, nil).Play, 1e-9)
			target := row.Inner.MM() / 1.32
			assert.Less(t, low, target)
			assert.Less(t, target, high)
			verdict, _ := model.Judge(exact(target), row.Inner.MM(), 0, nil, nil).Verdict()
			assert.Equal(t, Fits, verdict, "%s %s", bird.English, r.Size)
		}
	}
	assert.Positive(t, verified)
}

// Thousand seeded runs of the model as stated, with every part of the budget
// at work: reading low by up to the allowance, a bander's own bias, a caliper
// error anywhere within its limit, repeats, and rounding to the display. The
// interval covers the true width 95 % of the time, within three binomial
// standard deviations, or a little more often (a uniform part has shorter
// tails than the normal one it is taken for).
func TestTheIntervalCovers(t *testing.T) {
	for name, c := range map[string]struct {
		allowance, banders, mpe, sd float64
		pooled                      bool
	}{
		"all parts":        {0.12, 0.05, 0.02, 0.03, false},
		"mostly allowance": {0.20, 0.03, 0.02, 0.05, false},
		"pooled":           {0, 0.04, 0.02, 0.05, true},
		"repeats alone":    {0, 0, 0, 0.05, true},
	} {
		t.Run(name, func(t *testing.T) {
			const runs, truth = 1000, 8.437
			rng := rand.New(rand.NewPCG(13, 14))
			covered := 0
			for range runs {
				model := DefaultModel()
				model.RepeatabilitySD, model.Allowance, model.BetweenBander = c.sd, c.allowance, c.banders
				model.MPE = length.Length(math.Round(c.mpe * 1e6))
				if c.pooled {
					// A pooled SD with 15 degrees of freedom, drawn as such.
					squares := 0.0
					for range 15 {
						x := c.sd * rng.NormFloat64()
						squares += x * x
					}
					model.Pooled[1] = Pooled{math.Sqrt(squares / 15), 15}
					model.RepeatabilitySD = 0
				}
				centre := truth - c.allowance*rng.Float64() + c.banders*rng.NormFloat64() + c.mpe*(2*rng.Float64()-1)
				ws := make([]Width, 3)
				for i := range ws {
					shown := math.Round((centre+c.sd*rng.NormFloat64())*100) / 100
					v, err := length.FromMM(shown)
					require.NoError(t, err)
					ws[i] = Width{v, 10_000}
				}
				if !c.pooled {
					// Exactly the stated model: the setting is the SD, whatever the
					// three readings' own.
					model.Pooled[1] = Pooled{c.sd, math.Inf(1)}
				}
				leg, _, err := Estimate(ws, model)
				require.NoError(t, err)
				if leg.Low() <= truth && truth <= leg.High() {
					covered++
				}
			}
			share, margin := float64(covered)/runs, 3*math.Sqrt(0.95*0.05/runs)
			assert.Greater(t, share, 0.95-margin)
			assert.Less(t, share, 0.95+2*margin)
		})
	}
}

func TestOvality(t *testing.T) {
	leg := Leg{MeanMM: 8.4, UMM: 0.02}
	oval, u := Ovality(leg, Leg{MeanMM: 7.98, UMM: 0.02})
	assert.InDelta(t, 0.05, oval, 1e-12)
	assert.InDelta(t, math.Hypot(0.02, 0.95*0.02)/8.4, u, 1e-12)
	cross := Leg{MeanMM: 8.6, UMM: 0.02}
	oval, _ = Ovality(leg, cross)
	assert.Negative(t, oval)
	result := fitOf(t, "8.40 8.41", Question{Catalogue: federal(t), Cross: &cross}, DefaultModel())
	assert.Contains(t, codes(result.Warnings), CodeCross)
}
