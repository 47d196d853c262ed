package bench

import (
	"slices"
	"time"

	"seamfit/internal/bands"
	"seamfit/internal/fit"
)

// Reading is a width within its handling. SetAside holds the stated reason
// why it is out of the estimate; empty when it counts.
type Reading struct {
	ReadingTaken
	SetAside string
}

// Band is a band within its handling. ID is the sequence of the event that
// brought it in.
type Band struct {
	ID        int
	Number    string
	Leg       Leg
	Site      Site
	Found     bool
	Then      Then
	Closure   string // of a found band, when told
	Condition string
	Scheme    string
	State     bands.State
	Closed    bool // at least one closing, or found on the leg
	Conflict  Conflict
	Other     string // the handling that the conflict is with
	Reason    string

	StockSize, StockMetal string // the number's, as the stock had them
}

// OnLeg reports whether the bird wears the band.
func (b Band) OnLeg() bool { return b.State == bands.OnBird }

// BandedLeg returns the leg of the band that the bird wears, where it is told
// otherwise than the bird's own.
func (h Handling) BandedLeg() Leg {
	band, ok := h.CurrentBand()
	if !ok {
		band, ok = h.FoundOnLeg()
	}
	if ok && band.Leg != LegUnsaid {
		return band.Leg
	}
	return h.Bird.Leg
}

// StateOf returns where one of the bands is, by what was told of it and of the
// bird. One that was taken and never looked at is on the bird when that left as
// banded or with its closure unconfirmed.
func (h Handling) StateOf(b Band) bands.State {
	if b.State == bands.Opened && h.Fate != nil && h.Fate.Fate.wears() {
		return bands.OnBird
	}
	return b.State
}

// Current reports whether the band is the one being worked on: planned,
// applied, or found and worked on.
func (b Band) Current() bool {
	switch b.State {
	case bands.Opened:
		return true
	case bands.OnBird:
		return !b.Found || b.Then == ThenWorked
	default:
		return false
	}
}

// Confirmation is what has been said of one closing. ReadBack is the last
// read-back of the number; empty when there is none. Settled: after it, the
// number was settled against another record, for a reason that outweighs it.
type Confirmation struct {
	Statements []string
	ReadBack   string
	Settled    bool
	By         []string // who said any of it, each once
	Supervised string   // who looked at the closing after a trainee; empty: nobody
}

// Handling is one bird in the hand, from capture to leaving the hand, as its
// facts tell it so far.
type Handling struct {
	ID           string
	Shift        string
	Seq          int // of the last fact
	Bird         Bird
	Bander       string
	Opened       time.Time
	Left         time.Time // zero while the bird is in the hand
	leftBy       int       // the fact that says so
	Readings     []Reading
	Estimate     *LegEstimated
	Choice       *SizeChosen
	Bands        []Band
	Closings     []ClosingLooked
	Confirmation Confirmation // of the last closing
	Fate         *FateTold
	Incidents    []IncidentTold
	Measures     []MeasureTaken     // those that stand, in their order
	Whence       *CircumstancesTold // nil: not told
	Resolved     string             // the reason; empty while it is open
	Complete     bool               // the mark; it does not count while Disputed

	// People are those of its shift. The state and the store set them.
	People People
	// ClaimedElsewhere: a handling that is not in the state claims one of
	// these numbers too. The store sets it at loading.
	ClaimedElsewhere bool
	contested        bool // as ClaimedElsewhere, by a handling in the state
}

// InHand reports whether the bird is still held.
func (h Handling) InHand() bool { return h.Left.IsZero() }

// Disputed reports whether a band number of this handling stands against
// another record, the stock, or the size that was chosen. A disputed handling is not complete, whatever its mark.
func (h Handling) Disputed() bool {
	_, own := h.DisputedBand()
	return own || h.ClaimedElsewhere || h.contested
}

// DisputedBand returns the band whose number stands against the stock or the
// size that was chosen, on or off the leg; false where there is none, though
// another record may claim a number of this one.
func (h Handling) DisputedBand() (Band, bool) {
	i := slices.IndexFunc(h.Bands, func(b Band) bool {
		if b.Found {
			return b.OnLeg() && b.Conflict == ConflictDestroyed // it can't be where it is
		}
		gone := b.Conflict == ConflictDestroyed && (b.Other == "" || b.Other == h.ID)
		wrong, _, _ := unlike(h.Choice, b.StockSize, b.StockMetal)
		return b.live() && (gone || b.Conflict == ConflictUnknown || (wrong != "" && b.State != bands.Destroyed))
	})
	if i < 0 {
		return Band{}, false
	}
	return h.Bands[i], true
}

// Void reports whether nothing is told of the bird but its opening and, it may be,
// its name: it may have been begun by mistake.
func (h Handling) Void() bool {
	return h.Bird.Leg == LegUnsaid && h.Fate == nil && h.Choice == nil &&
		len(h.Readings)+len(h.Bands)+len(h.Closings)+len(h.Incidents)+len(h.Measures) == 0
}

// Mistaken reports whether it was resolved that there was no such bird.
func (h Handling) Mistaken() bool { return h.Void() && h.Resolved != "" }

// Done reports whether the record is marked complete and undisputed.
func (h Handling) Done() bool { return h.Complete && !h.Disputed() }

// settled reports whether nothing more is expected of the handling.
func (h Handling) settled() bool { return h.Done() || (h.Resolved != "" && !h.Disputed()) }

// CurrentBand returns the band being worked on.
func (h Handling) CurrentBand() (Band, bool) {
	for _, b := range slices.Backward(h.Bands) {
		if b.Current() {
			return b, true
		}
	}
	return Band{}, false
}

// Tried counts the bands that were closed on the bird in this handling and
// taken off again. A band that was spoiled before it was closed did not hurt it.
func (h Handling) Tried() int {
	n := 0
	for _, b := range h.Bands {
		if !b.Found && b.Closed && b.State == bands.Destroyed {
			n++
		}
	}
	return n
}

// FoundOnLeg returns a found band that was left as it is.
func (h Handling) FoundOnLeg() (Band, bool) {
	for _, b := range slices.Backward(h.Bands) {
		if b.Found && b.OnLeg() && b.Then == ThenLeft {
			return b, true
		}
	}
	return Band{}, false
}

// LastClosing returns the last closing of the band being worked on.
func (h Handling) LastClosing() (ClosingLooked, bool) {
	band, ok := h.CurrentBand()
	if !ok {
		return ClosingLooked{}, false
	}
	for _, c := range slices.Backward(h.Closings) {
		if c.Band == band.ID {
			return c, true
		}
	}
	return ClosingLooked{}, false
}

// Feathers returns what the readings that count were taken over: that of the
// last one.
func (h Handling) Feathers() Feathers {
	for _, r := range slices.Backward(h.Readings) {
		if r.SetAside == "" && r.Axis == AxisGreatest {
			return r.Feathers
		}
	}
	return FeathersNone
}

// Counted returns the readings of the greatest axis that are not set aside,
// and their sequences, in order. Readings over feathers, under them and of the
// bare tarsus never count together: those of the last one's kind do.
func (h Handling) Counted() (widths []fit.Width, seqs []int) {
	feathers := h.Feathers()
	for _, r := range h.Readings {
		if r.SetAside == "" && r.Axis == AxisGreatest && r.Feathers == feathers {
			widths = append(widths, fit.Width{Value: r.Value, Resolution: r.Resolution})
			seqs = append(seqs, r.Seq)
		}
	}
	return widths, seqs
}

// Along returns the readings of an axis other than the greatest that are not
// set aside, in order; of the cross width, those taken as the leg width was,
// over feathers or not.
func (h Handling) Along(axis Axis) []fit.Width {
	feathers := h.Feathers()
	var widths []fit.Width
	for _, r := range h.Readings {
		if r.SetAside == "" && r.Axis == axis && (axis != AxisCross || r.Feathers == feathers) {
			widths = append(widths, fit.Width{Value: r.Value, Resolution: r.Resolution})
		}
	}
	return widths
}

// measured returns when the last reading that counts was taken.
func (h Handling) measured() time.Time {
	at := h.Opened
	for _, r := range h.Readings {
		if r.SetAside == "" && r.Axis == AxisGreatest {
			at = r.At
		}
	}
	return at
}

// live reports whether the number counts as this bird's: planned for it, worn
// by it because of this handling, or destroyed in it. A found band that the
// bird already wore is the same bird come back, not a second claim.
func (b Band) live() bool {
	if b.Number == "" {
		return false
	}
	return !b.Found && (b.State == bands.Opened || b.State == bands.OnBird || b.State == bands.Destroyed)
}

// clone returns a copy that shares no slice with h.
func (h Handling) clone() Handling {
	h.Readings = slices.Clone(h.Readings)
	h.Bands = slices.Clone(h.Bands)
	h.Closings = slices.Clone(h.Closings)
	h.Incidents = slices.Clone(h.Incidents)
	h.Measures = slices.Clone(h.Measures)
	h.Confirmation.Statements = slices.Clone(h.Confirmation.Statements)
	h.Confirmation.By = slices.Clone(h.Confirmation.By)
	return h
}

// band returns a pointer to the band with that id within h, or nil.
func (h *Handling) band(id int) *Band {
	for i := range h.Bands {
		if h.Bands[i].ID == id {
			return &h.Bands[i]
		}
	}
	return nil
}
