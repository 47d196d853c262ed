package bench

import (
	"slices"
	"strings"

	"seamfit/internal/bands"
)

// Conflict is how a number stands against the records.
type Conflict string

// The conflicts.
const (
	NoConflict        Conflict = ""
	ConflictUsed      Conflict = "used"      // another bird's record has it on the leg
	ConflictDestroyed Conflict = "destroyed" // recorded as destroyed, lost, rejected or returned
	ConflictInHand    Conflict = "in hand"   // taken for another bird that is open
	ConflictUnknown   Conflict = "unknown"   // the bench keeps stock, and this is not of it
)

func (a *applying) giveNumber(h Handling, c GiveNumber) []Blocker {
	parsed, err := a.state.Setup.Pattern.Parse(c.Number)
	if err != nil {
		return refuse(NumberPattern, "%v", err)
	}
	number, reason := parsed.String(), strings.TrimSpace(c.Reason)
	current, has := h.CurrentBand()
	if has && current.Number == number {
		return nil
	}
	conflict, other := a.conflict(h, number, c.Standing)
	told := BandTold{
		Number: number, Leg: h.Bird.Leg, Site: h.Bird.Site, Conflict: conflict, Other: other, Reason: reason,
		StockSize: c.Standing.Size, StockMetal: c.Standing.Metal,
	}
	if has && current.Closed {
		if reason == "" {
			return refuse(RemoveFirst, "A band is on the leg: remove it first; or, if the band on the leg has another number than was told, give the reason.")
		}
		told.Event, told.Band, told.Leg, told.Site = BandRenumbered, current.ID, current.Leg, current.Site
		told.Head = a.head(h.ID)
		told.Replaces, told.Why = current.ID, reason
		a.record(told)
		return nil
	}
	if reason == "" {
		if blockers := a.triedEnough(h); blockers != nil {
			return blockers
		}
		if blockers := planBlockers(h, number, conflict, c.Standing); blockers != nil {
			return blockers
		}
	}
	told.Skipped = a.skipped(h, parsed, c.Standing)
	if has {
		a.record(BandTold{
			Head: a.head(h.ID), Band: current.ID, Event: BandReturned, Number: current.Number,
			Leg: current.Leg, Site: current.Site, Reason: "another number was taken",
		})
	}
	told.Event, told.Head = BandPlanned, a.head(h.ID)
	told.Band = told.Seq
	a.record(told)
	return nil
}

// triedEnough refuses another band for a bird on which as many as the bench
// allows were closed and taken off again.
func (a *applying) triedEnough(h Handling) []Blocker {
	limit := a.state.Setup.BandsLimit
	if limit == 0 || h.Tried() < limit {
		return nil
	}
	return refuse(BandsTried, "%d bands were put on this bird and taken off, the bench's limit: let the bird go unbanded. If another is on its leg already, give the reason.", h.Tried())
}

// skipped returns the number that is passed over when this one is taken; empty
// when none is. One that comes earlier passes over nothing.
func (a *applying) skipped(h Handling, number bands.Number, known Standing) string {
	if blockers := orderBlockers(h, number.String(), known); len(blockers) == 0 || blockers[0].Code != NumberOutOfOrder {
		return ""
	}
	next, err := a.state.Setup.Pattern.Parse(known.Next)
	if err != nil || next.Compare(number) > 0 {
		return ""
	}
	return known.Next
}

// planBlockers says why a number can't be planned for this bird. As a fact,
// with its reason, each of these is recorded instead.
func planBlockers(h Handling, number string, conflict Conflict, known Standing) []Blocker {
	const (
		fact = " If this band is on the leg already, give the reason: the record is then disputed until that is settled."
		both = " If this band is on the leg already, give the reason: both records are then disputed until they are settled."
	)
	switch conflict {
	case ConflictUsed:
		return refuse(NumberUsed, "Number %s is on another bird: read the band again and take the next one."+both, number)
	case ConflictDestroyed:
		return refuse(NumberDestroyed, "Number %s is recorded as %s: take another band."+fact, number, goneWords(known.State))
	case ConflictInHand:
		return refuse(NumberInHand, "Number %s is taken for another bird that is open: read the band again."+both, number)
	case ConflictUnknown:
		return refuse(NumberUnknown, "Number %s is in no string that was received here%s: read the band again."+fact, number, meant(number, known.Meant))
	case NoConflict:
	}
	if code, is, chosen := unlike(h.Choice, known.Size, known.Metal); code != "" {
		return refuse(code, "Number %s is %s by the stock, and %s is chosen: read the number again, take another band, or choose anew."+fact, number, is, chosen)
	}
	if blockers := orderBlockers(h, number, known); blockers != nil {
		return blockers
	}
	if found, ok := h.FoundOnLeg(); ok && found.Leg == h.Bird.Leg && found.Site == h.Bird.Site {
		return refuse(TwoOnOneLeg, "The bird wears %s on this leg: never put two metal bands on one leg; use the other leg, or replace the old band.", found.Number)
	}
	if h.Fate != nil && h.Fate.Fate == FateUnbanded {
		return refuse(FateContradicts, "The bird is told as unbanded: tell its fate anew before giving it a number.")
	}
	return nil
}

// goneWords says in which way a number is gone.
func goneWords(state bands.State) string {
	switch state {
	case bands.Lost:
		return "lost, and a band that is lost and found again is not used"
	case bands.Rejected, bands.Returned:
		return string(state)
	default:
		return "destroyed"
	}
}

// meant points out the number that a slip may have been meant for.
func meant(number, other string) string {
	if other == "" {
		return ""
	}
	return " (is it " + other + "? " + string(bands.SlipBetween(number, other)) + ")"
}

// conflict compares a number with the birds that are open here and with what
// the store knows of it.
func (a *applying) conflict(h Handling, number string, known Standing) (Conflict, string) {
	for _, other := range a.state.Handlings {
		for _, b := range other.Bands {
			if b.Number != number || !b.live() {
				continue
			}
			switch {
			case b.State == bands.Destroyed:
				return ConflictDestroyed, other.ID
			case other.ID == h.ID:
				continue
			case b.State == bands.OnBird:
				return ConflictUsed, other.ID
			default:
				return ConflictInHand, other.ID
			}
		}
	}
	if known.Handling == h.ID && h.ID != "" {
		known.Handling = ""
		if known.State != bands.Destroyed {
			return NoConflict, ""
		}
	}
	switch known.State {
	case bands.OnBird:
		return ConflictUsed, known.Handling
	case bands.Destroyed, bands.Lost, bands.Rejected, bands.Returned:
		return ConflictDestroyed, known.Handling
	case bands.InStock, bands.Opened:
		if known.Handling != "" {
			return ConflictInHand, known.Handling
		}
		return NoConflict, ""
	default:
		if known.StockKept {
			return ConflictUnknown, ""
		}
		return NoConflict, ""
	}
}

func (a *applying) tellFound(h Handling, c TellFound) []Blocker {
	inscribed, err := a.state.Setup.Pattern.Inscribed(c.Number)
	own := err == nil
	if !own && strings.TrimSpace(c.Scheme) == "" {
		return refuse(NumberPattern, "%v; or, if another scheme issued it, name the scheme.", err)
	}
	if !own {
		if inscribed, err = a.state.Setup.Pattern.Foreign(c.Number); err != nil {
			return refuse(NumberPattern, "%v", err)
		}
	}
	number := string(inscribed)
	if !slices.Contains([]Then{ThenLeft, ThenWorked, ThenReplaced}, c.Then) {
		return refuse(ThenUnknown, "A found band is left, worked or replaced, not %q.", string(c.Then))
	}
	if c.Closure != "" {
		if _, ok := a.state.Setup.Book.Closure(c.Closure); !ok {
			return refuse(ClosureUnknown, "No closure kind %q is known.", c.Closure)
		}
	}
	if _, busy := h.CurrentBand(); busy && c.Then == ThenWorked {
		return refuse(RemoveFirst, "Another band is being worked on: finish or remove it first.")
	}
	told := BandTold{
		Head: a.head(h.ID), Event: BandFound, Number: number, Leg: c.Leg, Site: h.Bird.Site, Condition: strings.TrimSpace(c.Condition),
		Scheme: strings.TrimSpace(c.Scheme), Closure: c.Closure, Then: c.Then,
	}
	if told.Leg == LegUnsaid {
		told.Leg = h.Bird.Leg
	}
	if own && inscribed.Complete() && c.Standing.State == bands.Destroyed {
		told.Conflict, told.Other = ConflictDestroyed, c.Standing.Handling
	}
	told.Band = told.Seq
	a.record(told)
	if c.Then == ThenReplaced {
		a.record(BandTold{
			Head: a.head(h.ID), Band: told.Seq, Event: BandRemoved, Number: number, Leg: told.Leg, Site: told.Site, Reason: "replaced",
		})
	}
	return nil
}

func (a *applying) remove(h Handling, c Remove) []Blocker {
	reason := strings.TrimSpace(c.Reason)
	band, ok := h.CurrentBand()
	if !ok {
		band, ok = h.FoundOnLeg()
	}
	if !ok {
		return refuse(BandMissing, "No band is on the leg or taken for this bird: nothing to remove.")
	}
	if reason == "" {
		return refuse(ReasonMissing, "A band is destroyed only with the reason: say why it came off.")
	}
	a.record(BandTold{
		Head: a.head(h.ID), Band: band.ID, Event: BandRemoved, Number: band.Number, Leg: band.Leg, Site: band.Site, Reason: reason,
	})
	return nil
}
