package device

import (
	"fmt"
	"strings"
	"time"
)

// maxScan is longer than any band label; a longer scan is refused whole.
const maxScan = 128

// ScannerOptions are the settings of a bar-code scanner, as the person has
// programmed it. Prefix and suffix may be control characters (STX, ETX).
type ScannerOptions struct {
	Prefix string // before each scan
	Suffix string // after each scan, before the line end
	// Code39Check: the last character of a label in Code 39 is a check
	// character, which is verified and taken off. Labels in other codes have
	// none: those whose AIM identifier says so, or which, without one, hold a
	// character that Code 39 lacks.
	Code39Check bool
	Device      string           // copied into each Scan
	Clock       func() time.Time // nil is time.Now
}

// Scan is one label that was read.
type Scan struct {
	Text string // what the label says, without prefix, AIM identifier, check character, suffix
	// AIM is the symbology identifier that the scanner put before the text
	// (a bracket, a letter, a modifier), or empty.
	AIM    string
	Check  string // the check character that was verified, or empty
	Raw    []byte // without the line end
	At     time.Time
	Device string
	Err    error // nil, or a *ScanError; Text is empty then
}

// ScanFault says why a scan is refused.
type ScanFault string

// The faults of a scan.
const (
	ScanPrefix  ScanFault = "prefix"   // the prefix that is set is not there
	ScanSuffix  ScanFault = "suffix"   // the suffix that is set is not there
	ScanControl ScanFault = "control"  // control characters, or bytes that are no ASCII
	ScanEmpty   ScanFault = "empty"    // nothing between prefix and suffix
	ScanCheck   ScanFault = "check"    // the check character is wrong
	ScanTooLong ScanFault = "too_long" // longer than any label
)

// ScanError is a scan that is refused whole.
type ScanError struct {
	Fault ScanFault
	Raw   []byte
}

// Error says what is wrong, with the bytes escaped.
func (e *ScanError) Error() string {
	raw := Excerpt(e.Raw)
	switch e.Fault {
	case ScanPrefix:
		return fmt.Sprintf("scan %s lacks the prefix that is set", raw)
	case ScanSuffix:
		return fmt.Sprintf("scan %s lacks the suffix that is set", raw)
	case ScanControl:
		return fmt.Sprintf("scan %s has characters that no label has", raw)
	case ScanCheck:
		return fmt.Sprintf("scan %s fails its check character", raw)
	case ScanTooLong:
		return fmt.Sprintf("a scan of more than %d characters was dropped", maxScan)
	default:
		return fmt.Sprintf("scan %s is empty", raw)
	}
}

// Mend says what a person can do about it.
func (e *ScanError) Mend() string {
	switch e.Fault {
	case ScanPrefix, ScanSuffix:
		return "scan again; if it comes back, set prefix and suffix as the scanner is programmed"
	case ScanCheck:
		return "scan again; if it comes back, the label is damaged, or has no check character: see the settings"
	default:
		return "scan again, or type the number"
	}
}

// ScanDecoder splits what a scanner sends into scans. Each ends with CR, LF,
// CRLF or Tab; any split of the bytes gives the same scans. It belongs to
// one goroutine.
type ScanDecoder struct {
	opts     ScannerOptions
	line     []byte
	overlong bool
}

// NewScanDecoder returns a decoder. It fails when prefix or suffix hold a
// line end, which would cut every scan.
func NewScanDecoder(opts ScannerOptions) (*ScanDecoder, error) {
	for _, s := range []string{opts.Prefix, opts.Suffix} {
		if strings.ContainsAny(s, scanEnds) {
			return nil, fmt.Errorf("prefix or suffix %s holds a line end or Tab; leave it out, scans end with one anyway", Quote([]byte(s)))
		}
	}
	if opts.Clock == nil {
		opts.Clock = time.Now
	}
	return &ScanDecoder{opts: opts}, nil
}

const scanEnds = "\r\n\t"

// Reset forgets a scan that has begun.
func (d *ScanDecoder) Reset() { d.line, d.overlong = d.line[:0], false }

// Feed takes the next bytes and returns the scans that they complete; these
// own their bytes.
func (d *ScanDecoder) Feed(p []byte) []Scan {
	var scans []Scan
	for _, c := range p {
		switch {
		case strings.IndexByte(scanEnds, c) >= 0:
			if len(d.line) > 0 {
				scans = append(scans, d.scan())
			}
			d.Reset()
		case d.overlong:
		case len(d.line) == maxScan:
			d.overlong = true
		default:
			d.line = append(d.line, c)
		}
	}
	return scans
}

// scan reads the assembled line.
func (d *ScanDecoder) scan() Scan {
	s := Scan{Raw: append([]byte(nil), d.line...), At: d.opts.Clock(), Device: d.opts.Device}
	fault := ScanTooLong
	if !d.overlong {
		fault = d.opts.read(&s)
	}
	if fault != "" {
		s.Text, s.AIM, s.Check, s.Err = "", "", "", &ScanError{Fault: fault, Raw: s.Raw}
	}
	return s
}

// read takes a scan apart. Blanks are never trimmed: a blank at the end may
// be the check character.
func (o ScannerOptions) read(s *Scan) ScanFault {
	text, ok := strings.CutPrefix(string(s.Raw), o.Prefix)
	if !ok {
		return ScanPrefix
	}
	if text, ok = strings.CutSuffix(text, o.Suffix); !ok {
		return ScanSuffix
	}
	for i := range len(text) {
		if text[i] < ' ' || text[i] > '~' {
			return ScanControl
		}
	}
	s.AIM, s.Text = cutAIM(text)
	if o.Code39Check && s.Text != "" && mayBeCode39(s.AIM, s.Text) {
		data, check := s.Text[:len(s.Text)-1], s.Text[len(s.Text)-1]
		if want, err := Code39Check(data); err != nil || want != check {
			return ScanCheck
		}
		s.Text, s.Check = data, string(check)
	}
	if s.Text == "" {
		return ScanEmpty
	}
	return ""
}

func mayBeCode39(aim, text string) bool {
	if aim != "" {
		return aim[1] == 'A'
	}
	for i := range len(text) {
		// Small letters are no other code's: a keyboard may have made them.
		if _, err := Code39Check(text[i : i+1]); err != nil && (text[i] < 'a' || text[i] > 'z') {
			return false
		}
	}
	return true
}

// cutAIM takes a symbology identifier off: "]", a letter, a modifier. A
// label's own text never begins with a bracket, letter and digit.
func cutAIM(text string) (aim, rest string) {
	if len(text) < 3 || text[0] != ']' || !isLetter(text[1]) || (!isDigit(text[2]) && !isLetter(text[2])) {
		return "", text
	}
	return text[:3], text[3:]
}
