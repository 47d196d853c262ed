package metrology

import (
	"strings"
	"unicode/utf8"
)

// Wrap breaks text between words into lines of at most width characters; a
// longer word has a line of its own. It counts characters and not columns: the
// results that are told as text hold only signs of one column.
func Wrap(text string, width int) []string {
	var lines []string
	current := ""
	for _, word := range strings.Fields(text) {
		switch {
		case current == "":
			current = word
		case utf8.RuneCountInString(current)+1+utf8.RuneCountInString(word) <= width:
			current += " " + word
		default:
			lines, current = append(lines, current), word
		}
	}
	return append(lines, current)
}
