package station

import (
	"strings"
	"time"
	"unicode/utf8"

	"seamfit/internal/bench"
)

// Keys from a scanner that types look like keys from a person. What tells them
// apart is the prefix that the scanner is set to send, where there is one;
// else that a whole number in the grammar of the bench's numbers arrives
// faster than fingers type. Time stamps are a hint only (a remote terminal
// may bunch keys), so that bunched keys never decide anything but a number:
// in front of a question that a single key answers, a key waits until it is
// certain that it came alone.

// burstGap is the longest time between two keys of one burst.
const burstGap = 60 * time.Millisecond

// scanLeast is the fewest characters of a scan that has no prefix.
const scanLeast = 6

// The longest times after which the same key, coming again, is one that is
// held down: keyboards begin to repeat after a quarter of a second to a whole
// one.
const (
	keyRepeat   = 1200 * time.Millisecond // of a key, when it then comes in a burst
	enterRepeat = 700 * time.Millisecond  // of Enter
)

// typing is what the keys have been so far.
type typing struct {
	burst     string    // characters that came close together
	began     time.Time // when the burst's first came
	last      time.Time // when its last came
	held      bool      // its first key waits
	acted     rune      // the last key that answered a question
	actedAt   time.Time
	entered   bool      // the key before this one was Enter
	enteredAt time.Time // the last Enter
	scanning  bool      // between the scanner's prefix and its Enter
}

// scanLimit is the longest time from a scanner's prefix to its next character:
// a prefix that nothing follows is forgotten.
const scanLimit = 2 * time.Second

// longestScan bounds what a scanner may send: more is not a band number.
const longestScan = 64

// character takes a printable key.
func (t *turn) character(r rune) {
	k := &t.s.keys
	t.release()
	if r == ',' && t.takeTyped() {
		return
	}
	if k.burst == "" {
		k.began = t.at
	}
	if len(k.burst) < longestScan {
		k.burst += string(r)
	}
	k.last = t.at
	if t.prefixed() || k.scanning {
		return
	}
	a := t.s.ask()
	if !k.held && startsReadBack(a, r) && !t.s.covered() {
		t.quiet()
		t.question(AskReadBack)
		a = AskReadBack
	}
	if a.text() && !t.s.covered() {
		t.typeIn(string(r))
		return
	}
	k.held = true
	t.emit(Wake{After: burstGap})
}

// prefixed notices the scanner's prefix at the end of the burst. What was
// typed of it into a text is taken out again.
func (t *turn) prefixed() bool {
	prefix := t.s.Options.ScanPrefix
	k := &t.s.keys
	if prefix == "" || k.scanning || !strings.HasSuffix(k.burst, prefix) {
		return false
	}
	all := []rune(prefix)
	t.setTyped(strings.TrimSuffix(t.s.typed(), string(all[:len(all)-1])))
	*k = typing{scanning: true, last: t.at, acted: k.acted, actedAt: k.actedAt, enteredAt: k.enteredAt}
	return true
}

// release lets a key that was held answer its question, once it is certain
// that it came alone.
func (t *turn) release() {
	k := &t.s.keys
	switch {
	case k.scanning && t.since(k.last) > scanLimit:
		k.scanning, k.burst = false, ""
	case !k.scanning && t.since(k.last) >= burstGap:
		t.flush()
	}
}

// since returns the time since then; a clock that was set back counts as a
// long time, so that no key is held for ever.
func (t *turn) since(then time.Time) time.Duration {
	if d := t.at.Sub(then); d >= 0 {
		return d
	}
	return scanLimit + burstGap
}

// flush ends a burst: a key that is held answers now.
func (t *turn) flush() {
	k := &t.s.keys
	burst, held := k.burst, k.held
	k.burst, k.held = "", false
	if held && burst != "" {
		t.heldKeys(burst)
	}
}

// heldKeys answers with keys that had to wait: one alone is an answer, a key
// held down is the one answer that it has given already, and several at once
// are none.
func (t *turn) heldKeys(burst string) {
	k := &t.s.keys
	first, _ := utf8.DecodeRuneInString(burst)
	again := first == k.acted && k.began.Sub(k.actedAt) < keyRepeat
	switch {
	case strings.Trim(burst, string(first)) != "":
		t.refuse([]bench.Blocker{{Code: CodeTooFast, Mend: "Several keys came at once, faster than fingers type, and none was taken: press them one after another."}})
	case len(burst) > len(string(first)) && again:
		k.actedAt = k.last
	default:
		k.acted, k.actedAt = first, t.at
		t.answer(first)
	}
}

// enter takes the Enter key: the end of a scan, or the end of a text, or an
// answer.
func (t *turn) enter() {
	k := &t.s.keys
	burst, held := k.burst, k.held
	if k.scanning {
		*k = typing{acted: k.acted, actedAt: k.actedAt, enteredAt: k.enteredAt}
		t.scanKeys(burst)
		return
	}
	if t.takeTyped() {
		return
	}
	scanned := t.scanEnds()
	k.burst, k.held = "", false
	if scanned {
		t.setTyped(strings.TrimSuffix(t.s.typed(), burst))
		t.scanKeys(burst)
		return
	}
	if held {
		t.heldKeys(burst)
		if len([]rune(burst)) > 1 {
			return
		}
	}
	t.entered()
}

// scanEnds reports whether what came in a burst is a whole number, or what
// came after the scanner's prefix: the next Enter or Tab ends it.
func (t *turn) scanEnds() bool {
	k := t.s.keys
	if k.scanning {
		return true
	}
	return t.since(k.last) <= burstGap && t.s.Options.ScanPrefix == "" && t.isScan(k.burst)
}

// longestText bounds what can be typed into one field.
const longestText = 200

// typeIn adds text to the field.
func (t *turn) typeIn(text string) {
	if len(t.s.typed())+len(text) > longestText {
		return
	}
	t.setTyped(t.s.typed() + text)
	t.s.Desk.Row = 0
}

// rub takes the last character out of the field.
func (t *turn) rub() {
	t.s.keys.burst = ""
	if typed := []rune(t.s.typed()); len(typed) > 0 {
		t.setTyped(string(typed[:len(typed)-1]))
		t.s.Desk.Row = 0
	}
}

// paste adds pasted text to the field, on one line. It answers nothing, and a
// read-back is keyed.
func (t *turn) paste(e Paste) {
	t.release()
	t.s.keys.burst = ""
	if a := t.s.ask(); !a.text() || a == AskReadBack || t.s.covered() {
		t.refuse([]bench.Blocker{{Code: CodePasted, Mend: "Pasted text is taken only where text is typed, and never as a read-back: key it."}})
		return
	}
	t.typeIn(strings.Join(strings.Fields(strings.Map(printable, e.Text)), " "))
}

func printable(r rune) rune {
	switch {
	case r == '\t' || r == '\n' || r == '\r':
		return ' '
	case !isPrint(r):
		return -1
	default:
		return r
	}
}

// covered reports whether a page lies over the desk.
func (s State) covered() bool { return s.Help || s.Scoring || s.Leaving != Staying }
