package fit

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/catalogue"
	"seamfit/internal/length"
)

// hawk is a species with a size for each sex.
func hawk() *catalogue.Species {
	return &catalogue.Species{
		Scientific: "Accipiter exempli", English: "Example Hawk", Closures: []string{"lock-on"}, Mark: catalogue.FromUser,
		Sizes: []catalogue.Recommendation{
			{Catalogue: "table", Size: "S", Sex: "male"}, {Catalogue: "table", Size: "M", Sex: "female"}, {Catalogue: "table", Size: "X", Age: "adult"},
		},
	}
}

// table is made for a leg of 6 mm: one size for each verdict.
func table() *catalogue.Catalogue {
	size := func(label string, um length.Length, closures ...string) catalogue.Size {
		return catalogue.Size{Label: label, Inner: um * length.Micrometre, Shape: catalogue.Round, Closures: closures, Height: 5 * length.Millimetre}
	}
	odd := catalogue.Size{Label: "X", Shape: catalogue.Other, Closures: []string{"lock-on"}}
	old := size("O", 7_800, "lock-on")
	old.Discontinued = true
	return &catalogue.Catalogue{Name: "table", Sizes: []catalogue.Size{
		size("XS", 5_900, "lock-on"), size("S", 6_300, "lock-on"), size("N", 6_400, "lock-on"), size("M", 7_900, "lock-on"), size("L", 9_000, "butt-end"),
		size("XL", 9_580, "lock-on"), size("XXL", 11_000, "lock-on"), odd, old,
	}}
}

func why(t *testing.T, q Question) map[string]string {
	t.Helper()
	m := DefaultModel()
	widths := []Width{{6 * length.Millimetre, 10 * length.Micrometre}, {6 * length.Millimetre, 10 * length.Micrometre}, {6 * length.Millimetre, 10 * length.Micrometre}}
	r, err := Fit(widths, q, m)
	require.NoError(t, err)
	all := map[string]string{}
	for _, c := range r.Sizes {
		all[c.Size] = string(c.Verdict) + ": " + c.Why(r, m)
	}
	all["best"] = r.Best
	return all
}

// A leg of 6 mm fits bands from 6.36 to 9.60 mm (play from 6 % to 60 %), and
// its standard uncertainty is about 0.021 mm; the standard normal distribution
// gives the probabilities: 6.40 mm is 0.04/1.06 = 1.8 u inside (tight 4 %),
// 9.58 mm 0.02/1.6 = 0.6 u inside (loose 27 %), 6.30 mm 2.7 u outside.
func TestEachSizeSaysWhyItStandsWhereItStands(t *testing.T) {
	all := why(t, Question{Catalogue: table(), Species: hawk()})
	assert.Equal(t, map[string]string{
		"best": "M",
		"M":    "fits: listed for females; tight 0 %",
		"X":    "unjudged: listed; not judged by its play",
		"S":    "tight: listed for males; tight >99 %",
		"XS":   "tight: narrower than the leg",
		"N":    "borderline: tight 4 %, limit 1 %",
		"O":    "fits: no longer made; not listed",
		"L":    "fits: closure not allowed; not listed",
		"XL":   "borderline: loose 28 %, limit 5 %",
		"XXL":  "loose: loose 100 %",
	}, all)
	none := why(t, Question{Catalogue: table()})
	assert.Equal(t, "M", none["best"])
	assert.Equal(t, "fits: nearest to 32 % play", none["M"])
	assert.Equal(t, "unjudged: the office's list decides", none["X"])
}

func TestWhyTellsOfStopsAndHeight(t *testing.T) {
	stop := Leg{MeanMM: 7.9, UMM: 0.1, DOF: 30}
	all := why(t, Question{Catalogue: table(), UpperStop: &stop, Tarsus: 4 * length.Millimetre})
	assert.Equal(t, "slips: too high for the leg; slips over joint or foot 50 %", all["M"])
}

// Both sexes' sizes are there while the sex is not known; a young bird without
// a size of its own takes the adult's.
func TestSizesListedForTheBird(t *testing.T) {
	labels := func(q Question) []string {
		q.Catalogue, q.Species = table(), hawk()
		return q.listed()
	}
	assert.Equal(t, []string{"S", "M", "X"}, labels(Question{}))
	assert.Equal(t, []string{"M", "X"}, labels(Question{Sex: "female"}))
	assert.Equal(t, []string{"S"}, labels(Question{Sex: "male", Age: "nestling"}))
	adults := hawk()
	for i := range adults.Sizes {
		adults.Sizes[i].Age = "adult"
	}
	assert.Equal(t, []string{"M", "X"}, Question{Catalogue: table(), Species: adults, Sex: "female", Age: "nestling"}.listed(), "the adult's")
}
