package station

import (
	"fmt"
	"slices"
	"time"

	"seamfit/device"
	"seamfit/internal/bench"
	"seamfit/internal/length"
)

// openBird begins a handling; its clock runs from this key on.
func (t *turn) openBird() {
	switch {
	case t.s.Front.Cautions:
	case !t.s.sheetTold():
		t.refuse(sheetNotTold())
	case t.s.late() && t.s.Bench.Shift != nil:
		t.quiet()
		t.s.Front.Stage, t.s.Front.Typed = AskCaught, ""
	default:
		t.beginBird(t.at)
	}
}

// beginBird begins the handling of a bird that was caught at a time.
func (t *turn) beginBird(caught time.Time) {
	if t.id == "" {
		return
	}
	if blockers := t.do(bench.OpenBird{When: t.stamp(caught, t.s.Bander), ID: t.id}, t.id); blockers != nil {
		t.refuse(blockers)
		return
	}
	t.s.Order = append(slices.Clone(t.s.Order), t.id)
	t.park()
	t.s.Desk = Desk{Handling: t.id}
	t.quiet()
	t.s.Message = fmt.Sprintf("Bird %d is in the hand; its clock runs.", t.s.ordinal(t.id))
	if t.s.late() {
		t.s.Message = fmt.Sprintf("Bird %d, caught %s on the sheet.", t.s.ordinal(t.id), caught.Format("2006-01-02 15:04"))
	}
}

// park keeps the desk for when its bird is taken up again, and forgets the
// desks of birds that are no longer open.
func (t *turn) park() {
	parked := slices.Clone(t.s.Parked)
	if t.s.Desk.Handling != "" {
		parked = append(parked, t.s.Desk)
	}
	t.s.Parked = slices.DeleteFunc(parked, func(d Desk) bool {
		_, open := t.s.Bench.Handling(d.Handling)
		return !open
	})
}

// switchBird takes up the next of the other open birds.
func (t *turn) switchBird() {
	if t.s.Front.Cautions || t.s.Bench.Shift == nil {
		return
	}
	if len(t.s.Parked) == 0 {
		t.say("No other bird is open: F2 begins one.")
		return
	}
	tour := append(slices.Clone(t.toured), t.s.Desk.Handling)
	if len(t.s.others(tour)) == 0 {
		tour = nil // round once more
	}
	t.s.Tour = tour
	t.park()
	t.nextBird()
}

// others returns the parked desks in the order in which they are taken up:
// birds in the hand before those that are gone. Those of the tour, which were
// taken up one after another just now, are left out.
func (s State) others(tour []string) []Desk {
	var inHand, gone []Desk
	for _, d := range s.Parked {
		h, open := s.Bench.Handling(d.Handling)
		switch {
		case !open || slices.Contains(tour, d.Handling):
		case h.InHand():
			inHand = append(inHand, d)
		default:
			gone = append(gone, d)
		}
	}
	return append(inHand, gone...)
}

// nextBird takes up a parked desk.
func (t *turn) nextBird() {
	for _, desk := range t.s.others(t.s.Tour) {
		t.s.Parked = slices.DeleteFunc(slices.Clone(t.s.Parked), func(d Desk) bool { return d.Handling == desk.Handling })
		w := bench.When{At: t.at, Handling: desk.Handling}
		if t.do(bench.Activate{When: w}, "") == nil {
			t.s.Desk = desk
			h, _ := t.s.bird()
			t.say(fmt.Sprintf("Now bird %s.", t.s.called(h)))
			return
		}
	}
}

// leftTheHand stops the clock of the bird on the desk. Nothing else changes:
// what is being typed stays, and facts are entered afterwards.
func (t *turn) leftTheHand() {
	h, ok := t.s.bird()
	if !ok {
		t.refuse([]bench.Blocker{{Code: bench.NoBird, Mend: "No bird is open, so none left the hand: F2 begins one."}})
		return
	}
	switch {
	case !t.s.sheetTold():
		t.refuse(sheetNotTold())
	case t.s.late() && h.InHand():
		t.askLeftAt()
	default:
		t.leaves(h, t.at)
	}
}

// leaves stops the clock of a bird that left the hand at a time.
func (t *turn) leaves(h bench.Handling, at time.Time) {
	if i := slices.IndexFunc(t.s.Reread, func(r Rereading) bool { return r.id == h.ID }); i >= 0 {
		t.s.Reread = slices.Clone(t.s.Reread)
		if t.s.Reread[i].left.IsZero() {
			t.s.Reread[i].left = at
		}
		t.say("Left the hand at " + clock(at) + "; it is recorded as soon as the record is read again.")
		return
	}
	if !h.InHand() {
		if h.Fate == nil && !t.s.late() && t.s.Desk.Typed == "" {
			t.quiet()
			t.question(AskStillInHand)
			return
		}
		t.say("This bird left the hand at " + clock(h.Left) + "; its facts can still be entered.")
		return
	}
	w := t.when()
	w.At = at
	if blockers := t.do(bench.LeaveHand{When: w}, h.ID); blockers != nil {
		t.refuse(blockers)
		return
	}
	t.say("Left the hand at " + clock(at) + "; facts can be entered now.")
}

// read takes a reading from the caliper. It goes to the bird on the desk and
// to no other.
func (t *turn) read(e Read) {
	if t.s.Options.Streams && !t.s.expecting && !t.s.wanted {
		t.live(e.Reading) // laid down, such a caliper stands still too
		return
	}
	t.s.wanted = false
	low := t.s.Links[Caliper].Low
	t.s.Links[Caliper] = Link{Fitted: true, Open: true, Low: low}
	t.s.Last = LastReading{Reading: e.Reading, Given: true, Bird: t.s.Bench.Active}
	t.s.Flowing, t.s.settled = false, true
	if t.spotRead(e.Reading) || t.measureRead(e.Reading) {
		return
	}
	blockers := t.strayReading(e.Reading)
	if blockers == nil {
		blockers = t.do(takeReading(t.when(), t.s.Desk.Taking, e.Reading), t.s.Bench.Active)
	}
	if blockers != nil {
		t.s.Last.Refused = true
		t.refuse(blockers)
		return
	}
	t.s.Desk.Taking = t.s.Desk.Taking.taken()
	t.quiet()
	t.bell(BellCapture)
	if e.Reading.UnitChanged {
		t.s.Message = "The caliper now shows " + e.Reading.Unit.String() + "; the value is taken in that unit."
	}
	if t.s.Desk.Step == StepLeg && t.s.Desk.Ask == AskStep {
		t.advance()
	}
}

// strayReading refuses a reading that comes while a band is in hand and the leg is
// not what is being asked for: a button pressed by the way must not change the
// leg that the band was chosen for.
func (t *turn) strayReading(r device.Reading) []bench.Blocker {
	h, open := t.s.bird()
	_, banded := h.CurrentBand()
	reread := slices.ContainsFunc(t.s.Reread, func(r Rereading) bool { return r.id == h.ID }) // refused for that
	if !open || !banded || reread || t.s.Desk.Step == StepLeg {
		return nil
	}
	return []bench.Blocker{{Code: CodeStrayReading, Mend: fmt.Sprintf(
		"%s %s came while a band is taken, and is not the leg's: if it is meant so, go to the leg with Tab and measure again.",
		r.Value.Format(r.Unit, length.Decimals(r.Resolution, r.Unit)), r.Unit)}}
}

func takeReading(w bench.When, m Taking, r device.Reading) bench.TakeReading {
	return bench.TakeReading{
		When: w, Axis: m.axis(), Feathers: m.Feathers, Means: bench.MeansCaliper, Raw: slices.Clone(r.Raw), Value: r.Value, Unit: r.Unit,
		UnitAssumed: r.UnitAssumed, Resolution: r.Resolution, Device: r.Device, Channel: r.Channel,
	}
}

// squeeze presses the simulated caliper on the leg of the bird on the desk.
func (t *turn) squeeze() {
	h, ok := t.s.bird()
	if !ok {
		t.refuse([]bench.Blocker{{Code: bench.NoBird, Mend: "No bird is open: F2 begins one, then there is a leg to measure."}})
		return
	}
	t.emit(Squeeze{Width: t.s.Options.Trainer.Leg(t.s.ordinal(h.ID))})
}

// leave asks before the station is left. Open birds are reopened next time;
// facts that could not be saved would be lost, and that is asked twice.
func (t *turn) leave() {
	t.s.Help = false
	t.s.Leaving = AskedToLeave
	t.leaveIfFree()
}

// leaveIfFree leaves without a further answer once all is saved: when no bird
// is open, or when leaving has been answered with yes already.
func (t *turn) leaveIfFree() {
	free := t.s.Leaving == AskedTwice || t.s.Leaving == AskedToLeave && len(t.s.openBirds()) == 0
	if free && len(t.s.Queue.Facts) == 0 {
		t.emit(Quit{})
	}
}

func (t *turn) leaveAnswer(r rune) {
	yes := r == 'y' || r == 'Y'
	switch {
	case !yes:
		t.s.Leaving = Staying
	case t.s.Leaving == AskedToLeave && len(t.s.Queue.Facts) > 0:
		t.s.Leaving = AskedTwice
	default:
		t.emit(Quit{})
	}
}

// openBirds returns the handlings that are neither complete nor resolved.
func (s State) openBirds() []bench.Handling {
	return slices.DeleteFunc(slices.Clone(s.Bench.Handlings), func(h bench.Handling) bool { return h.Done() || h.Resolved != "" })
}
