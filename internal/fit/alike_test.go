package fit

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/catalogue"
	"seamfit/internal/length"
)

func round(label string, inner length.Length) catalogue.Size {
	return catalogue.Size{Label: label, Shape: catalogue.Round, Inner: inner}
}

func alike(ws []Warning) []string {
	var texts []string
	for _, w := range ws {
		if w.Code == CodeAlike {
			texts = append(texts, w.Text)
		}
	}
	return texts
}

// The federal sizes 1B and 1P differ by 0.08 mm: inside a caliper's error.
func TestNeighbouringSizesThatNoReadingSeparates(t *testing.T) {
	// w* = √(2.7686 · 2.8448)/1.32 = 2.1261 mm.
	result := fitOf(t, "2.12 2.13 2.13", Question{Catalogue: federal(t)}, DefaultModel())
	require.Len(t, alike(result.Warnings), 1)
	assert.Contains(t, alike(result.Warnings)[0], "sizes 1P and 1B can't be told apart on this leg, and more readings would not help")
	// Away from w* by more than the interval, they can.
	result = fitOf(t, "2.20 2.20 2.21", Question{Catalogue: federal(t)}, DefaultModel())
	assert.Empty(t, alike(result.Warnings))
}

func TestHowManyMoreReadingsSeparate(t *testing.T) {
	table := &catalogue.Catalogue{Name: "own", Sizes: []catalogue.Size{round("a", 10_000_000), round("b", 11_000_000)}}
	model := DefaultModel()
	model.RepeatabilitySD = 0.2
	model.MPE = 0
	// w* = √110/1.32 = 7.9456 mm; the mean is 0.2 mm above it, and one more of
	// 0.2 mm SD … the interval's half 1.96·√(0.04/n + 1e-4/12) is below 0.2 mm
	// from the fourth reading on.
	star := math.Sqrt(110) / 1.32
	at := func(n int) []Width {
		ws := make([]Width, n)
		for i := range ws {
			v, err := length.FromMM(star + 0.2)
			require.NoError(t, err)
			ws[i] = Width{Value: v, Resolution: 10_000}
		}
		return ws
	}
	for n, want := range map[int]string{1: "3 more readings", 2: "2 more readings", 3: "1 more reading would"} {
		result, err := Fit(at(n), Question{Catalogue: table}, model)
		require.NoError(t, err)
		require.Len(t, alike(result.Warnings), 1, "%d readings", n)
		assert.Contains(t, alike(result.Warnings)[0], want)
	}
	result, err := Fit(at(4), Question{Catalogue: table}, model)
	require.NoError(t, err)
	assert.Empty(t, alike(result.Warnings), "four readings do")

	// From the readings' own SD, the degrees of freedom grow with them.
	model.RepeatabilitySD = 0.001
	ws := at(4)
	ws[0].Value -= 300_000
	ws[1].Value += 300_000
	result, err = Fit(ws, Question{Catalogue: table}, model)
	require.NoError(t, err)
	require.Len(t, alike(result.Warnings), 1)
	assert.Contains(t, alike(result.Warnings)[0], "more reading")
	assert.Equal(t, -1, model.readingsFor(result.Leg, 0))
}

func TestSizesOfOneInnerDiameter(t *testing.T) {
	result := fitOf(t, "8.42 8.45 8.40", Question{Catalogue: federal(t)}, DefaultModel())
	assert.Equal(t, []string{"sizes 7A short and 7A have the same inner diameter: choose by height and closure"}, alike(result.Warnings))
}

func TestAListedSizeIsNotWeighedAgainstAnother(t *testing.T) {
	bird := &catalogue.Species{Mark: catalogue.FromUser, Sizes: []catalogue.Recommendation{{Size: "1B", Catalogue: "us-federal"}}}
	result := fitOf(t, "2.12 2.13 2.13", Question{Catalogue: federal(t), Species: bird}, DefaultModel())
	assert.Equal(t, "1B", result.Best)
	assert.Empty(t, alike(result.Warnings))
}
