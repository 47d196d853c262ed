package bands

import "strings"

// Unread stands for a digit that could not be read off a worn band.
const Unread = '?'

// Inscription is a number as read off a band: canonical in form, with Unread
// in place of each character that could not be read.
type Inscription string

// Complete reports whether every character was read.
func (i Inscription) Complete() bool { return !strings.ContainsRune(string(i), Unread) }

// Matches reports whether n could be the number that was read: every
// character that was read agrees, and none is left over.
func (i Inscription) Matches(n Number) bool {
	text := n.String()
	if len(text) != len(i) {
		return false
	}
	for k := range len(text) {
		if i[k] != Unread && i[k] != text[k] {
			return false
		}
	}
	return true
}

// EndsWith reports whether tail, as Pattern.Tail returns it, could be read at
// the end of the number: the characters agree, an Unread one with any.
func (i Inscription) EndsWith(tail string) bool {
	compact := strings.Map(func(r rune) rune {
		if r == Unread || (r < 0x80 && isLetterOrDigit(byte(r))) {
			return r
		}
		return -1
	}, string(i))
	if tail == "" || len(tail) > len(compact) {
		return false
	}
	compact = compact[len(compact)-len(tail):]
	for k := range len(tail) {
		if compact[k] != Unread && compact[k] != tail[k] {
			return false
		}
	}
	return true
}
