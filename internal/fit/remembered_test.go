package fit

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"seamfit/internal/catalogue"
)

// What somebody remembers is no office's list: it is shown as listed, and ranks
// by its play.
func TestARememberedListIsAdviceOnly(t *testing.T) {
	table, model := federal(t), DefaultModel()
	bird := gull()
	for _, mark := range []catalogue.Mark{catalogue.FromMemory, catalogue.FromPractice} {
		bird.Mark = mark
		result := fitOf(t, "8.42 8.45 8.40", Question{Catalogue: table, Species: bird, Sex: "female"}, model)
		assert.Equal(t, "7A short", result.Best, "nearest to the target by its play")
		assert.True(t, size(t, result, "6").Recommended, "shown as listed all the same")
		assert.Contains(t, size(t, result, "6").Why(result, model), "listed, not verified")
		assert.Contains(t, codes(result.Warnings), CodeUnverified)

		result = fitOf(t, "5.80 5.82 5.81", Question{Catalogue: table, Species: bird, Sex: "female"}, model)
		assert.Equal(t, "5", result.Best)
		assert.Equal(t, Loose, size(t, result, "6").Verdict)
		assert.NotContains(t, result.Warnings[0].Text, "the office's list comes first")

		result = fitOf(t, "5.80 5.82 5.81", Question{Catalogue: table, Species: bird, Sex: "female", Age: "chick"}, model)
		assert.Empty(t, result.Best, "a leg that still grows is not fitted by today's width")
		assert.Equal(t, "6", result.Sizes[0].Size, "what is remembered stands before today's play")
	}
}
