package metrology

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// JCGM 106:2012, 8.3.2.2: a guard band of 2u leaves a specific risk of at most
// 2.3 %.
func TestGuardBandOfTwoU(t *testing.T) {
	const u = 0.021
	w, err := GuardBand(u, inf, 0.0227501319481792)
	require.NoError(t, err)
	assert.InDelta(t, 2*u, w, 1e-12)
	p, err := ConformityProbability(10-2*u, u, inf, Limits{math.Inf(-1), 10})
	require.NoError(t, err)
	assert.InDelta(t, 1-0.0227501, p, 5e-8)
	// Two-sided, limits far apart: the same at either end.
	p, err = ConformityProbability(9+2*u, u, inf, Limits{9, 10})
	require.NoError(t, err)
	assert.InDelta(t, 1-0.0227501, p, 5e-8)
}

// JCGM 106:2012, 9.5.4: bearings, Y ~ gamma(4, rate 4), upper limit 2,
// u = 0.25.
func TestBearings(t *testing.T) {
	prior, err := GammaPrior(4, 4)
	require.NoError(t, err)
	tolerance := Limits{math.Inf(-1), 2}
	risks, err := GlobalRisks(prior, 0.25, tolerance, tolerance)
	require.NoError(t, err)
	assert.InDelta(t, 0.0423801, risks.Nonconforming, 5e-8)
	assert.InDelta(t, 0.0080191, risks.Consumer, 5e-8)
	limit, err := AcceptanceLimit(prior, 0.25, 2, 0.001)
	require.NoError(t, err)
	assert.InDelta(t, 1.67183, limit, 5e-6)
}

// JCGM 106:2012, 9.5.3: resistors [inputs read, outputs from memory].
func TestResistors(t *testing.T) {
	prior, err := NormalPrior(1500, 0.12)
	require.NoError(t, err)
	risks, err := GlobalRisks(prior, 0.04, Limits{1499.8, 1500.2}, Limits{1499.82, 1500.18})
	require.NoError(t, err)
	assert.InDelta(t, 0.009878292, risks.Consumer, 5e-10)
	assert.InDelta(t, 0.069026510, risks.Producer, 5e-10)
}

// The risks by drawing items and measurements, as a check that shares no code
// with the integrals.
func TestRisksByDrawing(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	const n = 400_000
	consumer, producer := 0, 0
	for range n {
		item := 1500 + 0.12*rng.NormFloat64()
		shown := item + 0.04*rng.NormFloat64()
		inside := math.Abs(item-1500) <= 0.2
		accepted := math.Abs(shown-1500) <= 0.18
		if !inside && accepted {
			consumer++
		}
		if inside && !accepted {
			producer++
		}
	}
	prior, err := NormalPrior(1500, 0.12)
	require.NoError(t, err)
	risks, err := GlobalRisks(prior, 0.04, Limits{1499.8, 1500.2}, Limits{1499.82, 1500.18})
	require.NoError(t, err)
	for got, want := range map[float64]float64{float64(consumer) / n: risks.Consumer, float64(producer) / n: risks.Producer} {
		assert.InDelta(t, want, got, 4*math.Sqrt(want/n))
	}
}

// A specific risk bounded by a guard band, by drawing: of values that measure
// on the acceptance limit, the stated share is outside.
func TestConformityIsTheComplementOfBothTails(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		y := rapid.Float64Range(-3, 3).Draw(t, "y")
		u := rapid.Float64Range(0.01, 2).Draw(t, "u")
		nu := rapid.OneOf(rapid.Float64Range(1, 60), rapid.Just(inf)).Draw(t, "nu")
		two, err := ConformityProbability(y, u, nu, Limits{-1, 1})
		require.NoError(t, err)
		below, err := ConformityProbability(y, u, nu, Limits{math.Inf(-1), -1})
		require.NoError(t, err)
		above, err := ConformityProbability(y, u, nu, Limits{1, inf})
		require.NoError(t, err)
		assert.InDelta(t, 1, two+below+above, 1e-9)
		mirrored, err := ConformityProbability(-y, u, nu, Limits{-1, 1})
		require.NoError(t, err)
		assert.InDelta(t, two, mirrored, 1e-12)
	})
}

func TestConformityRefuses(t *testing.T) {
	open := Limits{math.Inf(-1), 2}
	p, err := ConformityProbability(2, 0, inf, open)
	require.NoError(t, err)
	assert.Equal(t, 1.0, p)
	p, err = ConformityProbability(2.1, 0, inf, open)
	require.NoError(t, err)
	assert.Zero(t, p)
	_, err = ConformityProbability(math.NaN(), 1, inf, open)
	require.ErrorIs(t, err, ErrNotFinite)
	for _, bad := range []func() error{
		func() error { _, err := ConformityProbability(1, -1, inf, open); return err },
		func() error { _, err := ConformityProbability(1, 1, 0, open); return err },
		func() error { _, err := ConformityProbability(1, 1, inf, Limits{2, 1}); return err },
		func() error { _, err := GuardBand(1, inf, 0.6); return err },
		func() error { _, err := GuardBand(-1, inf, 0.1); return err },
		func() error { _, err := NormalPrior(0, 0); return err },
		func() error { _, err := GammaPrior(1, 0); return err },
	} {
		require.ErrorIs(t, bad(), ErrDomain)
	}
	_, err = NormalPrior(math.NaN(), 1)
	require.ErrorIs(t, err, ErrNotFinite)
	_, err = GammaPrior(inf, 1)
	require.ErrorIs(t, err, ErrNotFinite)
	prior, err := NormalPrior(0, 1)
	require.NoError(t, err)
	_, err = GlobalRisks(prior, 0, open, open)
	require.ErrorIs(t, err, ErrDomain)
	_, err = GlobalRisks(prior, 1, Limits{2, 1}, open)
	require.ErrorIs(t, err, ErrDomain)
	_, err = GlobalRisks(prior, 1, open, Limits{2, 1})
	require.ErrorIs(t, err, ErrDomain)
	_, err = AcceptanceLimit(prior, 1, 2, 0)
	require.ErrorIs(t, err, ErrDomain)
	_, err = AcceptanceLimit(prior, -1, 2, 0.1)
	require.ErrorIs(t, err, ErrDomain)
	_, err = AcceptanceLimit(prior, 0.1, 2, 0.5)
	require.ErrorIs(t, err, ErrDegenerate, "not so many items are bad")
}
