package bench

import (
	"slices"
	"strings"
)

// Settle ends a dispute: it tells the numbers of one or more records anew, in
// one transaction, for one reason. Two numbers are swapped, or the numbers of
// a run that slipped by one are moved, by naming each record with the number
// that it ought to have. A record keeps its number, freed of what stood
// against it, when it is named with the number that it has.
type Settle struct {
	When
	ID      string // of the settlement
	Records []Renumbering
	Reason  string
}

// Renumbering is one record of a settlement. Handling is as the records hold
// it, since it may be long complete. Was names the band by the number that it
// has; empty: the one being worked on. Standing is the new number's.
type Renumbering struct {
	Handling Handling
	Was      string
	Number   string
	Standing Standing
}

func (a *applying) settle(c Settle) []Blocker {
	reason := strings.TrimSpace(c.Reason)
	if reason == "" {
		return refuse(ReasonMissing, "Records are settled only with the reason: say how it is known which band is on which bird.")
	}
	if len(c.Records) == 0 || c.ID == "" {
		return refuse(NothingToSettle, "Name the records to be settled, each with the number that it ought to have.")
	}
	var ids []string
	for _, r := range c.Records {
		if slices.Contains(ids, r.Handling.ID) {
			return refuse(NothingToSettle, "A record is named twice: name each once, with the number that it ought to have.")
		}
		ids = append(ids, r.Handling.ID)
	}
	var after []Handling
	something := false
	for _, r := range c.Records {
		h, settles, blockers := a.renumber(r, reason, ids)
		if blockers != nil {
			return blockers
		}
		after, something = append(after, h), something || settles
	}
	if !something {
		return refuse(NothingToSettle, "Nothing stands against number %s: there is nothing to settle. A wrong number is settled by naming the true one too.", after[0].lastNumber())
	}
	if blockers := stillDisputed(after, a.state.Handlings); blockers != nil {
		return blockers
	}
	a.record(Settled{Head: a.head(""), ID: c.ID, Handlings: ids, Reason: reason})
	return nil
}

// renumber records the settled number of one band and returns its handling
// with it; settles reports whether that ends anything that stood against it.
func (a *applying) renumber(r Renumbering, reason string, together []string) (h Handling, settles bool, refused []Blocker) {
	h, open := a.state.Handling(r.Handling.ID)
	if !open {
		h = r.Handling
	}
	parsed, err := a.state.Setup.Pattern.Parse(r.Number)
	if err != nil {
		return h, false, refuse(NumberPattern, "%v", err)
	}
	band, ok := h.bandToSettle(r.Was)
	if !ok {
		return h, false, refuse(BandMissing, "The record has no band %s to settle: name a record with the number that it has.", r.Was)
	}
	if holder := r.Standing.Handling; holder != "" && !slices.Contains(together, holder) {
		return h, false, refuse(StillDisputed, "Number %s is in another record too: settle that one together with these.", parsed)
	}
	told := BandTold{
		Head: a.headOf(h), Band: band.ID, Event: BandSettled, Number: parsed.String(), Leg: band.Leg, Site: band.Site, Reason: reason,
		StockSize: r.Standing.Size, StockMetal: r.Standing.Metal,
	}
	if r.Standing.StockKept && r.Standing.State == "" && !band.Found {
		return h, false, refuse(StillDisputed, "Number %s is in no string that was received here: receive its string first, or read the band again.", parsed)
	}
	told.Replaces, told.Why = band.ID, reason
	settles = band.Number != told.Number || h.Disputed() ||
		slices.ContainsFunc(readBackBlockers(h, band), func(b Blocker) bool { return b.Code == ReadBackMismatch })
	if open {
		a.record(told)
	} else {
		a.facts = append(a.facts, told)
	}
	h = FoldHandling(h, told)
	h.ClaimedElsewhere, h.contested = false, false
	return h, settles, nil
}

// headOf is head for a handling that need not be open here.
func (a *applying) headOf(h Handling) Head {
	head := a.head(h.ID)
	head.Seq = h.Seq + 1
	return head
}

// stillDisputed refuses a settlement after which a record would be disputed.
func stillDisputed(after, open []Handling) []Blocker {
	for i, h := range after {
		if h.Disputed() {
			return refuse(StillDisputed, "Number %s would still stand against the chosen size, the metal or the stock: correct that first.", h.lastNumber())
		}
		for _, other := range after[i+1:] {
			if h.claims(other) {
				return refuse(StillDisputed, "Two of these records would have one number: name each with the number on its bird.")
			}
		}
		for _, other := range open {
			named := slices.ContainsFunc(after, func(o Handling) bool { return o.ID == other.ID })
			if !named && h.claims(other) {
				return refuse(StillDisputed, "Number %s is taken for another bird that is open: settle that one together with these.", h.lastNumber())
			}
		}
	}
	return nil
}

// bandToSettle finds the band with that number, else the one being worked on,
// else the last one.
func (h Handling) bandToSettle(was string) (Band, bool) {
	if was != "" {
		i := slices.IndexFunc(h.Bands, func(b Band) bool { return b.Number == was })
		if i < 0 {
			return Band{}, false
		}
		return h.Bands[i], true
	}
	if band, ok := h.CurrentBand(); ok {
		return band, true
	}
	if len(h.Bands) == 0 {
		return Band{}, false
	}
	return h.Bands[len(h.Bands)-1], true
}

// NumberToSettle returns the number of the band that a settlement means by
// Was; false when the record has no such band.
func (h Handling) NumberToSettle(was string) (string, bool) {
	band, ok := h.bandToSettle(was)
	return band.Number, ok
}

func (h Handling) lastNumber() string {
	number, _ := h.NumberToSettle("")
	return number
}

// foldSettled takes the end of a settlement into the state: the records have
// seen to it that none of its handlings is disputed.
func (s State) foldSettled(f Settled) State {
	s.Handlings = slices.Clone(s.Handlings)
	for i := range s.Handlings {
		if slices.Contains(f.Handlings, s.Handlings[i].ID) {
			s.Handlings[i].ClaimedElsewhere = false
		}
	}
	contest(s.Handlings)
	return s
}
