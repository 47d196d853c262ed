package bench

import (
	"fmt"
	"slices"
	"strings"

	"seamfit/internal/bands"
	"seamfit/internal/catalogue"
)

// Blocker is one reason why a command is refused or a record can't be marked
// complete, with its mend.
type Blocker struct {
	Code Code   `json:"code"`
	Mend string `json:"mend"`
}

// Code names a blocker for programs.
type Code string

// The codes.
const (
	NotPrintable       Code = "not_printable"
	NoShift            Code = "no_shift"
	NoBird             Code = "no_bird"
	NoSuchHandling     Code = "no_such_handling"
	NameMissing        Code = "name_missing"
	RoleUnknown        Code = "role_unknown"
	RoleTaken          Code = "role_taken"
	PointUnclear       Code = "point_unclear"
	WatchUnclear       Code = "watch_unclear"
	HandlingExists     Code = "handling_exists"
	AlreadyComplete    Code = "already_complete"
	ReasonMissing      Code = "reason_missing"
	ReasonShort        Code = "reason_short"
	SpeciesMissing     Code = "species_missing"
	SideMissing        Code = "side_missing"
	BadSide            Code = "bad_side"
	LeftTheHand        Code = "left_the_hand"
	WidthAbsurd        Code = "width_absurd"
	NoSuchReading      Code = "no_such_reading"
	LegMissing         Code = "leg_missing"
	NotCalibrated      Code = "not_calibrated"
	CatalogueUnknown   Code = "catalogue_unknown"
	SizeUnknown        Code = "size_unknown"
	SizeMissing        Code = "size_missing"
	SizeNeedsReason    Code = "size_needs_reason"
	MethodUnknown      Code = "method_unknown"
	SlotMissing        Code = "slot_missing"
	FeathersUnknown    Code = "feathers_unknown"
	AxisUnknown        Code = "axis_unknown"
	MetalUnknown       Code = "metal_unknown"
	ClosureUnknown     Code = "closure_unknown"
	NumberPattern      Code = "number_pattern"
	NumberUsed         Code = "number_used"
	NumberDestroyed    Code = "number_destroyed"
	NumberNotIssued    Code = "number_not_issued"
	NumberOutOfOrder   Code = "number_out_of_order"
	NumberWrongSize    Code = "number_wrong_size"
	NumberWrongMetal   Code = "number_wrong_metal"
	NumberUnknown      Code = "number_unknown"
	NumberInHand       Code = "number_in_hand"
	NumberMissing      Code = "number_missing"
	RemoveFirst        Code = "remove_first"
	BandsTried         Code = "bands_tried"
	TwoOnOneLeg        Code = "two_on_one_leg"
	BandMissing        Code = "band_missing"
	FindingUnknown     Code = "finding_unknown"
	ClosingMissing     Code = "closing_missing"
	ClosingNotFlush    Code = "closing_not_flush"
	StatementUnknown   Code = "statement_unknown"
	StatementMissing   Code = "statement_missing"
	ReadBackMissing    Code = "read_back_missing"
	ReadBackShort      Code = "read_back_short"
	ReadBackMismatch   Code = "read_back_mismatch"
	SupervisorMissing  Code = "supervisor_missing"
	NotSupervisor      Code = "not_supervisor"
	MeasureUnknown     Code = "measure_unknown"
	MeasureUnclear     Code = "measure_unclear"
	MeasureAbsurd      Code = "measure_absurd"
	CaptureUnclear     Code = "capture_unclear"
	FateUnknown        Code = "fate_unknown"
	FateMissing        Code = "fate_missing"
	FateContradicts    Code = "fate_contradicts"
	ClosureUnconfirmed Code = "closure_unconfirmed"
	Escaped            Code = "escaped"
	NumberDisputed     Code = "number_disputed"
	NothingToResolve   Code = "nothing_to_resolve"
	NothingToSettle    Code = "nothing_to_settle"
	StillDisputed      Code = "still_disputed"
	ThenUnknown        Code = "then_unknown"
)

func refuse(code Code, format string, args ...any) []Blocker {
	return []Blocker{{Code: code, Mend: fmt.Sprintf(format, args...)}}
}

// Blockers returns what keeps the record of h from being marked complete, in
// the order of the steps; nil when nothing does. The database holds the part
// of this rule that concerns the seam by trigger as well.
func Blockers(h Handling, book *catalogue.Book) []Blocker {
	var all []Blocker
	add := func(b []Blocker) { all = append(all, b...) }
	if h.Bird.Species == "" {
		mistake := ""
		if h.Void() {
			mistake = ", or resolve it as a mistake"
		}
		add(refuse(SpeciesMissing, "No species yet: say which bird this is%s.", mistake))
	}
	if band, ok := h.CurrentBand(); ok {
		add(bandBlockers(h, band, book))
		add(seamBlockers(h, band, book))
	}
	add(fateBlockers(h))
	if h.Disputed() {
		which := "The number"
		if b, ok := h.DisputedBand(); ok {
			which = "Number " + b.Number
		}
		add(refuse(NumberDisputed, "%s stands against another record, the stock, or the chosen size: read the band again and correct whichever is wrong, or settle the records together.", which))
	}
	return all
}

func bandBlockers(h Handling, band Band, book *catalogue.Book) []Blocker {
	var all []Blocker
	if h.Bird.Leg == LegUnsaid && band.Leg == LegUnsaid {
		all = append(all, refuse(SideMissing, "Left or right leg is not said: every band carries its leg.")...)
	}
	if band.Found {
		return all
	}
	if widths, _ := h.Counted(); len(widths) == 0 && (h.Choice == nil || !h.Choice.Method.WithoutReadings()) {
		all = append(all, refuse(LegMissing, "The leg is not measured: take readings, or choose the size as not measured, with the reason.")...)
	}
	switch c := h.Choice; {
	case c == nil:
		all = append(all, refuse(SizeMissing, "No size chosen: choose the size and metal of the band.")...)
	case c.WantsReason():
		all = append(all, refuse(SizeNeedsReason, "By the leg as it is measured now, size %s is %s: choose it again with the reason, or another; a band that is on comes off first.", c.Size, c.Verdict)...)
	case c.Reason == "":
		// The species may have been told otherwise since.
		sp, _ := book.SpeciesNamed(h.Bird.Species)
		if why := forbidden(sp, h.Bird.Site, c.Closure); len(why) > 0 {
			all = append(all, refuse(SizeNeedsReason, "The band that was chosen is not for this bird (%s): choose again, or give the reason.", strings.Join(why, "; "))...)
		}
	}
	return all
}

// seamBlockers holds the rule that Seamfit exists for: the last closing of
// the band on the leg is flush, stated so in every point that its closure
// kind declares, and its number read back off it.
func seamBlockers(h Handling, band Band, book *catalogue.Book) []Blocker {
	closing, ok := h.LastClosing()
	if !ok {
		if h.outOfReach() {
			return refuse(ClosingMissing, "No look at the closed band is told, and the bird is gone: tell the look if there was one; else %s.", h.goneMend())
		}
		return refuse(ClosingMissing, "The band is not closed yet: close it, then look all round the seam.")
	}
	if !closing.Flush() {
		if h.outOfReach() {
			return refuse(ClosingNotFlush, "The last look found %s, and the bird is gone: %s.", findingWords(closing.Findings), h.goneMend())
		}
		return refuse(ClosingNotFlush, "The last look found %s: mend the seam and look again, or remove the band.", findingWords(closing.Findings))
	}
	var all []Blocker
	kind, ok := h.closureKind(band, book)
	if !ok {
		return refuse(SizeMissing, "No size chosen, so the closure's statements are not known: choose the size and metal.")
	}
	for _, st := range kind.Statements {
		if !slices.Contains(h.Confirmation.Statements, st.ID) {
			all = append(all, refuse(StatementMissing, "Not stated of the last closing: %s.", st.Text)...)
		}
	}
	all = append(all, readBackBlockers(h, band)...)
	return append(all, h.supervisorBlockers()...)
}

// outOfReach reports whether no hand can mend the seam any more: the bird left
// alive.
func (h Handling) outOfReach() bool {
	return !h.InHand() && (h.Fate == nil || h.Fate.Fate != FateDied)
}

// goneMend is what is left to do for the seam of a bird out of reach.
func (h Handling) goneMend() string {
	if h.Resolved != "" {
		return "its closure stays unconfirmed"
	}
	if h.Fate != nil && (h.Fate.Fate == FateUnconfirmed || h.Fate.Fate == FateEscaped) {
		return "its closure stays unconfirmed; resolve it with a reason"
	}
	return "tell its fate as closure unconfirmed, with the reason"
}

func readBackBlockers(h Handling, band Band) []Blocker {
	back := h.Confirmation.ReadBack
	switch {
	case band.Number == "":
		return refuse(NumberMissing, "No number: scan or type the number on the band.")
	case back == "":
		return refuse(ReadBackMissing, "Read the number off the closed band: key its last three digits, or all of it.")
	case h.Confirmation.Settled:
		return nil // which record the digits were read for has been settled since
	case !bands.Inscription(band.Number).EndsWith(back):
		return refuse(ReadBackMismatch, "The number read back is not the number in the record: read the band again, then correct whichever is wrong.")
	default:
		return nil
	}
}

func fateBlockers(h Handling) []Blocker {
	if h.Fate == nil {
		return refuse(FateMissing, "How the bird left the hand is not told yet.")
	}
	_, current := h.CurrentBand()
	_, found := h.FoundOnLeg()
	switch h.Fate.Fate {
	case FateUnconfirmed:
		if h.Resolved != "" {
			return refuse(ClosureUnconfirmed, "The bird was let go with its closure unconfirmed, and that is resolved: the record stays without the mark of a complete one.")
		}
		return refuse(ClosureUnconfirmed, "The bird was let go with its closure unconfirmed: this stays an open matter until the bird is seen again or a reason resolves it.")
	case FateEscaped:
		if h.Resolved == "" {
			return refuse(Escaped, "The bird escaped: this stays an open matter until it is resolved, with the reason.")
		}
	case FateUnbanded:
		if current {
			return refuse(FateContradicts, "The record says unbanded, and a band on the leg: remove the band, or tell the fate anew.")
		}
	case FateBanded:
		if !current && !found {
			return refuse(BandMissing, "The record says banded, and no band: give its number, or tell the fate anew.")
		}
	case FateDied: // with or without a band
	}
	return nil
}

// closureKind returns the closure kind of the band: a found band's own (a
// butt-end band unless told otherwise), else the chosen size's.
func (h Handling) closureKind(band Band, book *catalogue.Book) (catalogue.Closure, bool) {
	switch {
	case band.Found && band.Closure == "":
		return book.Closure(buttEnd)
	case band.Found:
		return book.Closure(band.Closure)
	case h.Choice == nil:
		return catalogue.Closure{}, false
	default:
		return book.Closure(h.Choice.Closure)
	}
}

// Confirmed reports whether the band being worked on has a flush last closing
// with every statement made and its number read back.
func (h Handling) Confirmed(book *catalogue.Book) bool {
	band, ok := h.CurrentBand()
	return ok && len(seamBlockers(h, band, book)) == 0
}

// findingWords writes findings as they are said: "gap, out of round".
func findingWords(ids []string) string {
	return strings.ReplaceAll(strings.Join(ids, ", "), "_", " ")
}

// buttEnd is the closure kind of a found band for which none is told.
const buttEnd = "butt-end"
