package device

import (
	"errors"
	"fmt"
)

// Kind says what a frame is that carries no reading.
type Kind string

// Kinds of a *FrameError.
const (
	KindSensor  Kind = "sensor"   // the gauge cannot measure
	KindCommand Kind = "command"  // the gauge did not understand a command
	KindParity  Kind = "parity"   // the gauge received a damaged command
	KindRange   Kind = "range"    // the value is beyond what the gauge can show
	KindNoGauge Kind = "no_gauge" // no gauge answers on that channel
	KindGrammar Kind = "grammar"  // the line does not fit the wire form
	KindTooLong Kind = "too_long" // the line was longer than any frame: dropped whole
	KindDropped Kind = "dropped"  // frames were lost because nobody took them in time
)

// Kinds of a *Notice.
const (
	KindBatteryWell Kind = "battery_well" // the gauge says that its battery is well
	KindBatteryLow  Kind = "battery_low"  // the gauge says that its battery is low
	KindEcho        Kind = "echo"         // the device repeated a command
	KindName        Kind = "name"         // the device told its name at power-on
)

// The errors by which a Source ends or pauses; they are wrapped with the
// device's name and the cause. Compare with errors.Is.
var (
	ErrSilent = errors.New("nothing arrives")
	ErrGone   = errors.New("the connection is lost")
	ErrClosed = errors.New("closed")
)

// FrameError is a frame that carries no reading.
type FrameError struct {
	Kind Kind
	// Raw holds the frame's bytes; of an over-long line its beginning.
	Raw []byte
	// Count is how many frames are meant: more than one only for KindDropped.
	Count int
}

// Error says what came, with its bytes escaped.
func (e *FrameError) Error() string {
	switch e.Kind {
	case KindSensor:
		return "the caliper reports a sensor error"
	case KindCommand:
		return "the caliper did not understand the command"
	case KindParity:
		return "the caliper received a damaged command"
	case KindRange:
		return "the caliper reports a value out of its range"
	case KindNoGauge:
		return "no gauge answers on this channel"
	case KindTooLong:
		return fmt.Sprintf("a line of more than %d bytes was dropped: it begins with %s", maxLine, Quote(e.Raw[:min(len(e.Raw), 20)]))
	case KindDropped:
		return fmt.Sprintf("%d frames were dropped because they were not taken in time", e.Count)
	default:
		return fmt.Sprintf("%s is no frame of this wire form", Excerpt(e.Raw))
	}
}

// Mend says what a person can do about it.
func (e *FrameError) Mend() string {
	switch e.Kind {
	case KindSensor:
		return "wipe the scale, close the jaws, set zero, measure again"
	case KindCommand, KindParity:
		return "measure again; if it comes back, check speed and framing in the settings"
	case KindRange:
		return "close the jaws, set zero, measure again"
	case KindNoGauge:
		return "check the gauge's cable and its battery"
	case KindDropped:
		return "measure again; a streaming caliper may send too fast for this computer"
	default:
		return "measure again; if it comes back, check wire form, speed and framing"
	}
}

// Notice is a line that is neither a reading nor an error.
//
//nolint:errname // it is no error of anybody's
type Notice struct {
	Kind Kind
	Raw  []byte
}

// Error says what the device told, with its bytes escaped. A notice is an
// error only so that it can never be taken for a reading.
func (n *Notice) Error() string {
	switch n.Kind {
	case KindBatteryWell:
		return "the caliper's battery is well"
	case KindBatteryLow:
		return "the caliper's battery is low"
	case KindEcho:
		return fmt.Sprintf("the device repeated the command %s", Quote(n.Raw))
	default:
		return fmt.Sprintf("the device says %s", Excerpt(n.Raw))
	}
}

// Mend says what a person can do about it; empty when nothing is amiss.
func (n *Notice) Mend() string {
	if n.Kind == KindBatteryLow {
		return "change the battery: some calipers fall silent without another warning"
	}
	return ""
}

func (k Kind) isNotice() bool {
	switch k {
	case KindBatteryWell, KindBatteryLow, KindEcho, KindName:
		return true
	default:
		return false
	}
}

// GoesOn reports whether Next may be called again after err: true for frame
// errors, notices and silence.
func GoesOn(err error) bool {
	var frame *FrameError
	var notice *Notice
	return errors.As(err, &frame) || errors.As(err, &notice) || errors.Is(err, ErrSilent)
}
