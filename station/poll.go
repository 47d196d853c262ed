package station

import (
	"seamfit/device"
	"seamfit/internal/bench"
)

// askedWords are shown from the question to its answer.
const askedWords = "The caliper is asked."

// poll has the caliper read, by a key or the card with the word for it. One
// that can be asked is asked; of one that streams the value at which it stands
// counts, even if it has been taken before.
func (t *turn) poll() {
	h, ok := t.s.bird()
	switch {
	case !ok:
		t.refuse([]bench.Blocker{{Code: bench.NoBird, Mend: "No bird is open: F2 begins one, then there is a leg to measure."}})
	case !h.InHand():
		t.refuse([]bench.Blocker{{Code: CodeDeviceSaid, Mend: "The bird has left the hand: there is nothing to measure. A width that was measured before can be typed."}})
	case t.s.Options.Streams:
		t.s.wanted = true
		t.rearm()
		t.say("The caliper's next steady value counts.")
	case !t.s.Links[Caliper].Fitted || !t.s.Options.Asks:
		t.refuse([]bench.Blocker{{Code: CodeDeviceSaid, Mend: "The caliper can't be asked: press its own button, or type the width."}})
	default:
		t.emit(Poll{})
		t.say(askedWords)
	}
}

func (t *turn) rearm() {
	t.s.settled = false
	t.emit(Rearm{})
}

// live shows a value of a stream. While the jaws still stand where the last
// reading was taken, the reading itself is shown.
func (t *turn) live(r device.Reading) {
	moved := (r.Value - t.s.Last.Value).Abs() >= device.DefaultSteady().Rearm
	if t.s.settled && !moved {
		return
	}
	t.s.settled = false
	t.s.Live, t.s.Flowing = r, true
}
