package station

import (
	"context"
	"errors"

	"seamfit/device"
)

// followCaliper turns what the caliper's link tells into events, until it
// ends.
func (l *loop) followCaliper() {
	for {
		e, err := l.cfg.Caliper.Next(l.ctx)
		if l.ctx.Err() != nil {
			return
		}
		if err != nil {
			l.send(ended(Caliper, l.now(), err))
			return
		}
		if event := caliperEvent(l.now(), e); event != nil {
			l.send(event)
		}
	}
}

// caliperEvent returns the station's event for one of the link's; nil when it
// has none.
func caliperEvent(now Moment, e device.Event) Event {
	switch e.Kind {
	case device.EventReading:
		return Read{Moment: now, Reading: e.Reading.Clone()}
	case device.EventLive:
		return Live{Moment: now, Reading: e.Reading.Clone()}
	case device.EventFrame:
		return remark(now, e.Err)
	case device.EventState:
		return stateEvent(now, e.State)
	default:
		return nil
	}
}

func remark(now Moment, err error) Event {
	what, mend := whatAndMend(err)
	var notice *device.Notice
	if errors.As(err, &notice) {
		switch notice.Kind {
		case device.KindBatteryLow:
			return Remarked{Moment: now, Device: Caliper, What: what, Mend: mend, Low: true}
		case device.KindEcho, device.KindName:
			return nil
		default:
			return Remarked{Moment: now, Device: Caliper, What: what}
		}
	}
	return Remarked{Moment: now, Device: Caliper, What: what, Mend: mend}
}

func stateEvent(now Moment, s device.State) Event {
	switch {
	case s.Well():
		return Linked{Moment: now, Device: Caliper, Open: true}
	case s.Kind == device.StateOpening:
		return Linked{Moment: now, Device: Caliper}
	default:
		return Linked{Moment: now, Device: Caliper, Trouble: s.Words, Mend: s.Mend}
	}
}

func ended(d Device, now Moment, err error) Event {
	what, mend := whatAndMend(err)
	if mend == "" {
		mend = "start the station again; until then, type"
	}
	return Linked{Moment: now, Device: d, Trouble: what, Mend: mend}
}

// followScanner turns codes into events, until the scanner ends.
func (l *loop) followScanner() {
	l.send(Linked{Moment: l.now(), Device: Scanner, Open: true})
	for {
		text, err := l.cfg.Scanner.Next(l.ctx)
		if l.ctx.Err() != nil {
			return
		}
		if device.GoesOn(err) {
			what, mend := whatAndMend(err)
			l.send(Remarked{Moment: l.now(), Device: Scanner, What: what, Mend: mend})
			continue
		}
		if err != nil {
			l.send(ended(Scanner, l.now(), err))
			return
		}
		l.send(Scanned{Moment: l.now(), ID: l.cfg.NewID(), Text: text})
	}
}

// SourceFeed makes a Feed of a source that nobody supervises: the simulated
// caliper, or a recording.
func SourceFeed(source device.Source) Feed { return &sourceFeed{source: source} }

type sourceFeed struct {
	source device.Source
	told   bool // that it is open
}

// Next returns readings and frames as they come, and silence and the loss of
// the link as states; the loss is followed by the source's error.
func (f *sourceFeed) Next(ctx context.Context) (device.Event, error) {
	if !f.told {
		f.told = true
		return device.Event{Kind: device.EventState, State: device.State{Kind: device.StateReady, Words: f.source.Name() + " ready"}}, nil
	}
	reading, err := f.source.Next(ctx)
	switch {
	case err == nil:
		return device.Event{Kind: device.EventReading, Reading: reading}, nil
	case errors.Is(err, device.ErrSilent):
		return device.Event{Kind: device.EventState, State: device.State{
			Kind: device.StateSilent, Words: err.Error(), Mend: "press its button; check its battery",
		}}, nil
	case device.GoesOn(err):
		return device.Event{Kind: device.EventFrame, Err: err}, nil
	default:
		return device.Event{}, err
	}
}
