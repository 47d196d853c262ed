package bench

import (
	"maps"
	"strings"
	"time"
)

// TellCircumstances tells where and when the bird was taken, and where it was
// put back. What is left empty stands as it was told before. Once the record is
// complete, Why is required.
type TellCircumstances struct {
	When
	Nest       string    // nest, burrow or box
	Brood      string    // which of its brood, or how many
	Captured   time.Time // when it was taken; the time since capture counts from it
	ReturnedTo string    // where it was put back
	Why        string
}

// CircumstancesTold is all that is told of where and when the bird was taken; the
// last one stands.
type CircumstancesTold struct {
	Head
	Nest       string
	Brood      string
	Captured   time.Time // zero: when the handling was begun
	ReturnedTo string
}

// earliestCapture is how long before its handling a bird may have been taken
// (bench setting): more is a slip of the clock or of the date.
const earliestCapture = 24 * time.Hour

func (a *applying) tellCircumstances(h Handling, c TellCircumstances) []Blocker {
	told := CircumstancesTold{}
	if h.Whence != nil {
		told = *h.Whence
	}
	before := told
	for _, part := range []struct {
		into *string
		text string
	}{{&told.Nest, c.Nest}, {&told.Brood, c.Brood}, {&told.ReturnedTo, c.ReturnedTo}} {
		if text := strings.Join(strings.Fields(part.text), " "); text != "" {
			*part.into = text
		}
	}
	if !c.Captured.IsZero() {
		if c.Captured.After(c.At) || c.Captured.Before(h.Opened.Add(-earliestCapture)) {
			return refuse(CaptureUnclear, "A bird whose handling began at %s was not taken at %s: give the time of capture, within the day before.",
				h.Opened.Format("2006-01-02 15:04"), c.Captured.Format("2006-01-02 15:04"))
		}
		told.Captured = c.Captured
	}
	if told.Nest == before.Nest && told.Brood == before.Brood && told.ReturnedTo == before.ReturnedTo && told.Captured.Equal(before.Captured) {
		return nil
	}
	why := strings.TrimSpace(c.Why)
	if h.Complete && why == "" {
		return refuse(ReasonMissing, "This record is complete: say why it is corrected.")
	}
	told.Head = a.head(h.ID)
	told.Why = why
	if h.Whence != nil && why != "" {
		told.Replaces = h.Whence.Seq
	}
	a.record(told)
	return nil
}

// Captured returns when the bird was taken: as told, else when its handling was
// begun.
func (h Handling) Captured() time.Time {
	if h.Whence != nil && !h.Whence.Captured.IsZero() {
		return h.Whence.Captured
	}
	return h.Opened
}

// Held returns how long the bird has been in the hand by now, or was.
func (h Handling) Held(now time.Time) time.Duration {
	if !h.InHand() {
		now = h.Left
	}
	return max(now.Sub(h.Captured()), 0)
}

// Nest returns the nest that the bird was taken from; empty: none was told.
func (h Handling) Nest() string {
	if h.Whence == nil {
		return ""
	}
	return h.Whence.Nest
}

// NestBird is a bird's nest, and when it was taken from it.
type NestBird struct {
	Nest     string
	Captured time.Time
}

// NestSince returns when the first bird of the nest of h was taken in this shift:
// parents wait, and chicks cool, from then on.
func (s State) NestSince(h Handling) (since time.Time, known bool) {
	if h.Nest() == "" {
		return since, false
	}
	for _, b := range s.Nests {
		if strings.EqualFold(b.Nest, h.Nest()) && (!known || b.Captured.Before(since)) {
			since, known = b.Captured, true
		}
	}
	return since, known
}

// nest notes from which nest a bird was taken.
func (s *State) nest(h Handling) {
	bird := NestBird{Nest: h.Nest(), Captured: h.Captured()}
	if bird.Nest == "" || s.Nests[h.ID] == bird {
		return
	}
	s.Nests = maps.Clone(s.Nests)
	if s.Nests == nil {
		s.Nests = map[string]NestBird{}
	}
	s.Nests[h.ID] = bird
}
