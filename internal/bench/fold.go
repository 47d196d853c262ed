package bench

import (
	"slices"
	"time"

	"seamfit/internal/bands"
	"seamfit/internal/fit"
)

// State is what the bench knows: its setup, the shift, and the handlings that
// are open. Completed handlings leave it when the next bird is opened.
type State struct {
	Setup     *Setup
	Shift     *Shift
	Handlings []Handling
	Active    string // the handling that readings and keys go to
	// LastFact is when the last fact was entered that the records held at the
	// start: a clock that stands before it runs behind.
	LastFact time.Time
	// Nests are the birds of this shift that were taken from a nest, by handling.
	Nests map[string]NestBird

	spoke     []string // who confirmed anything in this shift, as far as it was seen here
	histories map[Likeness]fit.History
	answer    *answer // of Fit, if it is worked out; see Answered
}

// Handling returns the open handling with that id.
func (s State) Handling(id string) (Handling, bool) {
	for _, h := range s.Handlings {
		if h.ID == id {
			return h, true
		}
	}
	return Handling{}, false
}

// ActiveHandling returns the handling that readings and keys go to.
func (s State) ActiveHandling() (Handling, bool) { return s.Handling(s.Active) }

// Fold takes one fact into the state. It trusts the fact: facts come from
// Apply, or from the store, which refuses what Apply would have refused.
func Fold(s State, f Fact) State {
	switch f := f.(type) {
	case ShiftOpened:
		s.Shift, s.Nests, s.spoke = &f.Shift, nil, nil
		return s
	case ShiftTold:
		return s.foldShift(f)
	case Settled:
		return s.foldSettled(f)
	}
	key := f.Key()
	s.Handlings = slices.Clone(s.Handlings)
	i := slices.IndexFunc(s.Handlings, func(h Handling) bool { return h.ID == key.Handling })
	if i < 0 {
		s.Handlings = slices.DeleteFunc(s.Handlings, Handling.settled)
		s.Handlings = append(s.Handlings, Handling{ID: key.Handling, Opened: key.At, Bander: key.By})
		i = len(s.Handlings) - 1
		s.Active = key.Handling
	}
	s.Handlings[i] = FoldHandling(s.Handlings[i], f)
	if told, ok := f.(BandTold); ok && told.Event != BandRemoved && told.Event != BandFound {
		_, here := s.Handling(told.Other)
		s.Handlings[i].ClaimedElsewhere = told.Other != "" && !here
	}
	if s.Shift != nil && s.Handlings[i].Shift == s.Shift.ID {
		s.Handlings[i].People = s.Shift.People
		s.nest(s.Handlings[i])
		if by := s.Handlings[i].Confirmation.By; len(by) > 0 {
			s.spoke = slices.Compact(slices.Sorted(slices.Values(slices.Concat(s.spoke, by))))
		}
	}
	contest(s.Handlings)
	return s
}

// foldShift takes a detail into the shift, and its people into its birds.
func (s State) foldShift(f ShiftTold) State {
	if s.Shift == nil || s.Shift.ID != f.Shift {
		return s
	}
	return s.WithShift(s.Shift.With(f))
}

// WithShift returns the state with the open shift told otherwise: its birds take
// their people from it.
func (s State) WithShift(shift Shift) State {
	s.Shift = &shift
	s.Handlings = slices.Clone(s.Handlings)
	for i := range s.Handlings {
		if s.Handlings[i].Shift == shift.ID {
			s.Handlings[i].People = shift.People
		}
	}
	return s
}

// FoldHandling takes one fact into its handling.
func FoldHandling(h Handling, f Fact) Handling {
	h = h.clone()
	h.Seq = max(h.Seq, f.Key().Seq)
	switch f := f.(type) {
	case BirdTold:
		h.Bird, h.Shift = f.Bird, f.Shift
		if f.Seq == 1 {
			h.ID, h.Opened, h.Bander = f.Handling, f.At, f.By
		}
	case ReadingTaken:
		h.Readings = append(h.Readings, Reading{ReadingTaken: f})
	case ReadingSetAside:
		for i := range h.Readings {
			if h.Readings[i].Seq == f.Reading {
				h.Readings[i].SetAside = f.Reason
			}
		}
	case LegEstimated:
		h.Estimate = &f
	case SizeChosen:
		h.Choice = &f
	case BandTold:
		h.foldBand(f)
	case ClosingLooked:
		h.foldClosing(f)
	case StatementMade:
		h.Confirmation.Statements = append(h.Confirmation.Statements, f.Statement)
		h.Confirmation.said(f.By)
	case NumberReadBack:
		h.Confirmation.ReadBack, h.Confirmation.Settled = f.Digits, false
		h.Confirmation.said(f.By)
	case Supervised:
		h.foldSupervised(f)
	case MeasureTaken:
		h.foldMeasure(f)
	case CircumstancesTold:
		h.Whence = &f
	case LeftHand:
		h.Left, h.leftBy = f.At, f.Seq
		if f.Replaces > 0 {
			h.Left = time.Time{}
		}
	case FateTold:
		h.Fate = &f
	case IncidentTold:
		h.Incidents = append(h.Incidents, f)
	case Resolved:
		h.Resolved = f.Reason
	case Completed:
		h.Complete = true
	}
	return h
}

func (h *Handling) foldBand(f BandTold) {
	b := h.band(f.Band)
	if b == nil {
		h.Bands = append(h.Bands, Band{ID: f.Band, Leg: f.Leg, Site: f.Site})
		b = &h.Bands[len(h.Bands)-1]
	}
	if b.State != bands.Destroyed { // why it came off stays
		b.Reason = f.Reason
	}
	switch f.Event {
	case BandPlanned:
		b.State = bands.Opened
		b.name(f)
	case BandRenumbered:
		b.name(f)
	case BandSettled:
		b.name(f)
		if last, ok := h.LastClosing(); ok && last.Band == f.Band {
			h.Confirmation.Settled = h.Confirmation.ReadBack != ""
		}
	case BandReturned:
		h.Bands = slices.DeleteFunc(h.Bands, func(b Band) bool { return b.ID == f.Band })
	case BandFound:
		b.name(f)
		b.Found, b.Closed, b.State = true, true, bands.OnBird
		b.Then, b.Condition, b.Scheme, b.Closure = f.Then, f.Condition, f.Scheme, f.Closure
	case BandRemoved:
		b.State = bands.Destroyed
		h.Confirmation = Confirmation{}
	}
}

func (b *Band) name(f BandTold) {
	b.Number, b.Conflict, b.Other = f.Number, f.Conflict, f.Other
	b.StockSize, b.StockMetal = f.StockSize, f.StockMetal
}

// foldClosing records the closing and voids what was said of an earlier one.
func (h *Handling) foldClosing(f ClosingLooked) {
	h.Closings = append(h.Closings, f)
	h.Confirmation = Confirmation{}
	if b := h.band(f.Band); b != nil {
		b.State, b.Closed = bands.OnBird, true
	}
}

// contest marks the handlings among these that claim one number between
// them.
func contest(handlings []Handling) {
	for i := range handlings {
		handlings[i].contested = false
		for j := range handlings {
			if i != j && handlings[i].claims(handlings[j]) {
				handlings[i].contested = true
			}
		}
	}
}

func (h Handling) claims(other Handling) bool {
	for _, b := range h.Bands {
		if !b.live() {
			continue
		}
		if slices.ContainsFunc(other.Bands, func(o Band) bool { return o.live() && o.Number == b.Number }) {
			return true
		}
	}
	return false
}
