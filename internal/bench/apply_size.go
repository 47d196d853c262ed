package bench

import (
	"slices"
	"strings"

	"seamfit/internal/catalogue"
	"seamfit/internal/fit"
)

// chooseSize takes the choice of a band. Advice is never a refusal by itself:
// a choice against it is taken with its reason, which is stored.
func (a *applying) chooseSize(h Handling, c ChooseSize) []Blocker {
	size, ok := a.state.Catalogue().Size(c.Size)
	if !ok {
		return refuse(SizeUnknown, "The catalogue %s has no size %q: choose one of its sizes.", a.state.Catalogue().Name, c.Size)
	}
	metal, ok := a.state.Setup.Book.Metal(c.Metal)
	if !ok {
		return refuse(MetalUnknown, "No metal %q is known: say aluminium, stainless steel, incoloy, monel or titanium.", c.Metal)
	}
	closure, blockers := a.closureOf(h, size, c.Closure)
	if blockers != nil {
		return blockers
	}
	reason := strings.TrimSpace(c.Reason)
	if band, ok := h.CurrentBand(); ok && band.Closed && !band.Found && h.Choice != nil && reason == "" {
		return refuse(RemoveFirst, "A band of size %s is on the leg: remove it first, or give the reason if the record is wrong.", h.Choice.Size)
	}
	slot := strings.TrimSpace(c.Slot)
	if blockers := methodRefusals(c.Method, slot); blockers != nil {
		return blockers
	}
	method, candidate, blockers := a.weigh(h, size, c.Method, reason)
	if blockers != nil {
		return blockers
	}
	against := a.againstAdvice(h, size, metal, closure, candidate)
	if _, other := a.state.Catalogue().Size(slot); other && slot != size.Label {
		against = append(against, "the gauge's slot is that of "+slot)
	}
	if shift := a.state.Shift; shift != nil && !shift.Training {
		against = append(against, a.state.Setup.Practice.against(h.Bander, BandKind{size.Label, metal.Name})...)
	}
	if len(against) > 0 && reason == "" {
		return refuse(SizeNeedsReason, "Size %s in %s is against advice (%s): choose another, or give the reason.",
			size.Label, metal.Name, strings.Join(against, "; "))
	}
	if band, ok := h.CurrentBand(); ok && reason == "" {
		chosen := SizeChosen{Size: size.Label, Metal: metal.Name}
		if code, is, now := unlike(&chosen, band.StockSize, band.StockMetal); code != "" && !band.Found {
			return refuse(code, "Number %s, taken for this bird, is %s by the stock, not %s: take another band first, or give the reason.", band.Number, is, now)
		}
	}
	estimate := a.estimate(h)
	a.record(SizeChosen{
		Head: a.head(h.ID), Size: size.Label, Metal: metal.Name, Closure: closure, Method: method, Slot: slot, Estimate: estimate,
		Verdict: string(candidate.Verdict), Play: candidate.Play, PTight: candidate.PTight, PLoose: candidate.PLoose, Reason: reason,
	})
	return nil
}

// reweigh judges the chosen size anew when the readings that count have changed.
// Where that changes its verdict the choice is told again with the new one. What
// was given as a reason for another verdict is none for one that bars it.
func (a *applying) reweigh(handling string) {
	h, _ := a.state.Handling(handling)
	if h.Choice == nil {
		return
	}
	estimate := a.estimate(h)
	if estimate == 0 {
		return
	}
	h, _ = a.state.Handling(handling)
	result, err := a.state.Fit(h)
	if err != nil {
		return
	}
	i := slices.IndexFunc(result.Sizes, func(c fit.Candidate) bool { return c.Size == h.Choice.Size })
	if i < 0 || string(result.Sizes[i].Verdict) == h.Choice.Verdict {
		return
	}
	now, again := result.Sizes[i], *h.Choice
	again.Head, again.Estimate = a.head(h.ID), estimate
	if barring(now.Verdict) {
		again.Reason = ""
	}
	again.Verdict, again.Play, again.PTight, again.PLoose = string(now.Verdict), now.Play, now.PTight, now.PLoose
	a.record(again)
}

// ClosuresFor returns the closure kinds that a size is made with and that may
// go on the bird's species, the usual one first; all of the size's when none
// may, so that the choice can be answered with the advice against it.
func (s State) ClosuresFor(h Handling, size catalogue.Size) []string {
	sp, known := s.Setup.Book.SpeciesNamed(h.Bird.Species)
	if !known {
		return size.Closures
	}
	allowed := slices.DeleteFunc(slices.Clone(size.Closures), func(id string) bool { return !sp.ClosureAllowed(id) })
	if len(allowed) == 0 {
		return size.Closures
	}
	return allowed
}

func (a *applying) closureOf(h Handling, size catalogue.Size, told string) (string, []Blocker) {
	if told == "" {
		return a.state.ClosuresFor(h, size)[0], nil
	}
	if !slices.Contains(size.Closures, told) {
		return "", refuse(ClosureUnknown, "Size %s is not made with closure %q: it has %s.", size.Label, told, strings.Join(size.Closures, ", "))
	}
	return told, nil
}

// methodRefusals refuses a method that can't be told, and a gauge without its
// slot.
func methodRefusals(m Method, slot string) []Blocker {
	switch {
	case m != "" && m != MethodLegGauge:
		return refuse(MethodUnknown, "A size is chosen by the readings, or by a leg gauge, not by %q: leave the method out, or say \"leg gauge\".", string(m))
	case m == MethodLegGauge && slot == "":
		return refuse(SlotMissing, "Say which slot of the gauge fits, as the gauge names it.")
	case m == "" && slot != "":
		return refuse(MethodUnknown, "A slot is a leg gauge's: say that the leg gauge is the method.")
	default:
		return nil
	}
}

// Established reports whether the settings name the bird's species as one that
// takes its listed size unmeasured, and the size is on the office's list for it:
// a list that nobody has verified is no ground to leave the leg unmeasured.
func (s State) Established(h Handling, size string) bool {
	sp, named := s.namedEstablished(h)
	return named && sp.Verified() && slices.ContainsFunc(s.Listed(h), func(r catalogue.Recommendation) bool { return r.Size == size })
}

// EstablishedInVain reports whether the settings name the bird's species so, and
// its list is not verified.
func (s State) EstablishedInVain(h Handling) bool {
	sp, named := s.namedEstablished(h)
	return named && !sp.Verified()
}

func (s State) namedEstablished(h Handling) (catalogue.Species, bool) {
	sp, known := s.Setup.Book.SpeciesNamed(h.Bird.Species)
	return sp, known && slices.ContainsFunc(s.Setup.Established, func(name string) bool {
		named, ok := s.Setup.Book.SpeciesNamed(name)
		return ok && named.Scientific == sp.Scientific
	})
}

// weigh finds what the estimate says of the size. Without a reading, the
// choice rests on the gauge or on the species' setting; else it is one not
// measured, and needs its reason. A gauge beside readings hides nothing that
// they say.
func (a *applying) weigh(h Handling, size catalogue.Size, method Method, reason string) (Method, fit.Candidate, []Blocker) {
	if widths, _ := h.Counted(); len(widths) == 0 {
		switch {
		case method == MethodLegGauge:
			return MethodLegGauge, fit.Candidate{}, nil
		case a.state.Established(h, size.Label):
			return MethodEstablished, fit.Candidate{}, nil
		case reason == "":
			return "", fit.Candidate{}, refuse(LegMissing, "The leg is not measured: take readings first, lay a leg gauge on it, or give the reason for choosing without.")
		default:
			return MethodNotMeasured, fit.Candidate{}, nil
		}
	}
	if method == "" {
		method = MethodCaliper
	}
	if setup := a.state.Setup; setup.RequireCalibration {
		switch state := setup.calibratedFor(h); state {
		case CalibrationInForce, CalibrationLate:
		default:
			return "", fit.Candidate{}, refuse(NotCalibrated,
				"This bench requires a calibration, and the caliper's was %s when the leg was measured: calibrate it, then measure again, or estimate this leg by it (seamfit calibrate reestimate).", state)
		}
	}
	result, err := a.state.Fit(h)
	if err != nil {
		return "", fit.Candidate{}, refuse(LegMissing, "The readings give no estimate (%v): measure the leg again.", err)
	}
	for _, candidate := range result.Sizes {
		if candidate.Size == size.Label {
			return method, candidate, nil
		}
	}
	return method, fit.Candidate{}, nil
}

// barring reports whether a verdict bars a choice without a reason, whatever an
// office lists.
func barring(v fit.Verdict) bool { return v == fit.Tight || v == fit.Slips || v == fit.Borderline }

// WantsReason reports whether the size, by the leg as it is measured now, is one
// that is taken only with a reason, and none is given.
func (c SizeChosen) WantsReason() bool { return barring(fit.Verdict(c.Verdict)) && c.Reason == "" }

// forbidden lists what a species takes no band by, whatever its leg is like.
func forbidden(sp catalogue.Species, site Site, closure string) (why []string) {
	if sp.NoMetalBand {
		why = append(why, "no metal leg band is for "+sp.Scientific)
	}
	if sp.AboveJointOnly && site != SiteAbove {
		why = append(why, sp.Scientific+" is banded above the joint only, and the site told is below it")
	}
	if !sp.ClosureAllowed(closure) {
		why = append(why, "a "+closure+" closure is not for "+sp.Scientific+", which takes "+strings.Join(sp.Closures, ", "))
	}
	return why
}

// againstAdvice lists what speaks against the choice, the worst first. Loose is
// advice only of a size on an office's list, whose limit is a scheme's average.
func (a *applying) againstAdvice(h Handling, size catalogue.Size, metal catalogue.Metal, closure string, c fit.Candidate) []string {
	var against []string
	sp, known := a.state.Setup.Book.SpeciesNamed(h.Bird.Species)
	listed := known && sp.Verified() && slices.ContainsFunc(a.state.Listed(h), func(r catalogue.Recommendation) bool { return r.Size == size.Label })
	if barring(c.Verdict) || c.Verdict == fit.Loose && !listed {
		against = append(against, strings.TrimSpace("it is "+string(c.Verdict)+" "+string(c.Side)))
	}
	if size.Discontinued {
		against = append(against, "it is discontinued")
	}
	if known {
		var sizes []string
		for _, r := range a.state.Listed(h) {
			sizes = append(sizes, r.Size)
		}
		if sp.Verified() && len(sizes) > 0 && !listed {
			against = append(against, "the list for "+sp.Scientific+" has "+strings.Join(sizes, ", "))
		}
		against = append(forbidden(sp, h.Bird.Site, closure), against...)
		if a.state.MetalAdvice(h, metal.Name).HardAdvised && !metal.Hard {
			against = append(against, "hard metal is advised for "+sp.Scientific)
		}
	}
	return against
}
