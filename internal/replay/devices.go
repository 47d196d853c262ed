package replay

import (
	"context"
	"errors"
	"fmt"
	"time"

	"seamfit/device"
	"seamfit/internal/bench"
)

// Devices are the bench's devices, as its settings have them.
type Devices struct {
	Caliper *device.Decoder
	Scanner *device.ScanDecoder
	// Steady, of a caliper that streams, says which of its values are
	// readings; nil: every frame is one.
	Steady *device.SteadyConfig
}

// stream picks the readings out of a stream. Time is that of the events, not
// of the clock: a frame without a time of its own (one after another on a
// line, or on a line without "at") counts as coming one step after the one
// before it, so that the samples of a steady value fill its time exactly.
type stream struct {
	*device.SteadyChannels
	step time.Duration
	last time.Time
}

func newStream(cfg device.SteadyConfig) (*stream, error) {
	channels, err := device.NewSteadyChannels(cfg)
	if err != nil {
		return nil, err
	}
	spaces := time.Duration(cfg.Samples - 1)
	return &stream{SteadyChannels: channels, step: min((cfg.For+spaces-1)/spaces, cfg.Gap)}, nil
}

// takes reports whether r is a reading; at is the time of its event, or zero.
func (s *stream) takes(r device.Reading, at time.Time) bool {
	next := s.last.Add(s.step)
	if at.After(next) {
		next = at
	}
	r.At, s.last = next, next
	return s.See(r)
}

// caliperBytes feeds what the caliper sent to the decoder, and takes each
// reading that comes out; of a stream, each steady value once.
func (b *Bench) caliperBytes(ctx context.Context, when bench.When, e event) error {
	for _, frame := range b.devices.Caliper.Feed([]byte(*e.Caliper)) {
		frame = frame.Owned()
		switch {
		case frame.Err != nil:
			b.noReading(frame.Err)
			continue
		case b.stream != nil && !b.stream.takes(frame.Reading, e.At):
			continue
		}
		c := readingOf(when, frame.Reading)
		c.Feathers = e.Feathers
		if err := b.apply(ctx, "caliper", c); err != nil {
			return err
		}
	}
	return nil
}

// noReading lists a frame without a value by its kind. An echo, a name and a
// battery that is well are no news.
func (b *Bench) noReading(err error) {
	if b.stream != nil {
		b.stream.Lose()
	}
	var failed *device.FrameError
	var notice *device.Notice
	switch {
	case errors.As(err, &failed):
		b.refuse("caliper", frameCode(failed.Kind), "%v; %s", failed, failed.Mend())
	case errors.As(err, &notice) && notice.Mend() != "":
		b.refuse("caliper", frameCode(notice.Kind), "%v; %s", notice, notice.Mend())
	}
}

func frameCode(k device.Kind) bench.Code { return bench.Code("frame_" + string(k)) }

func readingOf(when bench.When, r device.Reading) bench.TakeReading {
	return bench.TakeReading{
		When: when, Means: bench.MeansCaliper, Raw: r.Raw, Value: r.Value, Unit: r.Unit, UnitAssumed: r.UnitAssumed,
		Resolution: r.Resolution, Device: r.Device, Channel: r.Channel,
	}
}

// scannerBytes takes each label that the scanner read as a band number. The
// card that asks the caliper for a reading asks nobody here: what the caliper
// answered stands on a line of its own.
func (b *Bench) scannerBytes(ctx context.Context, when bench.When, text string) error {
	for _, scan := range b.devices.Scanner.Feed([]byte(text)) {
		var refused *device.ScanError
		switch {
		case errors.As(scan.Err, &refused):
			b.refuse("scanner", bench.Code("scan_"+string(refused.Fault)), "%v; %s", refused, refused.Mend())
			continue
		case bench.IsTake(scan.Text):
			continue
		}
		if err := b.apply(ctx, "scanner", bench.GiveNumber{When: when, Number: scan.Text}); err != nil {
			return err
		}
	}
	return nil
}

// open checks the devices and makes what goes with them.
func (d Devices) open() (*stream, error) {
	if d.Caliper == nil || d.Scanner == nil {
		return nil, errors.New("a replay needs decoders of both its devices")
	}
	if d.Steady == nil {
		return nil, nil //nolint:nilnil // a caliper that is pressed has no stream
	}
	s, err := newStream(*d.Steady)
	if err != nil {
		return nil, fmt.Errorf("the caliper's stream: %w", err)
	}
	return s, nil
}
