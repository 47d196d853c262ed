package bands

import (
	"fmt"
	"strings"
	"unicode"
)

// Mark says how far a pattern can be trusted: "source" (cited), "practice" or
// "user".
type Mark string

// Pattern is the grammar of one scheme's numbers.
type Pattern struct {
	Name       string `toml:"name"`
	Title      string `toml:"title"`
	PrefixKind string `toml:"prefix_kind"` // "digits", "letters", "any"
	PrefixMin  int    `toml:"prefix_min"`
	PrefixMax  int    `toml:"prefix_max"`
	Separator  string `toml:"separator"`
	SuffixMin  int    `toml:"suffix_min"`
	SuffixMax  int    `toml:"suffix_max"`
	ZerosLast  bool   `toml:"zeros_last"`
	StringOf   int    `toml:"string"` // consecutive numbers received together; 0 = any
	// SizeDigit says that the last digit of the prefix indicates the size.
	// SizeDigits says which sizes each digit stands for; a digit that is not
	// in it says nothing.
	SizeDigit  bool                `toml:"size_digit"`
	SizeDigits map[string][]string `toml:"size_digits"`
	Example    string              `toml:"example"`
	Source     string              `toml:"source"`
	Mark       Mark                `toml:"mark"`
}

// NumberError says why a text is no number of its pattern, and the mend.
type NumberError struct {
	Text   string
	Reason string
	Mend   string
}

// Error returns "what went wrong; how to mend it", without control characters.
func (e *NumberError) Error() string {
	return fmt.Sprintf("%q %s; %s", e.Text, e.Reason, e.Mend)
}

// Parse reads a number as people and scanners write it: blanks around or
// inside it are passed over, small letters become capitals, and a missing
// separator is added where only one reading is possible. Its errors are
// *NumberError.
func (p *Pattern) Parse(text string) (Number, error) {
	prefix, suffix, err := p.split(text, false)
	if err != nil {
		return Number{}, err
	}
	n := Number{prefix: prefix, separator: p.Separator, width: len(suffix), zerosLast: p.ZerosLast}
	for _, digit := range []byte(suffix) {
		n.ordinal = n.ordinal*10 + int64(digit-'0')
	}
	if n.ordinal == 0 && p.ZerosLast {
		n.ordinal = n.span()
	}
	return n, nil
}

// Inscribed reads a number off a worn band: as Parse, with a question mark
// for each character that could not be read. Its errors are *NumberError.
func (p *Pattern) Inscribed(text string) (Inscription, error) {
	prefix, suffix, err := p.split(text, true)
	return Inscription(prefix + p.Separator + suffix), err
}

// Read reads a number off a worn band, whoever issued it: as Inscribed, or as
// Foreign where it is none of the pattern's.
func (p *Pattern) Read(text string) (Inscription, error) {
	if own, err := p.Inscribed(text); err == nil {
		return own, nil
	}
	return p.Foreign(text)
}

// longestForeign bounds the inscription of another scheme's band.
const longestForeign = 24

// Foreign reads the inscription of another scheme's band, whose pattern is not
// known here: letters, digits, points and hyphens, with a question mark for each
// character that could not be read. Its errors are *NumberError.
func (p *Pattern) Foreign(text string) (Inscription, error) {
	refused := &NumberError{Text: text, Reason: "is no inscription", Mend: "write its letters and digits as they stand on the band, ? for each that can't be read"}
	compact, err := p.compact(text)
	if err != nil {
		return "", err
	}
	signs := func(c byte) bool { return isLetterOrDigit(c) || c == Unread || c == '-' || c == '.' }
	if len(compact) > longestForeign || !each(compact, signs) || !strings.ContainsFunc(compact, func(r rune) bool { return isLetterOrDigit(byte(r)) }) {
		return "", refused
	}
	return Inscription(compact), nil
}

// Tail reads the digits that a person reads back off a closed band, without
// saying whether they are the right ones. It returns them as Number.Tail
// does, or a *NumberError when they are not digits or letters.
func (p *Pattern) Tail(text string) (string, error) {
	compact, err := p.compact(text)
	if err != nil {
		return "", err
	}
	compact = strings.ReplaceAll(compact, p.Separator, "")
	if compact == "" || strings.ContainsRune(compact, Unread) || !each(compact, isLetterOrDigit) {
		return "", p.refuse(text, "is no end of a number")
	}
	return compact, nil
}

// split finds prefix and suffix. With unread, Unread stands for any character.
func (p *Pattern) split(text string, unread bool) (prefix, suffix string, err error) {
	compact, err := p.compact(text)
	if err != nil {
		return "", "", err
	}
	if p.Separator != "" && strings.Contains(compact, p.Separator) {
		prefix, suffix, _ = strings.Cut(compact, p.Separator)
		if !p.fits(prefix, suffix, unread) {
			return "", "", p.refuse(text, "is no number of the pattern "+p.Title)
		}
		return prefix, suffix, nil
	}
	found := 0
	for at := range len(compact) + 1 {
		if p.fits(compact[:at], compact[at:], unread) {
			prefix, suffix = compact[:at], compact[at:]
			found++
		}
	}
	switch {
	case found == 1:
		return prefix, suffix, nil
	case found > 1 && p.Separator != "":
		return "", "", p.refuse(text, "can be read in more than one way without its "+p.Separator)
	case found > 1:
		return "", "", p.refuse(text, "leaves open where the prefix ends: an unread character stands there")
	default:
		return "", "", p.refuse(text, "is no number of the pattern "+p.Title)
	}
}

// compact takes blanks out and makes letters capitals.
func (p *Pattern) compact(text string) (string, error) {
	if len(text) > 64 {
		return "", p.refuse(text[:16]+"…", "is too long for a number")
	}
	var b strings.Builder
	for _, r := range text {
		switch {
		case r == ' ' || r == '\u00a0':
		case unicode.IsControl(r):
			return "", p.refuse(text, "holds a control character")
		case p.Separator == "-" && (r >= '\u2010' && r <= '\u2015' || r == '\u2212'):
			b.WriteByte('-') // the dashes that keyboards and documents put for a hyphen
		case r >= 'a' && r <= 'z':
			b.WriteRune(r - 'a' + 'A')
		default:
			b.WriteRune(r)
		}
	}
	return b.String(), nil
}

func (p *Pattern) refuse(text, reason string) error {
	return &NumberError{Text: text, Reason: reason, Mend: "write it like " + p.Example}
}

func (p *Pattern) fits(prefix, suffix string, unread bool) bool {
	digit := orUnread(isDigit, unread)
	if len(suffix) < p.SuffixMin || len(suffix) > p.SuffixMax || !each(suffix, digit) {
		return false
	}
	if len(prefix) < p.PrefixMin || len(prefix) > p.PrefixMax {
		return false
	}
	letter := orUnread(isLetter, unread)
	switch p.PrefixKind {
	case "digits":
		return each(prefix, digit)
	case "letters":
		return each(prefix, letter)
	default:
		return each(prefix, orUnread(isLetterOrDigit, unread)) && (prefix == "" || letter(prefix[len(prefix)-1]))
	}
}

func isDigit(c byte) bool         { return c >= '0' && c <= '9' }
func isLetter(c byte) bool        { return c >= 'A' && c <= 'Z' }
func isLetterOrDigit(c byte) bool { return isDigit(c) || isLetter(c) }

func orUnread(is func(byte) bool, unread bool) func(byte) bool {
	return func(c byte) bool { return is(c) || (unread && c == Unread) }
}

func each(s string, is func(byte) bool) bool {
	for i := range len(s) {
		if !is(s[i]) {
			return false
		}
	}
	return true
}
