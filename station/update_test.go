package station_test

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/device"
	"seamfit/internal/bands"
	"seamfit/internal/bench"
	"seamfit/internal/length"
	"seamfit/station"
)

// F8 and Ctrl+O record that the bird left the hand whatever is on the screen,
// and change nothing else.
func TestLeftTheHandWorksEverywhere(t *testing.T) {
	for name, r := range screens(t) {
		h, ok := r.s.Bench.ActiveHandling()
		if !ok || !h.InHand() {
			continue
		}
		for _, k := range []string{"F8", "Ctrl+o"} {
			t.Run(name+" "+k, func(t *testing.T) {
				again := *r
				again.t, again.failing, again.hold = t, nil, false
				before := again.s
				again.keys(k)
				if again.s.Options.Late {
					again.keys("Enter") // the time is the sheet's, and is asked
				}
				assert.False(t, again.bird().InHand())
				assert.Equal(t, before.Desk.Typed, again.s.Desk.Typed)
				assert.Equal(t, before.Desk.Ask, again.s.Desk.Ask)
				assert.Equal(t, before.Desk.Step, again.s.Desk.Step)
				left := again.bird().Left
				again.keys(k)
				assert.Equal(t, left, again.bird().Left, "a second time changes nothing")
			})
		}
	}
}

func TestClockStopsWhenTheBirdLeaves(t *testing.T) {
	r := newRig(t).keys("F2").wait(90 * time.Second)
	r.shows("01:31")
	r.keys("F8").wait(time.Hour)
	r.shows("left 06:41").hides("OVER")
}

// From the first closing until it is read back, the number stands nowhere on
// the screen.
func TestNumberIsHiddenUntilReadBack(t *testing.T) {
	for _, size := range [][2]int{{80, 24}, {120, 40}} {
		numberIsHidden(t, size[0], size[1])
	}
}

func numberIsHidden(t *testing.T, width, height int) {
	r := newRig(t)
	r.send(station.Resize{Moment: r.moment(), Width: width, Height: height})
	r.numbered().shows("1232-40001").keys("g", "Enter").hides("40001")
	for _, k := range []string{
		"f", "e", "r", "a", "i", "Tab", "Tab", "Tab", "Tab", "Tab", "F1", "F1", "F9", "Ctrl+q", "Esc", "Tab", "9", "99", "Enter",
	} {
		r.keys(k).hides("40001", "0001")
	}
	require.Equal(t, "999", r.bird().Confirmation.ReadBack)
	r.keys("001", "Enter").shows("1232-40001 on the right leg")
	r.keys("BackTab", "l", "f").hides("1232-40001")
}

func TestReadingGoesToTheActiveBirdOnly(t *testing.T) {
	r := newRig(t).told()
	first := r.bird().ID
	r.keys("F2", "herring", "Enter", "a", "f", "l").readings(720, 722)
	second := r.bird().ID
	require.NotEqual(t, first, second)
	r.keys("F3").readings(302)
	assert.Equal(t, first, r.bird().ID)
	h, _ := r.s.Bench.Handling(first)
	assert.Len(t, h.Readings, 1)
	h, _ = r.s.Bench.Handling(second)
	assert.Len(t, h.Readings, 2)
	assert.Equal(t, "capture capture capture", bellWords(r))
}

func bellWords(r *rig) string {
	var words []string
	for _, b := range r.bells {
		words = append(words, map[station.BellKind]string{station.BellCapture: "capture", station.BellRefusal: "refusal"}[b])
	}
	return strings.Join(words, " ")
}

func TestWhatIsHalfTypedStaysWithItsBird(t *testing.T) {
	r := newRig(t).sized().keys("1232-4").keys("F2", "herr", "F3")
	assert.Equal(t, "1232-4", r.s.Desk.Typed)
	r.keys("F3")
	assert.Equal(t, "herr", r.s.Desk.Typed)
}

// An open bird keeps its number through a restart; one of another shift is told
// with its day, and the next bird goes on counting.
func TestBirdsKeepTheirNumbers(t *testing.T) {
	r := newRig(t).keys("F2", "herring gull larus arg", "Enter", "F2", "common tern", "Enter")
	first, second := r.s.Order[0], r.s.Order[1]
	o := options()
	o.Earlier, o.Numbers = 7, map[string]int{first: 3, second: 5}
	again := open(t, r.s.Bench, o).shows("►5 Common Tern", "3 Herring Gull")
	again.keys("F3").shows("Now bird 3.").keys("F2").shows("Bird 8 is in the hand", "►8 species?")

	next := r.s.Bench
	next.Shift = shift()
	next.Shift.ID = "the day after"
	o.Earlier = 0
	again = open(t, next, o).shows("►5 of 17 May Common Tern", "3 of 17 May Herring Gull")
	again.keys("F3").shows("Now bird 3 of 17 May.").keys("F2").shows("Bird 1 is in the hand", "►1 species?")
}

func TestColonyIsQuick(t *testing.T) {
	r := newRig(t).completed()
	r.keys("F2", "Enter", "a", "u", "Enter")
	assert.Equal(t, bench.Bird{Species: "Sterna hirundo", Age: "adult", Sex: bench.NotKnown, Leg: bench.LegRight, Site: bench.SiteBelow}, r.bird().Bird)
	r.readings(300, 301, 299).keys("1", "Enter").shows("1232-40002, the next one").keys("Enter")
	assert.Equal(t, "1232-40002", number(r))
}

func TestTightAsksForAReasonAndASecondTime(t *testing.T) {
	r := newRig(t).measured().keys("3", "a")
	require.Nil(t, r.bird().Choice)
	r.shows("against advice", "reason:")
	r.keys("Enter")
	require.Nil(t, r.bird().Choice, "an empty reason is none")
	r.keys("it is what there is", "Enter").shows("TIGHT")
	require.Nil(t, r.bird().Choice)
	other := *r
	other.keys("n")
	assert.Nil(t, other.bird().Choice)
	r.keys("y")
	require.NotNil(t, r.bird().Choice)
	assert.Equal(t, "it is what there is", r.bird().Choice.Reason)
	assert.Equal(t, "1A", r.bird().Choice.Size)
}

func TestNotMeasuredNeedsItsReason(t *testing.T) {
	r := newRig(t).told().keys("Tab", "1", "a")
	require.Nil(t, r.bird().Choice)
	r.keys("established size for this colony", "Enter")
	require.NotNil(t, r.bird().Choice)
	assert.Equal(t, bench.MethodNotMeasured, r.bird().Choice.Method)
}

func TestDisagreeingReadingIsSetAside(t *testing.T) {
	r := newRig(t).told().readings(302, 301, 341)
	assert.Equal(t, station.StepLeg, r.s.Desk.Step, "readings that disagree do not go on by themselves")
	r.keys("x", "3", "jaws on the joint", "Enter").readings(303)
	assert.Equal(t, station.StepSize, r.s.Desk.Step)
	assert.Equal(t, "jaws on the joint", r.bird().Readings[2].SetAside)
}

func TestTypedAndCrossWidths(t *testing.T) {
	r := newRig(t).told().keys("t", "3,02", "Enter").keys("t", "0.1189 in", "Enter", "c").readings(281)
	readings := r.bird().Readings
	require.Len(t, readings, 3)
	assert.Equal(t, bench.MeansTyped, readings[0].Means)
	assert.Equal(t, "3.02006 mm", readings[1].Value.String(), "0.1189 in × 25.4, exactly")
	assert.Equal(t, bench.AxisCross, readings[2].Axis)
	r.keys("t", "wide", "Enter").shows("That is no width")
	assert.Len(t, r.bird().Readings, 3)
}

func TestOverlapIsRemovedAndTheNextNumberTaken(t *testing.T) {
	r := newRig(t).numbered().keys("o", "Enter", "F6", "Enter")
	assert.True(t, r.bird().Bands[0].OnLeg(), "without its reason nothing is removed")
	r.keys("overlap", "Enter")
	assert.Equal(t, bands.Destroyed, r.bird().Bands[0].State)
	assert.Equal(t, station.StepNumber, r.s.Desk.Step)
	r.keys(scanned, "Enter").shows("destroyed")
	r.keys("Esc", "1232-40002", "Enter", "f", "e", "r", "a", "i", "002", "Enter", "F8", "b", "Enter")
	assert.True(t, r.bird().Done())
	r.shows("The record of bird 1 is complete.")
}

func TestFoundBandLeftNeedsNoClosing(t *testing.T) {
	r := newRig(t).told().keys("F4", "1232-4?001", "Enter", "r", "worn", "Enter", "Enter", "l", "F8")
	r.s.Desk.Step = station.StepFate
	r.keys("b", "Enter")
	assert.True(t, r.bird().Done())
}

func TestNumberOfAnotherBirdIsDisputedAsAFact(t *testing.T) {
	r := used(t)
	assert.Empty(t, number(r))
	r.keys("r", "it is on the leg", "Enter")
	assert.Equal(t, "1232-40007", number(r))
	assert.True(t, r.bird().Disputed())
	r.keys("f", "e", "r", "a", "i", "007", "Enter", "F8", "b")
	r.records[r.bird().ID] = r.bird()
	r.keys("Enter")
	assert.False(t, r.bird().Complete)
	require.Len(t, r.s.Refused, 1)
	assert.Equal(t, bench.NumberDisputed, r.s.Refused[0].Code)
	r.shows("1232-40007 DISPUTED", r.s.Refused[0].Mend)

	// Settled meanwhile by another program: F9 reads the record anew.
	settled := newRig(t).fated().bird()
	settled.ID = r.bird().ID
	r.records[settled.ID] = settled
	r.keys("F9").shows("nothing stands against its number any more").hides("DISPUTED")
	r.keys("F9")
	assert.True(t, r.bird().Complete)
}

// Another label that comes near the scanner while the closure is stated takes no
// key for itself; at any other step its question is shown.
func TestARefusedScanAsksNothingUnseen(t *testing.T) {
	r := newRig(t).flush()
	r.standing["1232-40007"] = bench.Standing{State: bands.OnBird, Handling: "another"}
	r.send(station.Scanned{Moment: r.moment(), ID: "scan", Text: "1232-40007"})
	r.shows("remove it first", "That is done at the step number.", "e Edges meet all round")
	r.keys("e", "r", "a", "i", "001", "Enter").shows("The closing is confirmed.")
	assert.Equal(t, "1232-40001", number(r))

	r = newRig(t).numbered()
	r.standing["1232-40007"] = bench.Standing{State: bands.OnBird, Handling: "another"}
	r.send(station.Scanned{Moment: r.moment(), ID: "scan", Text: "1232-40007"})
	r.shows("r it is on the leg: give the reason", "any other key another number").hides("State each point")

	r = newRig(t).measured()
	r.standing["1232-40007"] = bench.Standing{State: bands.OnBird, Handling: "another"}
	r.keys("BackTab")
	r.send(station.Scanned{Moment: r.moment(), ID: "scan", Text: "1232-40007"})
	r.hides("f under feathers").keys("Esc").shows("number:")
}

// F6 of a bird that is gone asks whether the band came off before it left.
func TestABandComesOffOnlyABirdInTheHand(t *testing.T) {
	r := newRig(t).flush().keys("F8", "F6").shows("Did the band come off before that?").hides("stress")
	r.keys("n").shows("Nothing is recorded of it.")
	assert.Equal(t, "1232-40001", number(r), "it is on the bird")
	r.keys("F6", "y", "Esc").shows("seen on the band before it left?").hides("e Edges meet")
	r.keys("F6", "y").shows("The band came off, and its number is recorded as destroyed.").hides("stress")
	r.keys("would not close", "Enter")
	assert.Empty(t, number(r))
}

// A band of another scheme is recorded as it is inscribed, with the scheme.
func TestAForeignBandIsRecordedWithItsScheme(t *testing.T) {
	r := newRig(t).told().keys("F4", "4a 123?5", "Enter", "r", "worn", "Enter").shows("It is no number of your own pattern. Which scheme issued it?")
	r.keys("Enter").shows("name the scheme that issued it").keys("Northern Isles", "Enter", "l").shows("Found band 4A123?5 is recorded.")
	require.Len(t, r.bird().Bands, 1)
	assert.Equal(t, "Northern Isles", r.bird().Bands[0].Scheme)
	newRig(t).told().keys("F4", "[]", "Enter").shows("is no inscription; write its letters and digits as they stand on the band")
}

func TestAnotherNumberCanBeTypedAfterARefusal(t *testing.T) {
	r := used(t).keys("1232-40008", "Enter")
	assert.Equal(t, "1232-40008", number(r))
}

func TestNumberWithoutAnswerOfTheRecords(t *testing.T) {
	r := newRig(t).sized()
	r.hold = true
	r.keys(scanned, "Enter")
	r.waiting = nil
	r.shows("The records are asked")
	r.send(station.LookedUp{Moment: r.moment(), Ticket: 1, Trouble: "the disk failed"})
	assert.Equal(t, scanned, number(r), "the band in the hand is recorded all the same")
	r.shows("could not be checked now")
	r.send(station.LookedUp{Moment: r.moment(), Ticket: 99})
	r.send(station.LookedUp{Moment: r.moment(), Ticket: 1})
	assert.Len(t, r.bird().Bands, 1, "an answer counts once")
}

func TestAnswerForABirdThatIsNoLongerShown(t *testing.T) {
	r := newRig(t).sized()
	first := r.bird().ID
	r.hold = true
	r.keys(scanned, "Enter", "F2", "herr")
	r.letGo()
	h, _ := r.s.Bench.Handling(first)
	band, _ := h.CurrentBand()
	assert.Equal(t, scanned, band.Number)
	assert.Equal(t, "herr", r.s.Desk.Typed)
	assert.Empty(t, r.bird().Bands)
}

// No rule stands between a bird and its release: what is refused is only the
// mark complete, and it says everything that is missing.
func TestCompleteIsRefusedWithEverythingThatIsMissing(t *testing.T) {
	r := newRig(t).flush().keys("F9")
	require.False(t, r.bird().Complete)
	want := bench.Blockers(r.bird(), r.s.Bench.Setup.Book)
	assert.Equal(t, want, r.s.Refused)
	r.shows("Edges meet all round.", "Turns and slides freely.", "Nothing caught.", "Rims smooth.", "key its last three digits", "How the bird left")
	assert.Equal(t, station.BellRefusal, r.bells[len(r.bells)-1])
}

func TestEveryRefusalIsSeen(t *testing.T) {
	for name, r := range screens(t) {
		text := strings.Join(strings.Fields(r.screen().String()), " ")
		if r.s.Help || r.s.Leaving != station.Staying {
			continue
		}
		for _, b := range r.s.Refused {
			for _, word := range strings.Fields(b.Mend) {
				require.Contains(t, text, word, "%s: %s", name, b.Mend)
			}
		}
		assert.NotContains(t, text, "and more", name)
	}
}

func TestClosingAfterConfirmationVoidsIt(t *testing.T) {
	r := newRig(t).confirmed().keys("BackTab", "l", "f")
	assert.Empty(t, r.bird().Confirmation.Statements)
	r.keys("F8", "Tab", "b", "Enter")
	assert.False(t, r.bird().Complete)
}

func TestIncidentAtAnyStep(t *testing.T) {
	r := newRig(t).measured().keys("F5", "s", "panting, eyes closed", "Enter")
	require.Len(t, r.bird().Incidents, 1)
	assert.Equal(t, "stress", r.bird().Incidents[0].Kind)
	assert.Equal(t, station.StepSize, r.s.Desk.Step)
}

func TestUnconfirmedAndEscapedStayOpenUntilResolved(t *testing.T) {
	r := newRig(t).flush().keys("F8", "Tab", "c", "Enter").shows("Say why the bird was let go")
	r.keys("struggled", "Enter", "Enter")
	assert.False(t, r.bird().Complete)
	r.keys("r", "seen again, closed well", "Enter")
	assert.Equal(t, "seen again, closed well", r.bird().Resolved)
	r = newRig(t).measured().keys("F8", "Tab", "Tab", "Tab", "e", "through the fingers", "Enter", "Enter")
	assert.False(t, r.bird().Complete)
	r.keys("r", "not seen again", "Enter", "Enter")
	assert.True(t, r.bird().Complete)
}

func TestShiftIsAskedFor(t *testing.T) {
	r := open(t, bench.State{Setup: setup(t)}, options())
	r.shows("Banding needs a permit and training").keys("F2")
	assert.Empty(t, r.s.Bench.Handlings, "no bird before the cautions are read")
	r.keys("Enter", "Enter").shows("needed")
	r.keys("Hollow Skerry", "Enter", "Mira Tolland", "Enter", "P-77", "Enter")
	require.NotNil(t, r.s.Bench.Shift)
	assert.Equal(t, "Hollow Skerry", r.s.Bench.Shift.Place)
	assert.Equal(t, "Mira Tolland", r.s.Bench.Shift.Bander)
	assert.Equal(t, "P-77", r.s.Bench.Shift.Permit)
	assert.False(t, r.s.Bench.Shift.Training)
	assert.NotEmpty(t, r.s.Bench.Shift.ID)
	r.keys("F2")
	assert.Equal(t, "Mira Tolland", r.bird().Bander)
	r.keys("F7", "Jonas Ferrow", "Enter", "F2")
	assert.Equal(t, "Jonas Ferrow", r.bird().Bander)
}

func TestOpenBirdsAreTakenUpWhereTheyStood(t *testing.T) {
	r := newRig(t).numbered().keys("F2", "herring", "Enter")
	again := open(t, r.s.Bench, options())
	assert.Equal(t, station.StepBird, again.s.Desk.Step)
	again.shows("2 Herring Gull", "1 Common Tern", "taken up where they stood")
	again.keys("F3")
	assert.Equal(t, station.StepSeam, again.s.Desk.Step)
}

func TestLeavingAsksWhileBirdsAreOpen(t *testing.T) {
	r := newRig(t).keys("Ctrl+q")
	assert.True(t, r.quit, "nothing is open")
	r = newRig(t).told().keys("Ctrl+q")
	assert.False(t, r.quit)
	r.shows("IN THE HAND", "taken up again next time").keys("n")
	assert.False(t, r.quit)
	r.keys("Ctrl+q", "Enter")
	assert.Equal(t, station.Staying, r.s.Leaving, "Enter stays")
	r.keys("Ctrl+q", "y")
	assert.True(t, r.quit)
	r = notSaved(t).keys("Ctrl+q", "y")
	assert.False(t, r.quit, "what is not saved is asked twice")
	r.keys("y")
	assert.True(t, r.quit)
	r = newRig(t).completed().keys("Ctrl+q")
	assert.True(t, r.quit)
	r = newRig(t).fated()
	r.hold = true
	r.keys("F9", "Ctrl+q").shows("is being saved")
	assert.False(t, r.quit)
	r.letGo()
	assert.True(t, r.quit, "it was only the saving that was waited for")
	r = newRig(t).told()
	r.hold = true
	r.keys("t", "3.02", "Enter", "Ctrl+q", "y").shows("When it is saved, the station closes.")
	assert.False(t, r.quit)
	r.letGo()
	assert.True(t, r.quit, "yes was said, and now all is saved")
}

func TestLinksAreToldInWords(t *testing.T) {
	r := lost(t).shows("! caliper not ready", "Caliper is gone from /dev/ttyUSB0", "plug the cable in")
	r.send(station.Linked{Moment: r.moment(), Device: station.Caliper})
	r.shows("caliper is being opened")
	r.send(station.Linked{Moment: r.moment(), Device: station.Caliper, Open: true})
	r.shows("caliper ready").hides("gone")
	r = batteryLow(t).shows("battery is low").readings(302).shows("battery is low")
	r.send(station.Linked{Moment: r.moment(), Device: station.Caliper, Trouble: "gone", Mend: "plug it in"})
	r.send(station.Linked{Moment: r.moment(), Device: station.Caliper, Open: true})
	r.hides("battery")
}

func TestSilentBenchRingsNoBell(t *testing.T) {
	o := options()
	o.Silent = true
	r := open(t, bench.State{Setup: setup(t), Shift: shift()}, o).keys("F2").readings(302, 6100).keys("F9")
	assert.Empty(t, r.bells)
}

func TestReadingIsExpectedAtTheLegStep(t *testing.T) {
	s := newRig(t).told().s
	_, effects := station.Update(s, station.Tick{Moment: station.Moment{At: s.Now.Add(time.Second)}})
	assert.Empty(t, effects, "told once")
	r := newRig(t).keys("F2", "common tern", "Enter", "a", "f")
	r.press(station.CodeRune, 'r')
	r.at = r.at.Add(100 * time.Millisecond)
	_, effects = station.Update(r.s, station.Tick{Moment: r.moment()})
	assert.Contains(t, effects, station.Expect{On: true})
}

// A small board's clock may be set back in the middle of a session: no key is
// held for ever, no retry is put off, and the screen says so.
func TestClockThatIsSetBack(t *testing.T) {
	r := newRig(t).numbered()
	r.at = r.at.Add(-2 * time.Hour)
	r.keys("g").shows("g■gap", "behind the last entry: set it right")
	assert.Equal(t, []string{"gap"}, r.s.Desk.Marked)

	r = notSaved(t)
	r.wait(20 * time.Second)
	r.failing = nil
	r.at = r.at.Add(-2 * time.Hour)
	r.wait(time.Second)
	assert.Empty(t, r.s.Queue.Facts)
}

func TestCompleteRecordIsCorrectedWithItsReason(t *testing.T) {
	r := newRig(t).completed().keys("c", "Enter")
	assert.Equal(t, station.AskWhy, r.s.Desk.Ask, "no correction without its reason")
	r.keys("sexed again from the photograph", "Enter", "x", "m")
	assert.Equal(t, "male", r.bird().Bird.Sex)
	assert.True(t, r.bird().Done())
	r.shows("Corrected, with its reason", "F2 next bird")
	last := r.saved[len(r.saved)-1].(bench.BirdTold)
	assert.Equal(t, "sexed again from the photograph", last.Why)
	assert.Equal(t, 1, last.Replaces)
	r.keys("Tab", "m").shows("F2 next bird")
}

// A caliper that streams shows its live value, which is no reading.
func TestLiveValuesAreShownAndNotTaken(t *testing.T) {
	r := newRig(t).told()
	r.send(station.Live{Moment: r.moment(), Reading: device.Reading{Value: 2_870_000, Unit: length.MM, Resolution: 10_000}})
	r.shows("mm, live: hold still")
	assert.Empty(t, r.bird().Readings)
	r.readings(302).shows("mm, 1 of 3").hides("live")
}

func TestCtrlCNamesTheWayOut(t *testing.T) {
	r := newRig(t).told().wait(2 * time.Second).keys("Ctrl+c").shows("Ctrl+Q leaves")
	assert.False(t, r.quit)
}
