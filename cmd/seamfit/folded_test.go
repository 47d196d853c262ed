package main

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestLinesOfADialogueBreakBetweenWords(t *testing.T) {
	for text, want := range map[string]string{
		"":                               "",
		"short\n":                        "short\n",
		"as wide as this is\n":           "as wide as this is\n",
		"a little wider than that is\n":  "a little wider\n  than that is\n",
		"  set in, and a bit too wide? ": "  set in, and a\n    bit too wide? ",
		"two\nlines of which one is\n\n": "two\nlines of which\n  one is\n\n",
	} {
		assert.Equal(t, want, fold(text, 18), "%q", text)
	}
}
