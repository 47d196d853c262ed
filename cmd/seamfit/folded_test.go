package main

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestLinesOfADialogueBreakBetweenWords(t *testing.T) {
	for text, want := range map[string]string{
		"":                                 "",
		"short\n":                          "short\n",
		"as wide as this is\n":             "as wide as this is\n",
		"a little wider than that is\n":    "a little wider\n  than that is\n",
		"  set in, and a bit too wide? ":   "  set in, and a\n    bit too wide? ",
		"blanks  in it,\" +  2.1\" stay\n": "blanks  in it,\" + \n  2.1\" stay\n",
		"a /path/longer/than/a/line\n":     "a\n  /path/longer/than/a/line\n",
		"/path/longer/than/a/line or so":   "/path/longer/than/a/line\n  or so",
		"two\nlines of which one is\n\n":   "two\nlines of which one\n  is\n\n",
	} {
		assert.Equal(t, want, fold(text, 18), "%q", text)
	}
}
