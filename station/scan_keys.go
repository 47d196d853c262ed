package station

import (
	"errors"
	"strings"

	"seamfit/device"
	"seamfit/internal/bench"
	"seamfit/internal/catalogue"
)

// decodeScan takes off what a scanner that types sends around a code, and what
// the code carries beside its text; see device.ScanDecoder.
func (t *turn) decodeScan(burst string) (string, error) {
	o := t.s.Options
	dec, err := device.NewScanDecoder(device.ScannerOptions{Code39Check: o.ScanCheck})
	if err != nil {
		return "", err
	}
	text := strings.TrimSuffix(strings.TrimSuffix(burst, o.ScanSuffix), "\x03")
	scans := dec.Feed([]byte(text + "\r"))
	if len(scans) != 1 {
		return "", &device.ScanError{Fault: device.ScanEmpty}
	}
	return scans[0].Text, scans[0].Err
}

// isScan reports whether keys that came as fast as a scanner's are a code: a
// whole number, a number whose check character is wrong, or a command card.
func (t *turn) isScan(burst string) bool {
	text, err := t.decodeScan(burst)
	var wrong *device.ScanError
	switch {
	case err == nil && (bench.IsCard(text) || bench.IsTake(text)):
		return true
	case len(burst) < scanLeast:
		return false
	case err == nil:
		return t.isNumber(text)
	default:
		return errors.As(err, &wrong) && wrong.Fault == device.ScanCheck && t.isNumber(burst[:len(burst)-1])
	}
}

func (t *turn) isNumber(text string) bool {
	_, err := t.s.Bench.Setup.Pattern.Parse(text)
	return err == nil
}

// scanKeys takes a code from a scanner that types.
func (t *turn) scanKeys(burst string) {
	text, err := t.decodeScan(burst)
	if err != nil {
		what, mend := whatAndMend(err)
		t.refuse([]bench.Blocker{{Code: CodeDeviceSaid, Mend: catalogue.Capital(what) + ": " + mend + "."}})
		return
	}
	t.scan(text)
}

// takeTyped takes the burst as a reading, where the bench has a caliper that
// types: as fast as a device, and a whole value. Where a person is asked to
// type a width, it is theirs.
func (t *turn) takeTyped() bool {
	o, k := t.s.Options.Typed, &t.s.keys
	if o == nil || k.scanning || k.burst == "" || t.since(k.last) > burstGap || t.s.ask() == AskTypedWidth {
		return false
	}
	dec, err := device.NewDecoder(device.Typed, *o)
	if err != nil {
		return false
	}
	frames := dec.Feed([]byte(k.burst + "\r"))
	if len(frames) != 1 || frames[0].Err != nil {
		return false
	}
	reading := frames[0].Clone()
	reading.At = t.at
	t.setTyped(strings.TrimSuffix(t.s.typed(), k.burst))
	k.burst, k.held = "", false
	t.read(Read{Moment: Moment{At: t.at}, Reading: reading})
	return true
}
