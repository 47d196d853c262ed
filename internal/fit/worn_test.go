package fit

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/length"
)

const um = length.Micrometre

// faultless is a model whose caliper has no error and no scatter.
func faultless() Model { return Model{} }

// Two bands that lost 0.10 in 5 and 0.09 in 3 years: r = 0.19/8 = 0.02375 a year.
// Losses less r·y: −0.01875 and 0.01875; u² = 2·(2·0.01875²)/8²: u = 0.0046875.
func TestTheBenchsOwnWearByHand(t *testing.T) {
	rates := BenchWear([]WornBand{
		{Species: "Uria aalge", Metal: "stainless steel", Years: 5, Wall: []length.Length{918 * um}, New: []length.Length{1020 * um}},
		{Species: "Uria aalge", Metal: "stainless steel", Years: 3, Wall: []length.Length{910 * um}, New: []length.Length{1000 * um}},
	}, federal(t), faultless())
	require.Len(t, rates, 1)
	assert.InDelta(t, 0.02375, rates[0].PerYear, 1e-12)
	assert.InDelta(t, 0.0046875, rates[0].U, 1e-12)
	assert.Equal(t, "bench's own: 2 bands", rates[0].Source)
}

// One band: wall 0.90 mm, 1.00 mm when new, after 4 years. With s = 0.03 mm of
// single readings and MPE 0.02 mm, 4 readings of the wall and 9 of new ones:
// u²(t) = 0.03²/4 + 0.02²/3 = 3.58333e-4, u²(t₀) = 0.03²/9 + 0.02²/3 = 2.33333e-4;
// u²(loss) = 3.58333e-4 + 0.81·2.33333e-4 = 5.47333e-4: u(r) = 0.0233952/4.
func TestOneBandHasTheUncertaintyOfItsMeasurement(t *testing.T) {
	same := func(value length.Length, n int) []length.Length {
		all := make([]length.Length, n)
		for i := range all {
			all[i] = value
		}
		return all
	}
	band := WornBand{Species: "Uria aalge", Metal: "incoloy", Years: 4, Wall: same(900*um, 4), New: same(1000*um, 9)}
	rates := BenchWear([]WornBand{band}, federal(t), Model{RepeatabilitySD: 0.03, MPE: 20 * um})
	require.Len(t, rates, 1)
	assert.InDelta(t, 0.025, rates[0].PerYear, 1e-12)
	assert.InDelta(t, 0.0058488, rates[0].U, 1e-7)
	assert.Equal(t, "bench's own: 1 band", rates[0].Source)
}

// The table's thickness is that of the aluminium band: size 6, .051 in = 1.2954
// mm. A wall of 1.16586 mm is a tenth less.
func TestTheTablesThicknessIsOfAluminiumOnly(t *testing.T) {
	band := WornBand{Species: "Larus argentatus", Metal: "aluminium", Size: "6", Years: 2, Wall: []length.Length{1_165_860}}
	rates := BenchWear([]WornBand{band}, federal(t), faultless())
	require.Len(t, rates, 1)
	assert.InDelta(t, 0.05, rates[0].PerYear, 1e-12)
	assert.Positive(t, rates[0].U, "the table's last digit")
	for _, spoil := range []func(*WornBand){
		func(b *WornBand) { b.Metal = "incoloy" },
		func(b *WornBand) { b.Size = "none" },
		func(b *WornBand) { b.Years = 0 },
		func(b *WornBand) { b.Wall = nil },
		func(b *WornBand) { b.Wall = []length.Length{1_400_000} }, // thicker than new: no wear
	} {
		spoilt := band
		spoil(&spoilt)
		assert.Empty(t, BenchWear([]WornBand{spoilt}, federal(t), faultless()), "%+v", spoilt)
	}
}

func TestRatesComeBySpeciesAndMetal(t *testing.T) {
	band := func(species, metal string) WornBand {
		return WornBand{Species: species, Metal: metal, Years: 2, Wall: []length.Length{900 * um}, New: []length.Length{1000 * um}}
	}
	rates := BenchWear([]WornBand{band("B", "monel"), band("A", "monel"), band("A", "incoloy"), band("A", "monel")}, federal(t), faultless())
	require.Len(t, rates, 3)
	assert.Equal(t, []string{"A", "A", "B"}, []string{rates[0].Species, rates[1].Species, rates[2].Species})
	assert.Equal(t, "incoloy", rates[0].Metal)
	assert.Equal(t, 2, rates[1].Birds)
}
