package bench

import (
	"strings"
	"unicode"
)

// reasonLetters is how many letters a reason has at least, of two kinds or
// more (bench setting): a single key answers a question, and gives no reason.
const reasonLetters = 3

// ReasonBlockers refuses a text that gives no reason: one key pressed to be let
// through, or held down. An empty text is no reason given, which each command
// answers for itself.
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

// reasonOf returns the reason that a command gives, where it has one.
func reasonOf(c Command) string {
	switch c := c.(type) {
	case DescribeBird:
		return c.Why
	case SetAside:
		return c.Reason
	case ReEstimate:
		return c.Why
	case ChooseSize:
		return c.Reason
	case GiveNumber:
		return c.Reason
	case Remove:
		return c.Reason
	case TellFate:
		return c.Reason
	case Resolve:
		return c.Reason
	case Settle:
		return c.Reason
	case TakeMeasure:
		return c.Why
	case TellCircumstances:
		return c.Why
	default:
		return ""
	}
}
