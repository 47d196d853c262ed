package station

import (
	"context"
	"errors"
	"time"

	"seamfit/device"
)

// followCaliper turns what the caliper's link tells into events, until it
// ends.
func (l *loop) followCaliper() {
	var shown time.Time // when the last live value was sent on
	for {
		e, err := l.cfg.Caliper.Next(l.ctx)
		if l.ctx.Err() != nil {
			return
		}
		if err != nil {
			l.send(ended(Caliper, l.now(), err))
			return
		}
		now := l.now()
		if e.Kind == device.EventLive {
			// A fast stream must not keep the screen from its work; nothing of
			// it is lost but values that nobody could have read.
			if since := now.At.Sub(shown); since >= 0 && since < liveEvery {
				continue
			}
			shown = now.At
		}
		if event := caliperEvent(now, e); event != nil {
			l.send(event)
		}
	}
}

// liveEvery is the shortest time between two live values on the screen.
const liveEvery = 50 * time.Millisecond

// poll asks the caliper. Its answer comes as a reading, or as a state that says
// that none came.
func (l *loop) poll() {
	link, ok := l.cfg.Caliper.(interface{ Ask(q device.Question) error })
	if !ok {
		l.send(Remarked{Moment: l.now(), Device: Caliper, What: "this caliper can't be asked", Mend: "press its own button"})
		return
	}
	if err := link.Ask(device.AskReading); err != nil {
		what, mend := whatAndMend(err)
		if mend == "" {
			mend = "press its own button, or type the width"
		}
		l.send(Remarked{Moment: l.now(), Device: Caliper, What: what, Mend: mend})
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
		return stateEvent(Caliper, now, e.State)
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

func stateEvent(d Device, now Moment, s device.State) Event {
	switch {
	case s.Well():
		return Linked{Moment: now, Device: d, Open: true}
	case s.Kind == device.StateOpening:
		return Linked{Moment: now, Device: d}
	default:
		return Linked{Moment: now, Device: d, Trouble: s.Words, Mend: s.Mend}
	}
}

func ended(d Device, now Moment, err error) Event {
	what, mend := whatAndMend(err)
	if mend == "" {
		mend = "start the station again; until then, type"
	}
	return Linked{Moment: now, Device: d, Trouble: what, Mend: mend}
}

// followScanner turns what the scanner's link tells into events, until it ends.
func (l *loop) followScanner() {
	for {
		e, err := l.cfg.Scanner.Next(l.ctx)
		if l.ctx.Err() != nil {
			return
		}
		if err != nil {
			l.send(ended(Scanner, l.now(), err))
			return
		}
		l.send(l.scannerEvent(e))
	}
}

func (l *loop) scannerEvent(e device.ScanEvent) Event {
	now := l.now()
	err := e.Err
	switch e.Kind {
	case device.EventState:
		return stateEvent(Scanner, now, e.State)
	case device.EventScan:
		if e.Scan.Err == nil {
			return Scanned{Moment: now, ID: l.cfg.NewID(), Text: e.Scan.Text}
		}
		err = e.Scan.Err
	default: // scans were lost
	}
	what, mend := whatAndMend(err)
	return Remarked{Moment: now, Device: Scanner, What: what, Mend: mend}
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
