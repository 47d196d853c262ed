package device

import (
	"errors"
	"strings"
	"time"
)

// Key is a character key, or a key that ends a line: '\r' for Enter, '\t'
// for Tab, '\n' for Ctrl+J, which some terminals make of a scanner's LF.
type Key struct {
	Rune rune
	At   time.Time
	// Pasted: the terminal says that it comes from a paste.
	Pasted bool
}

// BurstConfig are the settings by which keys from a scanner, or from a
// caliper that types, are told from a person's.
type BurstConfig struct {
	// Gap is the longest time between two keys of a burst; bench setting.
	Gap time.Duration
	// Least is the fewest characters of a scan, its end not counted; a
	// person may type fewer as fast over a slow line. Bench setting.
	Least int
	// Scanner are the scanner's settings. With a prefix, only what begins
	// with it is a scan, and then at any speed.
	Scanner ScannerOptions
	// Typed makes readings of what a typing caliper sends; nil: there is none.
	Typed *DecoderOptions
	// IsNumber reports whether a text has the form of a band's number.
	IsNumber func(text string) bool
}

// BurstKind says what keys came to.
type BurstKind string

// The kinds of a Burst.
const (
	BurstKeys    BurstKind = "keys"    // a person's: to be handled as typed
	BurstScan    BurstKind = "scan"    // a band's number
	BurstReading BurstKind = "reading" // of a caliper that types
	// BurstRefused: as fast as a device, ended like one, and neither a number
	// nor a reading. In a text field it may be a person's over a slow line;
	// anywhere else its keys must not act.
	BurstRefused BurstKind = "refused"
)

// Burst is what some keys came to.
type Burst struct {
	Kind    BurstKind
	Keys    []Key // all of them, in order, the end of line included
	Scan    Scan
	Reading Reading
	Err     error // of BurstRefused: why, in words
}

// Bursts sorts keys into a person's and a device's. It holds keys back while
// they may be the beginning of a burst, at most Gap after the last of them.
// It is a pure state machine: time comes with the keys. Not safe for several
// goroutines.
type Bursts struct {
	cfg     BurstConfig
	scanner *ScanDecoder
	typed   *Decoder
	held    []Key
	pasted  bool
	crlf    bool // the last burst ended with CR: a Ctrl+J right after belongs to it
	ended   time.Time
}

// NewBursts fails when a setting makes no sense.
func NewBursts(cfg BurstConfig) (*Bursts, error) {
	if cfg.Gap <= 0 || cfg.Gap > time.Second {
		return nil, errors.New("the longest gap in a burst must be above 0 and at most 1 s")
	}
	if cfg.Least < 2 {
		return nil, errors.New("a burst has at least 2 characters; set 4 or more")
	}
	if cfg.IsNumber == nil {
		cfg.IsNumber = func(string) bool { return false }
	}
	b := &Bursts{cfg: cfg}
	var err error
	if b.scanner, err = NewScanDecoder(cfg.Scanner); err != nil {
		return nil, err
	}
	if cfg.Typed != nil {
		if b.typed, err = NewDecoder(Typed, *cfg.Typed); err != nil {
			return nil, err
		}
	}
	return b, nil
}

// Key takes the next key and returns what is decided by it.
func (b *Bursts) Key(k Key) []Burst {
	if k.Rune == '\n' && b.crlf && k.At.Sub(b.ended) <= b.cfg.Gap {
		b.crlf = false
		return nil
	}
	b.crlf = false
	out := b.Tick(k.At)
	b.held = append(b.held, k)
	b.pasted = b.pasted || k.Pasted
	if !isBurstEnd(k.Rune) {
		if len(b.held) > maxScan {
			return append(out, b.release())
		}
		return out
	}
	b.crlf, b.ended = k.Rune == '\r', k.At
	return append(out, b.decide())
}

// Tick lets go of keys that are held and are no burst by now.
func (b *Bursts) Tick(now time.Time) []Burst {
	if at, ok := b.Deadline(); !ok || now.Before(at) {
		return nil
	}
	return []Burst{b.release()}
}

// Deadline returns when Tick has something to let go of, if it ever has.
func (b *Bursts) Deadline() (time.Time, bool) {
	if len(b.held) == 0 {
		return time.Time{}, false
	}
	gap := b.cfg.Gap
	if b.prefixed() {
		// The prefix decides, not the time: a slow line is given a second.
		gap = time.Second
	}
	last := b.held[len(b.held)-1].At
	return last.Add(gap + 1), true
}

func (b *Bursts) prefixed() bool {
	p := b.cfg.Scanner.Prefix
	return p != "" && !b.pasted && strings.HasPrefix(textOf(b.held), p)
}

// release gives the held keys to the person.
func (b *Bursts) release() Burst {
	keys := b.held
	b.held, b.pasted = nil, false
	return Burst{Kind: BurstKeys, Keys: keys}
}

func isBurstEnd(r rune) bool { return r == '\r' || r == '\n' || r == '\t' }

func textOf(keys []Key) string {
	var text strings.Builder
	for _, k := range keys {
		text.WriteRune(k.Rune)
	}
	return text.String()
}
