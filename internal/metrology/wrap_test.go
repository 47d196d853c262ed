package metrology

import (
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

func TestWrapKeepsEveryWordAndTheWidth(t *testing.T) {
	assert.Equal(t, []string{"a gap of 0.1 mm", "± 0.02 mm"}, Wrap("a  gap of 0.1 mm ± 0.02 mm", 16))
	assert.Equal(t, []string{""}, Wrap("", 10))
	rapid.Check(t, func(t *rapid.T) {
		text, width := rapid.StringMatching(`[a-z± ]{0,80}`).Draw(t, "text"), rapid.IntRange(1, 40).Draw(t, "width")
		lines := Wrap(text, width)
		assert.Equal(t, strings.Fields(text), strings.Fields(strings.Join(lines, " ")))
		for _, line := range lines {
			assert.True(t, utf8.RuneCountInString(line) <= width || !strings.Contains(line, " "), line)
		}
	})
}
