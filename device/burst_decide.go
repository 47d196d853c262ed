package device

import (
	"errors"
	"fmt"
)

// decide sorts the held keys, the last of which ends a line.
func (b *Bursts) decide() Burst {
	prefixed, pasted := b.prefixed(), b.pasted
	end := b.held[len(b.held)-1].At
	burst := b.release()
	text := textOf(burst.Keys[:len(burst.Keys)-1])
	if pasted || (!prefixed && len(burst.Keys)-1 < b.cfg.Least) {
		return burst
	}
	scan, isScan := b.scan(text, prefixed)
	reading, isReading := b.reading(text)
	switch {
	case isScan && isReading:
		// Never guessed: a number that reads as a width, or the reverse.
		burst.Kind = BurstRefused
		burst.Err = fmt.Errorf("%s may be a number or a reading; set a prefix on the scanner", Excerpt([]byte(text)))
	case isScan:
		scan.At = end
		burst.Kind, burst.Scan = BurstScan, scan
	case isReading:
		reading.At = end
		burst.Kind, burst.Reading = BurstReading, reading
	default:
		burst.Kind = BurstRefused
		burst.Err = b.refusal(text, scan)
	}
	return burst
}

// scan reads text as the scanner's, and as a band's number.
func (b *Bursts) scan(text string, prefixed bool) (Scan, bool) {
	b.scanner.Reset()
	scans := b.scanner.Feed([]byte(text + "\r"))
	if len(scans) != 1 {
		return Scan{}, false
	}
	if b.cfg.Scanner.Prefix != "" && !prefixed {
		return scans[0], false
	}
	return scans[0], scans[0].Err == nil && b.cfg.IsNumber(scans[0].Text)
}

// reading reads text as a typing caliper's. A text of several values is none.
func (b *Bursts) reading(text string) (Reading, bool) {
	if b.typed == nil {
		return Reading{}, false
	}
	b.typed.Reset()
	frames := b.typed.Feed([]byte(text + "\r"))
	if len(frames) != 1 || frames[0].Err != nil {
		return Reading{}, false
	}
	return frames[0].Clone(), true
}

func (b *Bursts) refusal(text string, scan Scan) error {
	var e *ScanError
	if errors.As(scan.Err, &e) && (b.cfg.Scanner.Prefix == "" || e.Fault != ScanPrefix) {
		return e
	}
	return fmt.Errorf("%s is no band number and no reading; scan the band's label, or type slowly", Excerpt([]byte(text)))
}
