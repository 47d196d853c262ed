package device

import (
	"errors"
	"fmt"
	"strings"
	"time"

	"seamfit/internal/length"
)

// maxLine is longer than any frame of any form (17 bytes) and than a name
// line; a longer line is noise.
const maxLine = 64

// DecoderOptions are the settings that frames are read with.
type DecoderOptions struct {
	// Unit is meant where a frame names none. The forms that never, or not
	// always, name one need it.
	Unit length.Unit
	// Resolution of the device; 0 takes the step of the last digit.
	Resolution length.Length
	// Device is copied into each Reading.
	Device string
	// DecimalComma: the typed form has a comma for its decimal mark, and no
	// longer as a line end. Other forms do not heed it.
	DecimalComma bool
	// Clock tells the arrival time; nil is time.Now.
	Clock func() time.Time
}

// DecoderStats count what a decoder has seen since it was made.
type DecoderStats struct {
	Bytes    int64 // bytes fed
	Readings int64 // frames with a value
	Errors   int64 // frames without one, over-long lines among them
	TooLong  int64 // over-long lines, each dropped whole
	Notices  int64 // battery answers, echoes, name lines
}

// Decoder assembles the lines of one wire form from bytes and reads them. It
// is not safe for use by several goroutines.
type Decoder struct {
	form  Form
	parse parser
	ends  string // the bytes that end a line
	opts  DecoderOptions
	stats DecoderStats

	line     [maxLine]byte
	n        int
	overlong bool // the line is too long: swallow it to its end

	units  [11]length.Unit // last seen, by channel digit; the last is of frames without
	fields fields
	frames []Frame
	raw    []byte // the frames' Raw bytes
}

// NewDecoder returns a decoder of form. It fails when the form is not known,
// and when its frames name no unit and opts has none: a unit is never
// inferred from the size of a number.
func NewDecoder(form Form, opts DecoderOptions) (*Decoder, error) {
	if _, err := ParseForm(string(form)); err != nil {
		return nil, err
	}
	if opts.Unit.Length() == 0 && !form.NamesUnit() {
		return nil, fmt.Errorf("wire form %q does not always carry a unit; set the caliper's unit to mm or in", form)
	}
	if opts.Resolution < 0 {
		return nil, errors.New("a negative resolution; set it to a length, or to 0 for the last digit's step")
	}
	if opts.Clock == nil {
		opts.Clock = time.Now
	}
	d := &Decoder{form: form, parse: parserOf(form, opts.DecimalComma), ends: lineEnds(form, opts), opts: opts}
	for i := range d.units {
		d.units[i] = opts.Unit
	}
	return d, nil
}

// Form returns the wire form that d reads.
func (d *Decoder) Form() Form { return d.form }

// Stats returns the counts so far.
func (d *Decoder) Stats() DecoderStats { return d.stats }

// Pending reports whether a line has begun and not ended.
func (d *Decoder) Pending() bool { return d.n > 0 || d.overlong }

// Reset forgets a line that has begun, so that it is never joined to bytes
// from after a loss. Counts and the unit last seen stay.
func (d *Decoder) Reset() { d.n, d.overlong = 0, false }

// Feed takes the next bytes and returns the frames that they complete: any
// split of the same bytes gives the same frames. The slice and the Raw bytes
// in it are good until the next Feed; Clone keeps a reading longer.
func (d *Decoder) Feed(p []byte) []Frame {
	d.frames, d.raw = d.frames[:0], d.raw[:0]
	d.stats.Bytes += int64(len(p))
	for _, c := range p {
		switch {
		case strings.IndexByte(d.ends, c) >= 0:
			d.endLine()
		case d.overlong:
		case d.n == maxLine:
			d.overlong = true
		default:
			d.line[d.n] = c
			d.n++
		}
	}
	return d.frames
}

// lineEnds returns the bytes that end a line. CR, LF and CRLF are alike: the
// empty line between CR and LF is no frame.
func lineEnds(form Form, opts DecoderOptions) string {
	switch {
	case form != Typed:
		return "\r\n"
	case opts.DecimalComma:
		return "\r\n\t"
	default:
		return "\r\n\t,"
	}
}

// endLine reads the assembled line, if there is one.
func (d *Decoder) endLine() {
	line, overlong := d.line[:d.n], d.overlong
	d.Reset()
	if len(line) == 0 {
		return
	}
	start := len(d.raw)
	d.raw = append(d.raw, line...)
	raw := d.raw[start:len(d.raw):len(d.raw)]
	frame := Frame{Reading: Reading{Raw: raw, At: d.opts.Clock(), Device: d.opts.Device}}
	if overlong {
		d.stats.TooLong++
		d.fail(&frame, KindTooLong)
	} else {
		d.read(&frame)
	}
	d.frames = append(d.frames, frame)
}

// read fills frame from its raw bytes.
func (d *Decoder) read(frame *Frame) {
	f := &d.fields
	f.negative, f.number, f.unit, f.channel = false, nil, length.UnknownUnit, 0
	kind := d.parse(frame.Raw, f)
	last := &d.units[10]
	if isDigit(f.channel) {
		frame.Channel = channelName(f.channel)
		last = &d.units[f.channel-'0']
	}
	if kind != "" {
		d.fail(frame, kind)
		return
	}
	unit := f.unit
	if unit == length.UnknownUnit {
		unit = d.opts.Unit
	}
	value, step, err := length.Parse(string(f.number), unit)
	if err != nil { // finer than a nanometre, or beyond an int64
		d.fail(frame, KindGrammar)
		return
	}
	if f.negative {
		value = -value
	}
	frame.Value, frame.Unit, frame.Resolution = value, unit, step
	frame.UnitAssumed = f.unit == length.UnknownUnit
	frame.UnitChanged = *last != length.UnknownUnit && *last != unit
	if d.opts.Resolution > 0 {
		frame.Resolution = d.opts.Resolution
	}
	*last = unit
	d.stats.Readings++
}

// fail makes frame one that carries no reading.
func (d *Decoder) fail(frame *Frame, kind Kind) {
	if kind.isNotice() {
		d.stats.Notices++
		frame.Err = &Notice{Kind: kind, Raw: frame.Raw}
		return
	}
	d.stats.Errors++
	frame.Err = &FrameError{Kind: kind, Raw: frame.Raw, Count: 1}
}

// channelName returns a channel's digit as text, without allocating.
func channelName(c byte) string {
	const digits = "0123456789"
	return digits[c-'0' : c-'0'+1]
}
