package station

import (
	"fmt"
	"math"
	"slices"

	"seamfit/internal/bench"
	"seamfit/internal/fit"
)

// lookBack asks, once for each way in which the bird on the desk is described,
// what the bench measured on such birds before.
func (t *turn) lookBack() {
	h, ok := t.s.bird()
	if !ok || birdProgress(h) != Done {
		return
	}
	like := h.Like()
	if _, known := t.s.Bench.History(h); known || slices.Contains(t.s.LookedFor, like) {
		return
	}
	others := slices.DeleteFunc(slices.Clone(t.s.LookedFor), func(l bench.Likeness) bool {
		_, open := t.s.Bench.Handling(l.Except)
		return l.Except == like.Except || !open
	})
	t.s.LookedFor = append(others, like)
	t.emit(LookBack{Like: like})
}

// lookedBack takes what the bench measured before. Without it sizes are judged
// all the same: nothing rests on history alone.
func (t *turn) lookedBack(e LookedBack) {
	if _, open := t.s.Bench.Handling(e.Like.Except); !open {
		return
	}
	if e.Trouble != "" {
		if t.s.Refused == nil {
			t.s.Message = "The widths of earlier birds could not be read (" + e.Trouble + "): this leg is judged without them."
		}
		return
	}
	t.s.Bench = t.s.Bench.Remember(e.Like, e.History)
}

// ownBirds returns what the bench measured on such birds, when there are
// enough of them to have a spread.
func (v *view) ownBirds() (fit.History, bool) {
	h, known := v.s.Bench.History(v.h)
	return h, known && h.N >= leastOwnBirds
}

// leastOwnBirds is from how many birds a spread is shown.
const leastOwnBirds = 2

// usualSpread is how many robust SDs either side of the median are drawn as
// the usual range: of a normal distribution it holds 95 %.
const usualSpread = 1.96

// usual returns the columns of the scale on which such birds' legs usually
// are; none when there are no such birds or they lie off the scale.
func (v *view) usual(sc scale) (from, to int) {
	h, ok := v.ownBirds()
	if !ok || math.IsNaN(h.SD) || math.IsInf(h.SD, 0) {
		return 0, -1
	}
	low, high := h.Median-usualSpread*h.SD, h.Median+usualSpread*h.SD
	if low > sc.to || high < sc.from {
		return 0, -1
	}
	return sc.at(math.Max(low, sc.from)), sc.at(math.Min(high, sc.to))
}

// historyWords tell of the bench's own birds.
func (v *view) historyWords() string {
	h, ok := v.ownBirds()
	if !ok {
		return ""
	}
	text := fmt.Sprintf("earlier birds here: %.2f mm, SD %.2f mm, of %d", h.Median, h.SD, h.N)
	if v.measured && h.SD > 0 {
		text += fmt.Sprintf("; this one %+.1f SD", h.Z(v.fit.Leg))
	}
	return text
}
