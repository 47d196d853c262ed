package station

import (
	"slices"

	"seamfit/internal/bench"
)

// Step is one of the six steps of a handling.
type Step int

// The steps, in the order in which they are usually done.
const (
	StepBird Step = iota
	StepLeg
	StepSize
	StepNumber
	StepSeam
	StepFate
)

// Steps lists the steps in their order.
func Steps() []Step {
	return []Step{StepBird, StepLeg, StepSize, StepNumber, StepSeam, StepFate}
}

// String returns the step's name as the screen shows it.
func (s Step) String() string {
	return [...]string{"bird", "leg", "size", "number", "seam", "fate"}[s]
}

// Progress is how far a step has come.
type Progress int

// How far a step has come. Trouble is a step that needs mending: readings that
// disagree, a look that found a defect, a number that is disputed.
const (
	Empty Progress = iota
	Begun
	Done
	Trouble
)

// progressOf tells how far a step of h has come.
func progressOf(s bench.State, h bench.Handling, step Step) Progress {
	switch step {
	case StepBird:
		return birdProgress(h)
	case StepLeg:
		return legProgress(s, h)
	case StepSize:
		if h.Choice != nil && h.Choice.WantsReason() {
			return Trouble
		}
		return doneIf(h.Choice != nil)
	case StepNumber:
		return numberProgress(h)
	case StepSeam:
		return seamProgress(s, h)
	default:
		return fateProgress(h)
	}
}

func doneIf(done bool) Progress {
	if done {
		return Done
	}
	return Empty
}

func birdProgress(h bench.Handling) Progress {
	switch {
	case h.Bird.Species != "" && h.Bird.Leg != bench.LegUnsaid:
		return Done
	case h.Bird != bench.Bird{Site: h.Bird.Site}:
		return Begun
	default:
		return Empty
	}
}

func legProgress(s bench.State, h bench.Handling) Progress {
	widths, _ := h.Counted()
	if len(widths) == 0 {
		return doneIf(h.Choice != nil && h.Choice.Method.WithoutReadings())
	}
	if result, err := s.Fit(h); err != nil || !result.Agreement.OK {
		return Trouble
	}
	if len(widths) < s.Setup.Readings {
		return Begun
	}
	return Done
}

func numberProgress(h bench.Handling) Progress {
	if h.Disputed() {
		return Trouble
	}
	if band, ok := h.CurrentBand(); ok {
		return doneIf(band.Number != "")
	}
	_, found := h.FoundOnLeg()
	return doneIf(found)
}

func seamProgress(s bench.State, h bench.Handling) Progress {
	if _, current := h.CurrentBand(); !current {
		_, found := h.FoundOnLeg()
		return doneIf(found)
	}
	closing, ok := h.LastClosing()
	switch {
	case !ok:
		return Empty
	case h.Confirmed(s.Setup.Book):
		return Done
	case !closing.Flush() || hasCode(bench.Blockers(h, s.Setup.Book), bench.ReadBackMismatch):
		return Trouble
	default:
		return Begun
	}
}

func fateProgress(h bench.Handling) Progress {
	switch {
	case h.Done():
		return Done
	case h.Complete:
		return Trouble
	case h.Fate != nil || !h.InHand():
		return Begun
	default:
		return Empty
	}
}

// nextStep returns the first step from the given one on that is not done, in
// order and then from the beginning; the fate when all are.
func nextStep(s bench.State, h bench.Handling, from Step) Step {
	order := Steps()
	for _, step := range append(slices.Clone(order[from:]), order[:from]...) {
		if progressOf(s, h, step) != Done {
			return step
		}
	}
	return StepFate
}

func hasCode(blockers []bench.Blocker, codes ...bench.Code) bool {
	return slices.ContainsFunc(blockers, func(b bench.Blocker) bool { return slices.Contains(codes, b.Code) })
}

// numberHidden reports whether the number of the band must not be shown: from
// the first closing on until it has been read back off the band, so that
// nobody copies the screen instead of reading the metal.
func numberHidden(s bench.State, h bench.Handling) bool {
	band, ok := h.CurrentBand()
	if !ok || !band.Closed || h.Resolved != "" {
		return false
	}
	// A later closing empties the read-back.
	return h.Confirmation.ReadBack == "" || hasCode(bench.Blockers(h, s.Setup.Book), bench.ReadBackMismatch)
}
