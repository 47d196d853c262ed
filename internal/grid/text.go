package grid

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/rivo/uniseg"
)

// replacement stands for what can't be shown. It is in every font and every
// character set.
const replacement = "?"

// longestCluster is the most bytes that one cell may hold: enough for any
// letter with its marks, too few to flood a terminal from one cell.
const longestCluster = 32

// next cuts the first character cell's worth of text: the cluster as it may
// be shown, its width in columns (0, 1 or 2), and the rest.
func next(text string) (cluster string, width int, rest string) {
	if c := text[0]; c < utf8.RuneSelf && (len(text) == 1 || text[1] < utf8.RuneSelf) {
		if c < ' ' || c == 0x7f {
			return replacement, 1, text[1:]
		}
		return text[:1], 1, text[1:]
	}
	if size := len("─"); isLine(text) && (len(text) == size || text[size] < utf8.RuneSelf || isLine(text[size:])) {
		return text[:size], 1, text[size:]
	}
	cluster, rest, width, _ = uniseg.FirstGraphemeClusterInString(text, -1)
	switch {
	case len(cluster) > longestCluster || !showable(cluster):
		return replacement, 1, rest
	case width < 0 || width > 2:
		return replacement, 1, rest
	default:
		return cluster, width, rest
	}
}

// isLine reports whether text begins with a character of lines and blocks
// (U+2500 to U+259F). Rules and rulers are full of them, and they join with
// nothing but a mark behind them.
func isLine(text string) bool {
	return len(text) >= 3 && text[0] == 0xe2 && (text[1] == 0x94 || text[1] == 0x95 || text[1] == 0x96) && text[2]&0xc0 == 0x80 &&
		(text[1] != 0x96 || text[2] <= 0x9f)
}

// showable reports whether no rune of the cluster is a control, a direction
// override, a private or unassigned character, or a broken byte.
func showable(cluster string) bool {
	for _, r := range cluster {
		switch {
		case r == utf8.RuneError, unicode.IsControl(r), unicode.Is(unicode.Co, r):
			return false
		case unicode.Is(unicode.Cf, r) && r != zeroWidthJoiner && r != zeroWidthNonJoiner:
			return false
		case r == 0x2028, r == 0x2029:
			return false
		}
	}
	return true
}

const (
	zeroWidthNonJoiner = 0x200c
	zeroWidthJoiner    = 0x200d
)

// Width returns the number of columns that text takes when it is put.
func Width(text string) int {
	columns := 0
	for text != "" {
		var w int
		_, w, text = next(text)
		columns += w
	}
	return columns
}

// Fit returns text cut to at most columns. A cut is shown by two points at
// its end.
func Fit(text string, columns int) string {
	if Width(text) <= columns {
		return text
	}
	const cut = ".."
	if columns <= len(cut) {
		return cut[:max(columns, 0)]
	}
	room := columns - len(cut)
	var b strings.Builder
	for text != "" {
		var cluster string
		var w int
		if cluster, w, text = next(text); w > room {
			break
		}
		room -= w
		b.WriteString(cluster)
	}
	return strings.TrimRight(b.String(), " ") + cut
}

// Wrap breaks text between words into lines of at most columns (at least 1).
// A word that is longer than a line is broken within itself. Line breaks in
// the text are blanks; empty text gives no line.
func Wrap(text string, columns int) []string {
	columns = max(columns, 1)
	var lines []string
	line, used := "", 0
	for _, word := range strings.Fields(text) {
		w := Width(word)
		if used > 0 && used+1+w <= columns {
			line, used = line+" "+word, used+1+w
			continue
		}
		if used > 0 {
			lines = append(lines, line)
		}
		for w > columns {
			var head string
			head, word = split(word, columns)
			lines = append(lines, head)
			w = Width(word)
		}
		line, used = word, w
	}
	if used > 0 {
		lines = append(lines, line)
	}
	return lines
}

// split cuts a word after as many clusters as fit into columns, at least one.
func split(word string, columns int) (head, rest string) {
	rest = word
	used := 0
	for rest != "" {
		cluster, w, after := next(rest)
		if used > 0 && used+w > columns {
			return head, rest
		}
		head, used, rest = head+cluster, used+w, after
	}
	return head, rest
}
