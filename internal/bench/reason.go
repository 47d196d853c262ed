package bench

import (
	"strings"
	"unicode"
)

// reasonLetters is how many letters a reason has at least, of two kinds or
// more (bench setting): a single key answers a question, and gives no reason.
const reasonLetters = 3

// ReasonBlockers refuses a text that gives no reason: one key pressed to be let
// through, or held down. It is for prompts, where keys are pressed in haste; a
// file of events is taken at its word. An empty text is no reason given, which
// each command answers for itself.
func ReasonBlockers(text string) []Blocker {
	text = strings.TrimSpace(text)
	if text == "" {
		return nil
	}
	letters, kinds := 0, map[rune]bool{}
	for _, r := range text {
		if unicode.IsLetter(r) {
			letters++
			kinds[unicode.ToLower(r)] = true
		}
	}
	if letters >= reasonLetters && len(kinds) > 1 {
		return nil
	}
	return refuse(ReasonShort, "%q says nothing to whoever reads the record later: give the reason in words, of %d letters at least.", text, reasonLetters)
}
