package station

import (
	"strings"
	"unicode"

	"seamfit/internal/bench"
)

// key takes one key. Leaving the hand comes before everything else: it works
// at every step, in every text and under every page.
func (t *turn) key(e Key) {
	entered := t.s.keys.entered
	t.s.keys.entered = false
	if cramped(t.s.Width, t.s.Height) && t.plainCode(e, entered) != CodeF8 {
		return // nobody sees what it would do
	}
	switch code := t.plainCode(e, entered); code {
	case CodeRune:
		if isPrint(e.Rune) {
			t.character(e.Rune)
		}
	case CodeControl:
		t.control(e.Rune)
	case CodeF8:
		t.flush()
		t.leftTheHand()
	case CodeEnter:
		t.enter()
		t.s.keys.entered, t.s.keys.enteredAt = true, t.at
	case CodeOther:
	default:
		if code == CodeTab && t.takeTyped() {
			return
		}
		if code == CodeTab && t.scanEnds() {
			t.enter()
			return
		}
		t.flush()
		t.command(code)
	}
}

// plainCode turns the control keys that stand for function keys into them, and
// sorts out what scanners send beside their characters: the line feed after
// an Enter is swallowed.
func (t *turn) plainCode(e Key, entered bool) Code {
	if e.Code != CodeControl {
		return e.Code
	}
	switch e.Rune {
	case 'j':
		if entered {
			return CodeOther
		}
		return CodeEnter
	case 'm':
		return CodeEnter
	case 'i':
		return CodeTab
	case 'h':
		return CodeBackspace
	case 'o':
		return CodeF8
	}
	return CodeControl
}

// control takes Ctrl with a letter. Such a key may also be part of what a
// scanner is set to send around its codes.
func (t *turn) control(letter rune) {
	char := letter - 'a' + 1
	around := t.s.Options.ScanPrefix + t.s.Options.ScanSuffix
	if strings.ContainsRune(around, char) {
		t.character(char)
		return
	}
	if letter == 'b' || letter == 'c' {
		// Start and end of text, as scanners send them: never a command, and
		// no break in what is being scanned.
		if letter == 'c' && t.s.keys.burst == "" && t.since(t.s.keys.enteredAt) > enterRepeat {
			t.s.Message = "Ctrl+Q leaves the station."
		}
		return
	}
	t.flush()
	switch letter {
	case 'q':
		t.leave()
	case 'n':
		t.command(CodeF2)
	case 't':
		t.command(CodeF3)
	case 'f':
		t.command(CodeF4)
	case 'e':
		t.command(CodeF5)
	case 'r':
		t.command(CodeF6)
	case 'w':
		t.command(CodeF7)
	case 'k':
		t.uncover()
		t.spotCheck()
	case 'p':
		t.uncover()
		t.shiftPage()
	case 'd':
		t.command(CodeF9)
	case 'u':
		if t.s.ask().text() {
			t.setTyped("")
		}
	}
}

// command takes the keys that do the same everywhere.
func (t *turn) command(code Code) {
	if t.s.covered() {
		t.uncover()
		if code == CodeF1 || code == CodeEscape {
			return
		}
	}
	if code >= CodeF1 && code <= CodeF9 {
		t.offShiftPage()
	}
	switch code {
	case CodeF1:
		t.s.Help = true
	case CodeBackspace, CodeDelete:
		t.backspace()
	case CodeEscape:
		t.escape()
	case CodeTab:
		t.walk(1)
	case CodeBackTab:
		t.walk(-1)
	case CodeUp, CodeDown, CodeLeft, CodeRight:
		t.arrow(code)
	case CodeF2:
		t.openBird()
	case CodeF3:
		t.switchBird()
	case CodeF4:
		t.bandFound()
	case CodeF5:
		t.forBird(AskIncident)
	case CodeF6:
		t.removal()
	case CodeF7:
		t.nextBander()
	case CodeF9:
		t.complete()
	}
}

// forBird puts a question about the bird on the desk.
func (t *turn) forBird(a Ask) bool {
	if t.s.Front.Cautions || t.s.Bench.Shift == nil {
		return false
	}
	if _, ok := t.s.bird(); !ok {
		t.refuse([]bench.Blocker{{Code: bench.NoBird, Mend: "No bird is open: F2 begins one."}})
		return false
	}
	t.quiet()
	t.question(a)
	return true
}

func (t *turn) backspace() {
	if t.s.ask().text() {
		t.rub()
		return
	}
	t.s.Desk.Marked = nil
}

// escape goes back from a question to the step's own.
func (t *turn) escape() {
	t.quiet()
	switch t.s.Front.Stage {
	case AskWatch, AskPoint, AskPerson, AskRole, AskInstrument:
		t.shiftPage()
		return
	case AskNextBander, AskCaught, AskLeftAt, AskShift:
		t.s.Front.Stage, t.s.Front.Typed = AskPlace, ""
		return
	}
	if t.foundBack() {
		return
	}
	corrects := t.s.Desk.Why != ""
	t.turnTo(t.s.Desk.Step)
	t.uncorrected(corrects)
}

// uncorrected says that a correction was left without being made.
func (t *turn) uncorrected(was bool) {
	if was {
		t.say("Nothing was corrected: the record stands as it was.")
	}
}

// walk goes to another step; in the front, to another of its questions.
func (t *turn) walk(by int) {
	corrects := t.s.Desk.Why != ""
	if _, ok := t.s.bird(); !ok || t.s.Front.Cautions || t.s.Bench.Shift == nil {
		return
	}
	t.quiet()
	n := len(Steps())
	t.turnTo(Step((int(t.s.Desk.Step) + by + n) % n))
	t.uncorrected(corrects)
}

// arrow moves in a list, or where there is none between the steps.
func (t *turn) arrow(code Code) {
	a := t.s.ask()
	switch {
	case a.list() && code == CodeUp:
		t.s.Desk.Row = max(t.s.Desk.Row-1, 0)
	case a.list() && code == CodeDown:
		t.s.Desk.Row = min(t.s.Desk.Row+1, max(t.s.rows()-1, 0))
	case code == CodeUp:
		t.walk(-1)
	case code == CodeDown:
		t.walk(1)
	case a == AskSpecies && code == CodeRight:
		t.speciesAsTyped()
	}
}

// typed returns the text in the field.
func (s State) typed() string {
	if s.inFront() {
		return s.Front.Typed
	}
	return s.Desk.Typed
}

func (t *turn) setTyped(text string) {
	if t.s.inFront() {
		t.s.Front.Typed = text
		return
	}
	t.s.Desk.Typed = text
}

// inFront reports whether the question is not one about a bird.
func (s State) inFront() bool {
	switch s.ask() {
	case AskCautions, AskPlace, AskBander, AskPermit, AskNextBander, AskSheetDate, AskTypist, AskSheetShift, AskCaught, AskLeftAt,
		AskShift, AskWatch, AskPoint, AskPerson, AskRole, AskInstrument:
		return true
	default:
		return false
	}
}

func isPrint(r rune) bool { return unicode.IsPrint(r) }

// answer takes a key that answers a question by itself.
func (t *turn) answer(r rune) {
	if t.s.Help || t.s.Scoring {
		t.s.Help, t.s.Scoring = false, false
		return
	}
	if t.s.Leaving != Staying {
		t.leaveAnswer(r)
		return
	}
	r = unicode.ToLower(r)
	a := t.s.ask()
	switch {
	case a.text():
		t.typeIn(string(r))
	case r == '?':
		t.s.Help = true
	case r == ' ' && t.s.Options.Trainer != nil:
		t.squeeze()
	default:
		t.quiet()
		t.choose(a, r)
	}
}

// choose takes a key that answers question a.
func (t *turn) choose(a Ask, r rune) {
	switch a {
	case AskAge, AskSex, AskSide, AskBirdAgain:
		t.birdKey(a, r)
	case AskWidth, AskWhichReading, AskWhichMeasure:
		t.legKey(a, r)
	case AskSize, AskWarnings, AskMetal, AskClosure, AskTightAgain:
		t.sizeKey(a, r)
	case AskOnLeg, AskFoundLeg, AskThen:
		t.numberKey(a, r)
	case AskShift, AskRole:
		t.shiftKey(a, r)
	case AskSheetShift:
		t.sheetShift(r)
	case AskSpotJudged:
		t.spotKey(r)
	case AskWork, AskLook, AskStatedBefore, AskStatements, AskConfirmed, AskSupervised:
		t.seamKey(a, r)
	case AskNoBird:
		t.scoreKey(r)
	case AskFate, AskComplete:
		t.fateKey(r)
	case AskDone:
		switch r {
		case keyCorrect:
			t.question(AskWhy)
		case 'x':
			t.turnTo(StepLeg) // whose question it is
			t.legKey(AskWidth, r)
		default:
			t.scoreKey(r)
		}
	case AskIncident:
		t.incidentKey(r)
	case AskStillInHand:
		t.stillInHand(r)
	case AskWasBefore:
		t.wasBefore(r)
	}
}

// entered takes Enter as the end of a text or as an answer.
func (t *turn) entered() {
	if t.s.covered() {
		t.uncover()
		return
	}
	a := t.s.ask()
	if a.reason() {
		if blockers := bench.ReasonBlockers(t.s.Desk.Typed); blockers != nil {
			t.refuse(blockers) // what was typed stays, to be gone on with
			return
		}
	}
	switch a {
	case AskCautions, AskPlace, AskBander, AskPermit, AskNextBander:
		t.frontEntered(a)
	case AskShift, AskWatch, AskPoint, AskPerson, AskInstrument:
		t.shiftEntered(a)
	case AskSheetDate, AskTypist, AskCaught, AskLeftAt:
		t.lateEntered(a)
	case AskSpecies, AskAge, AskOtherAge, AskSex, AskSide, AskBirdAgain:
		t.birdEntered(a)
	case AskNest, AskBrood, AskCaptured, AskReturned:
		t.whenceEntered(a)
	case AskWidth, AskTypedWidth, AskAside, AskSlot, AskMeasure, AskMeasureReason:
		t.legEntered(a)
	case AskSize, AskWarnings, AskMetal, AskClosure, AskSizeReason:
		t.sizeEntered(a)
	case AskNumber, AskNumberReason, AskInscription, AskCondition, AskScheme:
		t.numberEntered(a)
	case AskSpotOuter, AskSpotWidth:
		t.spotEntered()
	case AskLook, AskStatements, AskReadBack, AskConfirmed, AskRemoval, AskSupervisor, AskSupervised:
		t.seamEntered(a)
	case AskFateReason, AskComplete, AskResolve, AskIncidentNote, AskWhy:
		t.fateEntered(a)
	}
}

// uncover takes the page away that covers the desk.
func (t *turn) uncover() { t.s.Help, t.s.Scoring, t.s.Leaving = false, false, Staying }
