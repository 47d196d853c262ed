package catalogue

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestOwnRatesOfWearAreLaidOverTheOthers(t *testing.T) {
	book := embeddedBook(t)
	own, err := book.With([]byte("[[wear]]\nspecies = \"Alca torda\"\nmetal = \"Incoloy\"\nper_year = 0.02\nu = 0.001\n"+
		"[[wear]]\nspecies = \"Larus argentatus\"\nmetal = \"aluminum\"\nper_year = 0.06\nbirds = 12\n"+
		"[[species]]\nscientific = \"Alca torda\"\nlongevity_years = 41\nlongevity_source = \"own recoveries\"\n"), "own.toml")
	require.NoError(t, err)
	razorbill, known := own.WearOf("ALCA TORDA", "incoloy")
	require.True(t, known)
	assert.Equal(t, Wear{Species: "Alca torda", Metal: "incoloy", PerYear: 0.02, U: 0.001, Source: "own file own.toml", Mark: FromUser}, razorbill)
	gull, known := own.WearOf("Larus argentatus", "aluminium")
	require.True(t, known)
	assert.Equal(t, 12, gull.Birds)
	sp, _ := own.SpeciesNamed("alca torda")
	assert.InDelta(t, 41, sp.LongevityYears, 0)
	old, _ := book.WearOf("Alca torda", "incoloy")
	assert.InDelta(t, 0.0151, old.PerYear, 0, "the book itself stays")
	_, known = own.WearOf("Alca torda", "titanium")
	assert.False(t, known)
}

func TestABrokenRateOfWearIsRefused(t *testing.T) {
	book := embeddedBook(t)
	const row = "[[wear]]\nspecies = \"A b\"\nmetal = \"monel\"\n"
	for text, want := range map[string]string{
		row:                                "line 1: per_year 0 is not a part between 0 and 1; write 0.0151 for 1.51 % a year",
		row + "per_year = 1.51":            "line 4: per_year 1.51 is not a part",
		row + "per_year = nan":             "line 4: per_year NaN",
		row + "per_year = 0.1\nu = -1.0":   "line 5: u -1 is not a part",
		row + "per_year = 0.1\nbirds = -1": "line 5: birds -1 is below 0",
		row + "per_year = 0.1\n" + row + "per_year = 0.1":                       "is in this file twice",
		"[[wear]]\nspecies = \"A b\"\nmetal = \"cheese\"\nper_year = 0.1":       `line 3: there is no metal "cheese"`,
		"[[wear]]\nmetal = \"monel\"\nper_year = 0.1":                           "species is missing",
		"[[species]]\nscientific = \"A b\"\nlongevity_years = 12":               "line 3: A b: longevity_years has no source",
		"[[species]]\nscientific = \"A b\"\nlongevity_years = -1.0":             "line 3: A b: longevity_years -1 is out of range",
		"[[species]]\nscientific = \"A b\"\nlongevity_years = inf":              "out of range",
		"[[wear]]\nspecies = \"A \\u001b\"\nmetal = \"monel\"\nper_year = 0.01": "cannot be shown",
	} {
		_, err := book.With([]byte(text), "own.toml")
		require.ErrorContains(t, err, want, text)
	}
}
