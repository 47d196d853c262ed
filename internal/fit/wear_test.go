package fit

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"seamfit/internal/catalogue"
)

// Source of the rate: Baltic Razorbill study, incoloy on Razorbills, 1.51 % of
// the metal a year. With half of the wall gone the number is taken as lost
// (bench setting): 0.5/0.0151 = 33.1 years.
func TestHowLongANumberStaysReadable(t *testing.T) {
	book, err := catalogue.Embedded()
	require.NoError(t, err)
	razorbill, known := book.SpeciesNamed("Razorbill")
	require.True(t, known)
	wear, known := book.WearOf("alca torda", "incoloy")
	require.True(t, known)
	assert.Equal(t, catalogue.FromSource, wear.Mark)
	assert.InDelta(t, 0.0151, wear.PerYear, 0)

	advice := AdviseMetal(razorbill, &wear, Place{ReadablePart: 0.5})
	assert.True(t, advice.HardAdvised)
	assert.Contains(t, advice.Reasons, "salt water")
	require.NotNil(t, advice.Wear)
	assert.InDelta(t, 33.1126, advice.Wear.ReadableYears, 1e-4)
	assert.Nil(t, advice.Wear.UReadableYears, "the source gives no uncertainty")
	assert.Nil(t, advice.Wear.LongevityYears, "no source for the species' years")
	assert.Equal(t, []string{
		"hard metal advised: salt water, long-lived, abrasive ground",
		"incoloy wears by 1.51 % a year and stays readable for about 33 years (Baltic Razorbill study: 119 rings of 3,583 chicks)",
	}, advice.Words("incoloy"))
}

// u(years) = (1 − p)·u(r)/r²: the derivative of (1 − p)/r (JCGM 100:2008,
// 5.1.2), here held against the difference of two rates an uncertainty apart.
func TestTheUncertaintyOfAReadableTime(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rate := rapid.Float64Range(0.005, 0.2).Draw(t, "rate")
		part := rapid.Float64Range(0.1, 0.9).Draw(t, "part")
		u := rate * 1e-5
		advice := AdviseMetal(catalogue.Species{}, &catalogue.Wear{PerYear: rate, U: u}, Place{ReadablePart: part})
		difference := math.Abs((1-part)/(rate+u)-(1-part)/(rate-u)) / 2
		assert.InEpsilon(t, difference, *advice.Wear.UReadableYears, 1e-6)
	})
}

func TestAgainstTheYearsThatASpeciesLives(t *testing.T) {
	wear := catalogue.Wear{PerYear: 0.05, U: 0.01, Source: "own study"}
	gull := catalogue.Species{LongevityYears: 28, LongevitySource: "an office's recoveries"}
	advice := AdviseMetal(gull, &wear, Place{Water: "salt", ReadablePart: 0.4})
	assert.Equal(t, []string{
		"hard metal advised: salt water at this place",
		"aluminium wears by 5.00 % a year and stays readable for about 12 ± 5 years (own study); LESS than the 28 years that this species lives (an office's recoveries)",
	}, advice.Words("aluminium"))
	gull.LongevitySource = ""
	assert.NotContains(t, AdviseMetal(gull, &wear, Place{ReadablePart: 0.4}).Words("aluminium")[0], "28", "without a source it is not shown")
}

func TestNoWearIsToldWithoutARate(t *testing.T) {
	for _, wear := range []*catalogue.Wear{nil, {}, {PerYear: -1}, {PerYear: math.NaN()}} {
		assert.Nil(t, AdviseMetal(catalogue.Species{}, wear, Place{ReadablePart: 0.5}).Wear)
	}
	for _, part := range []float64{0, 1, -2, math.NaN()} {
		assert.Nil(t, AdviseMetal(catalogue.Species{}, &catalogue.Wear{PerYear: 0.01}, Place{ReadablePart: part}).Wear)
	}
	assert.Empty(t, AdviseMetal(catalogue.Species{}, nil, Place{}).Words("monel"))
}
