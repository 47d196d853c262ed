package bench

import (
	"slices"
	"strings"

	"seamfit/internal/bands"
)

func (a *applying) leaveHand(h Handling) []Blocker {
	if h.InHand() {
		a.record(LeftHand{Head: a.head(h.ID)})
	}
	return nil
}

func (a *applying) stillInHand(h Handling, c StillInHand) []Blocker {
	why := strings.TrimSpace(c.Why)
	switch {
	case h.InHand():
		return nil
	case h.Fate != nil:
		return refuse(FateContradicts, "Its fate is told, and by that it is gone: tell the fate anew if that is wrong.")
	case why == "":
		return refuse(ReasonMissing, "Say why it is still in the hand: what was pressed by mistake.")
	}
	head := a.head(h.ID)
	head.Replaces, head.Why = h.leftBy, why
	a.record(LeftHand{Head: head})
	return nil
}

func (a *applying) tellFate(h Handling, c TellFate) []Blocker {
	reason := strings.TrimSpace(c.Reason)
	if blockers := a.fateRefusals(h, c.Fate, reason); blockers != nil {
		return blockers
	}
	if h.InHand() {
		a.record(LeftHand{Head: a.head(h.ID)})
	}
	a.estimate(h)
	band, has := h.CurrentBand()
	if has && band.State == bands.Opened && !c.Fate.wears() {
		a.record(BandTold{
			Head: a.head(h.ID), Band: band.ID, Event: BandReturned, Number: band.Number,
			Leg: band.Leg, Site: band.Site, Reason: "the bird left without it",
		})
	}
	head := a.head(h.ID)
	decided := strings.TrimSpace(c.DecidedBy)
	if decided == "" {
		decided = head.By
	}
	a.record(FateTold{Head: head, Fate: c.Fate, Reason: reason, DecidedBy: decided})
	return nil
}

// fateRefusals refuses a fate that the facts of the handling deny. What
// happened is never refused: there is always a fate that tells it.
func (a *applying) fateRefusals(h Handling, fate Fate, reason string) []Blocker {
	if !slices.Contains(Fates(), fate) {
		return refuse(FateUnknown, "A bird leaves the hand banded, unbanded, unconfirmed, escaped or died, not %q.", string(fate))
	}
	band, has := h.CurrentBand()
	onLeg := has && band.OnLeg()
	switch fate {
	case FateUnbanded:
		if onLeg {
			return refuse(FateContradicts, "A band is on the leg: remove it first, or tell the bird as let go with its closure unconfirmed.")
		}
	case FateBanded:
		if closing, ok := h.LastClosing(); ok && !closing.Flush() {
			return refuse(ClosingNotFlush, "The last look found %s: mend the seam and look again, or remove the band. If the bird is gone already, tell it as closure unconfirmed.",
				findingWords(closing.Findings))
		}
	case FateUnconfirmed:
		if !has {
			return refuse(FateContradicts, "No band is taken, so no closure is unconfirmed: tell another fate, or give the band's number first.")
		}
		if reason == "" {
			return refuse(ReasonMissing, "Say why the bird was let go with its closure unconfirmed: the defect and the reason.")
		}
	case FateEscaped, FateDied: // happen at any step
	}
	return nil
}

func (a *applying) tellIncident(h Handling, c TellIncident) []Blocker {
	kind := strings.TrimSpace(c.Kind)
	if kind == "" {
		return refuse(ReasonMissing, "Say what kind of incident it was.")
	}
	a.record(IncidentTold{Head: a.head(h.ID), Kind: kind, Note: strings.TrimSpace(c.Note)})
	return nil
}

func (a *applying) resolve(h Handling, c Resolve) []Blocker {
	reason := strings.TrimSpace(c.Reason)
	if void := h.Void(); !void && (h.Fate == nil || (h.Fate.Fate != FateEscaped && h.Fate.Fate != FateUnconfirmed)) {
		return refuse(NothingToResolve, "This bird neither escaped nor left with its closure unconfirmed: nothing to resolve.")
	}
	if reason == "" {
		return refuse(ReasonMissing, "Say what resolves it: seen again, band found, or why nothing more can be done.")
	}
	if h.InHand() {
		a.record(LeftHand{Head: a.head(h.ID)})
	}
	a.record(Resolved{Head: a.head(h.ID), Reason: reason})
	return nil
}

func (a *applying) complete(h Handling) []Blocker {
	if blockers := Blockers(h, a.state.Setup.Book); len(blockers) > 0 {
		return blockers
	}
	if !h.Complete {
		a.record(Completed{Head: a.head(h.ID)})
	}
	return nil
}
