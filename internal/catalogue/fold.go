package catalogue

import (
	"strings"
	"unicode/utf8"
)

// fold makes names alike that people write in different ways: small letters
// without accents, apostrophes dropped, other marks as blanks. Letters of
// other scripts stay.
func fold(s string) string {
	var b strings.Builder
	for _, r := range strings.ToLower(s) {
		switch {
		case r >= 'a' && r <= 'z' || r >= '0' && r <= '9':
			b.WriteByte(byte(r))
		case r == '\'' || r == '\u2019' || r == '\u02bc':
		case r < utf8.RuneSelf || r == '\u00a0' || r >= '\u2010' && r <= '\u2015':
			b.WriteByte(' ')
		default:
			b.WriteString(withoutAccent(r))
		}
	}
	return b.String()
}

func withoutAccent(r rune) string {
	for _, same := range [...]struct{ plain, accented string }{
		{"a", "àáâãäåāăą"},
		{"ae", "æ"},
		{"c", "çćĉċč"},
		{"d", "ďđð"},
		{"e", "èéêëēĕėęě"},
		{"g", "ĝğġģ"},
		{"h", "ĥħ"},
		{"i", "ìíîïĩīĭįı"},
		{"j", "ĵ"},
		{"k", "ķ"},
		{"l", "ĺļľł"},
		{"n", "ñńņňŋ"},
		{"o", "òóôõöøōŏő"},
		{"oe", "œ"},
		{"r", "ŕŗř"},
		{"s", "śŝşšș"},
		{"ss", "ß"},
		{"t", "ţťŧț"},
		{"th", "þ"},
		{"u", "ùúûüũūŭůűų"},
		{"w", "ŵ"},
		{"y", "ýÿŷ"},
		{"z", "źżž"},
	} {
		if strings.ContainsRune(same.accented, r) {
			return same.plain
		}
	}
	return string(r)
}
