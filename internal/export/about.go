package export

import (
	_ "embed" // the descriptions
	"strings"
)

// abouts says what columns hold, one in a line.
//
//go:embed about.txt
var abouts string

// about says what a column holds, by its name in a file: a name means the same
// in every table. A name that is not listed has no description.
func about(header string) string {
	for line := range strings.Lines(abouts) {
		if name, text, ok := strings.Cut(line, ": "); ok && name == header {
			return strings.TrimSpace(text)
		}
	}
	return ""
}
