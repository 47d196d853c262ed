package station

import "seamfit/internal/bench"

// Ask is a question to the person: what the bench waits for.
type Ask int

// The questions. AskStep stands for the question that the step in view asks by
// itself.
const (
	AskStep Ask = iota

	AskCautions
	AskPlace
	AskBander
	AskPermit
	AskNoBird
	AskNextBander

	AskShift
	AskWatch
	AskPoint
	AskPerson
	AskRole
	AskInstrument

	AskSheetDate
	AskTypist
	AskSheetShift
	AskCaught
	AskLeftAt

	AskSpecies
	AskAge
	AskOtherAge
	AskSex
	AskSide
	AskBirdAgain
	AskNest
	AskBrood
	AskCaptured
	AskReturned

	AskWidth
	AskTypedWidth
	AskWhichReading
	AskAside
	AskSlot
	AskWhichMeasure
	AskMeasure
	AskMeasureReason

	AskSize
	AskWarnings
	AskMetal
	AskClosure
	AskSizeReason
	AskTightAgain

	AskNumber
	AskOnLeg
	AskNumberReason
	AskInscription
	AskFoundLeg
	AskCondition
	AskScheme
	AskThen

	AskNoBand
	AskWork
	AskLook
	AskStatedBefore
	AskStatements
	AskReadBack
	AskConfirmed
	AskSupervisor
	AskSupervised
	AskRemoval
	AskSpotOuter
	AskSpotWidth
	AskSpotJudged

	AskFate
	AskFateReason
	AskComplete
	AskResolve
	AskDone
	AskWhy

	AskIncident
	AskIncidentNote

	AskStillInHand
	AskWasBefore
)

// text reports whether the answer is typed as text; to all other questions a
// single key answers.
func (a Ask) text() bool {
	switch a {
	case AskPlace, AskBander, AskPermit, AskNextBander, AskSheetDate, AskTypist, AskCaught, AskLeftAt, AskWatch, AskPoint, AskPerson, AskInstrument, AskSpecies, AskOtherAge, AskTypedWidth, AskAside, AskSlot,
		AskSizeReason, AskNumber, AskNumberReason, AskInscription, AskCondition, AskScheme, AskReadBack, AskRemoval, AskSpotOuter, AskSpotWidth,
		AskFateReason, AskResolve, AskIncidentNote, AskWhy, AskNest, AskBrood, AskCaptured, AskReturned, AskMeasure, AskMeasureReason,
		AskSupervisor:
		return true
	default:
		return false
	}
}

// reason reports whether the answer is a reason that is stored.
func (a Ask) reason() bool {
	switch a {
	case AskAside, AskSizeReason, AskNumberReason, AskRemoval, AskFateReason, AskResolve, AskWhy, AskMeasureReason:
		return true
	default:
		return false
	}
}

// list reports whether the question has rows to move in.
func (a Ask) list() bool { return a == AskSpecies || a == AskSize }

// ask returns the question that stands.
func (s State) ask() Ask {
	if s.Front.Cautions {
		return AskCautions
	}
	if s.Bench.Shift == nil {
		return s.Front.Stage
	}
	switch s.Front.Stage {
	case AskNextBander, AskSheetDate, AskTypist, AskSheetShift, AskCaught, AskLeftAt,
		AskShift, AskWatch, AskPoint, AskPerson, AskRole, AskInstrument:
		return s.Front.Stage
	}
	h, ok := s.bird()
	switch {
	case !ok:
		return AskNoBird
	case s.Desk.Ask != AskStep:
		return s.Desk.Ask
	case h.Done():
		return AskDone
	default:
		return s.stepAsk(h)
	}
}

// stepAsk returns the question that the step in view asks by itself.
func (s State) stepAsk(h bench.Handling) Ask {
	switch s.Desk.Step {
	case StepBird:
		return birdAsk(h, s.Desk)
	case StepLeg:
		return AskWidth
	case StepSize:
		return AskSize
	case StepNumber:
		return AskNumber
	case StepSeam:
		return s.seamAsk(h)
	default:
		return fateAsk(h)
	}
}
