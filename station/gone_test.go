package station_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/bench"
	"seamfit/station"
)

// A key of the look that is pressed by mistake tells of no closing of a bird
// that is gone; a look before it left is told with one key more.
func TestALookAtABirdThatIsGoneIsAskedAbout(t *testing.T) {
	r := newRig(t).numbered().keys("g", "Enter", "F8").hides("To mend")
	r.shows("The bird is gone. Closing 2", "left the hand")
	for _, stray := range [][]string{{"f"}, {"o", "Enter"}} {
		r.keys(stray...).shows("Was this seen before it left")
		r.keys("n").shows("Nothing is recorded of it.")
		require.Len(t, r.bird().Closings, 1)
		assert.Empty(t, r.s.Desk.Marked)
	}
	r.keys("o", "b", "Enter").shows("closing 2, overlap, burr?").keys("y")
	require.Len(t, r.bird().Closings, 2)
	assert.Equal(t, []string{"overlap", "burr"}, r.bird().Closings[1].Findings)
	r.keys("f", "y").shows("State each point")
	require.Len(t, r.bird().Closings, 3)
	r.keys("l", "f", "Esc", "f")
	require.Len(t, r.bird().Closings, 3, "Esc goes back, and a finding is no statement")
	r.cards("FLUSH").shows("Was this seen before it left").keys("y")
	require.Len(t, r.bird().Closings, 4)
}

func TestAfterClosureUnconfirmedNothingIsClosed(t *testing.T) {
	r := newRig(t).numbered().keys("g", "Enter", "F8", "Tab", "c", "it struggled", "Enter")
	require.Equal(t, bench.FateUnconfirmed, r.bird().Fate.Fate)
	r.hides("mend the seam").shows("its closure stays unconfirmed; resolve it with a reason", "resolves it")
	r.keys("BackTab", "f", "Enter", " ", "f")
	require.Len(t, r.bird().Closings, 1)
}

func TestAFateIsRefusedBeforeItsReasonIsTyped(t *testing.T) {
	r := newRig(t).sized().keys("F8", "BackTab", "BackTab")
	for r.s.Desk.Step != station.StepFate {
		r.keys("Tab")
	}
	r.keys("c").shows("No band is taken, so no closure is unconfirmed").hides("reason:")
	r = newRig(t).numbered().keys("F8")
	for r.s.Desk.Step != station.StepFate {
		r.keys("Tab")
	}
	r.keys("c").shows("Closure unconfirmed: why?").keys("slipped out", "Enter")
	require.Equal(t, bench.FateUnconfirmed, r.bird().Fate.Fate)
	assert.Empty(t, r.bird().Closings, "no look is invented")
	r.shows("1232-40001 taken, no look is told", "its closure stays unconfirmed")
	r.keys("r", "not seen again", "Enter")
	assert.Equal(t, "not seen again", r.bird().Resolved)
	r.shows("Resolved: nothing more is asked.").hides("resolve it with a reason").keys("F9").shows("and that is resolved")
	r.keys("Ctrl+q")
	assert.True(t, r.quit, "it is no bird that is still open")
}

// Enter out of habit after the look opens no field that would swallow the
// statements.
func TestEnterAtTheStatementsOpensNoField(t *testing.T) {
	r := newRig(t).flush().keys("Enter").shows("a digit begins the read-back", "State each point").hides("on the band:")
	r.keys("e", "r", "a", "i")
	assert.Len(t, r.bird().Confirmation.Statements, 4)
	r.keys("001", "Enter").shows("The closing is confirmed.")
}

// Of a sheet each look was before its bird left, in whatever order it is typed.
func TestALookOfASheetIsNotAskedAbout(t *testing.T) {
	r := onSheet(t).keys("1", "a", "1232-40001", "Enter", "F8", "06:11", "Enter", "f").shows("State each point")
	assert.Len(t, r.bird().Closings, 1)
}

// Only the person knows whether a band that was never looked at is on the leg.
func TestAFateSaysWhatItMakesOfABandNeverLookedAt(t *testing.T) {
	r := newRig(t).numbered().keys("F8", "Tab", "e").shows("Its band 1232-40001 then counts as not put on", "tell the closure as unconfirmed")
	r.keys("Esc", "c").hides("counts as not put on").keys("slipped out", "Enter")
	_, at := r.bird().CurrentBand()
	assert.True(t, at)
	newRig(t).numbered().keys("g", "Enter", "F8", "Tab", "e").shows("scaped: why?").hides("counts as not put on")
}

// What confirms a closing is told of a bird that is gone only when it was seen
// before: letters typed at the wrong step state nothing.
func TestStatementsOfABirdThatIsGoneAreAskedAbout(t *testing.T) {
	r := newRig(t).flush().keys("e", "F8").shows("seen on the band before it left?", "to the fate: closure unconfirmed")
	r.keys("w", "r", "i", "g", "g", "l", "e", "d", "0", "0", "1", "Enter").shows("seen on the band before it left?")
	assert.Equal(t, []string{"edges"}, r.bird().Confirmation.Statements)
	assert.Empty(t, r.bird().Confirmation.ReadBack)
	assert.Len(t, r.bird().Closings, 1)
	r.cards("RIMS").shows("seen on the band before it left?")
	assert.Len(t, r.bird().Confirmation.Statements, 1)
	r.keys("y").shows("State each point").keys("r", "a", "i", "001", "Enter").shows("The closing is confirmed.")
}

// A bird in the hand is never behind one that is gone: not on the screen, and not
// for F3. F3 pressed again and again passes through all.
func TestBirdsInTheHandComeFirst(t *testing.T) {
	r := newRig(t).told().keys("F8").told().told()
	lines := strings.Split(r.screen().String(), "\n")
	assert.Regexp(t, `►3 .* 2 Common Tern 00:.* 1 Common Tern left`, lines[1])
	r.keys("F3").shows("Now bird 2.").keys("Esc", "F3").shows("Now bird 3.").keys("Esc", "F3").shows("Now bird 2.")
	r.keys("F3").shows("Now bird 1.").keys("F3").shows("Now bird 3.").keys("F3").shows("Now bird 2.")
}

func TestKeysDoNothingThatNobodySees(t *testing.T) {
	r := newRig(t).numbered()
	r.send(station.Resize{Width: 60, Height: 20})
	r.keys("f", "e", "F6", "Ctrl+q", "y", "F8")
	assert.Empty(t, r.bird().Closings)
	assert.False(t, r.quit)
	assert.False(t, r.bird().InHand(), "but the bird never waits")
	r.send(station.Resize{Width: 80, Height: 24})
	r.shows("The bird is gone. Closing 1")
}

// F2 pressed by mistake begins a bird that there is not: it is told as that, and
// asked about no more.
func TestABirdBegunByMistakeIsResolved(t *testing.T) {
	r := newRig(t).keys("F2", "F9").shows("say which bird this is, or resolve it as a mistake")
	for r.s.Desk.Step != station.StepFate {
		r.keys("Tab")
	}
	r.shows("r there is no bird: it was begun by mistake").keys("r", "slipped off F3", "Enter")
	assert.Equal(t, "slipped off F3", r.bird().Resolved)
	assert.False(t, r.bird().InHand(), "no clock runs")
	r.shows("Resolved: nothing more is asked.").keys("F2").shows("►2 species?")
	newRig(t).told().keys("Tab", "Tab", "Tab", "Tab").hides("there is no bird")
}

func TestAReadingOfACompleteRecordIsSetAsideByKeys(t *testing.T) {
	r := newRig(t).completed().shows("x set a reading aside").keys("x").shows("Which reading").hides("marks the record complete").keys("2", "pressed by the way", "Enter").shows("Set aside, with its reason")
	assert.Equal(t, "pressed by the way", r.bird().Readings[1].SetAside)
	assert.True(t, r.bird().Done())
	r.keys("c", "the ring was read wrong", "Enter", "Tab").shows("The record of bird 1 is complete.", "Nothing was corrected")
}

// A bird begun by mistake may have got a species by one more Enter.
func TestABirdBegunByMistakeMayHaveASpecies(t *testing.T) {
	r := newRig(t).keys("F2", "common tern", "Enter")
	r.s.Desk.Step = station.StepFate
	r.shows("r there is no bird: it was begun by mistake").keys("r", "the key stuck", "Enter")
	assert.True(t, r.bird().Mistaken())
	r = newRig(t).measured()
	r.s.Desk.Step = station.StepFate
	r.hides("begun by mistake")
}

// F8 pressed by mistake is taken back; pressed twice by a cold finger it changes
// nothing about what comes next.
func TestTheBirdIsStillInTheHand(t *testing.T) {
	r := newRig(t).measured().keys("F8").readings(301).shows("has left the hand").keys("F8").shows("Is it still in the hand")
	r.keys("y").shows("The bird is in the hand").readings(301)
	assert.True(t, r.bird().InHand())
	assert.Len(t, r.bird().Readings, 4)
	r = newRig(t).confirmed().keys("F8", "F8", "b").shows("Nothing is missing.")
	assert.Equal(t, bench.FateBanded, r.bird().Fate.Fate)
	r.keys("F8").hides("Is it still in the hand")
}
