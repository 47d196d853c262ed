package station_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/bands"
	"seamfit/internal/bench"
	"seamfit/station"
)

// cards scans command cards, with time to put one down and take up the next.
func (r *rig) cards(words ...string) *rig {
	for _, word := range words {
		r.wait(2 * time.Second).card("SF:" + word)
	}
	return r
}

// withPeople is a bench with two banders who have cards.
func withPeople(t *testing.T) *rig {
	return openWith(t, func(o *station.Options) { o.People = []string{"Mira Tolland", "Jon Arve"} })
}

// A bird from capture to the complete record by the scanner and the caliper's
// button alone, with a gap that is mended.
func TestABirdByScannerAndButtonAlone(t *testing.T) {
	r := newRig(t).cards("BIRD", "SP-STERNA-HIRUNDO", "AGE-ADULT", "SEX-FEMALE", "LEG-RIGHT")
	r.readings(302, 301, 331)
	r.cards("AGAIN").shows(`Card "Set the last reading aside".`)
	r.readings(303).cards("BEST").shows("Size 2: which metal?")
	r.cards("METAL-ALUMINIUM").shows("2 aluminium, fits")
	r.wait(2 * time.Second).card("1232-40001").shows("1232-40001 taken")
	r.cards("FOUND-GAP", "LOOKED").shows("closing 1: gap", `Card "That is all that was found".`)
	r.cards("FLUSH").shows("closing 2: flush", `Card "Flush: nothing wrong".`)
	for _, st := range []string{"EDGES", "TURNS", "CAUGHT", "RIMS"} {
		assert.False(t, r.bird().Confirmed(r.s.Bench.Setup.Book))
		r.cards("STATE-" + st)
	}
	r.cards("DIGIT-0", "DIGIT-0", "DIGIT-1", "ENTER").shows("The closing is confirmed.")
	r.cards("LEFT-HAND", "FATE-BANDED", "COMPLETE").shows("The record of bird 1 is complete.")
	h := r.bird()
	assert.True(t, h.Done())
	assert.Equal(t, bench.Bird{Species: "Sterna hirundo", Age: "adult", Sex: "female", Leg: bench.LegRight, Site: bench.SiteBelow}, h.Bird)
	assert.Equal(t, bench.NoCause, h.Readings[2].SetAside)

	// The next bird is like it, and is let go without a band.
	r.cards("BIRD", "SAME").shows("Common Tern, right leg")
	r.readings(302, 301, 303).cards("SIZE-2", "ENTER").shows("2 aluminium")
	r.wait(2*time.Second).card("1232-40002").cards("FOUND-OVERLAP", "FOUND-GAP", "FOUND-GAP", "CLEAR", "FOUND-OVERLAP", "LOOKED", "REMOVE")
	require.Len(t, r.bird().Bands, 1)
	assert.Equal(t, bands.Destroyed, r.bird().Bands[0].State)
	assert.Equal(t, "the look found overlap", r.bird().Bands[0].Reason)
	r.cards("FATE-UNBANDED", "COMPLETE").shows("The record of bird 2 is complete.")
	assert.Equal(t, "the band came off: the look found overlap", r.bird().Fate.Reason)
}

// Every card of the sheet does something, or says why it does not; none is
// unknown to the station, and none of them is taken for a band number.
func TestEveryCardIsObeyedOrSaysWhyNot(t *testing.T) {
	begin := map[string]func(t *testing.T) *rig{
		"no shift": func(t *testing.T) *rig { return open(t, bench.State{Setup: setup(t)}, options()) },
		"no bird":  func(t *testing.T) *rig { return newRig(t) },
		"told":     func(t *testing.T) *rig { return openWith(t, func(o *station.Options) { o.Asks = true }).told() },
		"measured": func(t *testing.T) *rig { return newRig(t).measured() },
		"sized":    func(t *testing.T) *rig { return newRig(t).measured().keys("1") },
		"marked":   func(t *testing.T) *rig { return newRig(t).numbered().keys("g") },
		"numbered": func(t *testing.T) *rig { return newRig(t).numbered() },
		"flush":    func(t *testing.T) *rig { return newRig(t).flush() },
		"trainee":  func(t *testing.T) *rig { return taught(t).flush() },
		"complete": func(t *testing.T) *rig { return newRig(t).completed() },
	}
	acts := map[bench.CardAct]int{}
	for name, at := range begin {
		from := at(t)
		for _, c := range bench.Cards(from.s.Bench.Setup.Book, from.s.Bench.Catalogue(), []string{"Jon Arve"}) {
			if c.Act == bench.CardSpecies && c.Value != "Sterna hirundo" {
				continue
			}
			r := *from
			r.s.Options.People = []string{"Jon Arve"}
			before := len(r.saved)
			r.card(c.Word)
			require.Contains(t, r.s.Message, c.Title, "%s: %s", name, c.Word)
			if r.s.Refused != nil {
				assert.Contains(t, r.s.Message, "was not obeyed", "%s: %s", name, c.Word)
				assert.Len(t, r.saved, before, "%s: %s is refused and recorded all the same", name, c.Word)
			} else {
				acts[c.Act]++
			}
		}
	}
	for _, c := range bench.Cards(setup(t).Book, bench.State{Setup: setup(t)}.Catalogue(), []string{"Jon Arve"}) {
		assert.NotZero(t, acts[c.Act], "no bird in any of these states obeys %s", c.Word)
	}
}

// The supervisor's look by cards: theirs, and no closing more.
func TestASupervisorLooksByScanner(t *testing.T) {
	r := taught(t)
	r.s.Options.People = []string{"Mira Tolland", "Agnes Voe"}
	r.numbered().cards("FLUSH", "STATE-EDGES", "STATE-TURNS", "STATE-CAUGHT", "STATE-RIMS", "DIGIT-0", "DIGIT-0", "DIGIT-1", "ENTER")
	assert.False(t, r.bird().Confirmed(r.s.Bench.Setup.Book))
	r.cards("SUPERVISE", "PERSON-AGNES-VOE").shows("Agnes Voe looks all round the seam").cards("FLUSH")
	assert.Len(t, r.bird().Closings, 1)
	assert.Equal(t, "Agnes Voe", r.bird().Confirmation.Supervised)
	assert.True(t, r.bird().Confirmed(r.s.Bench.Setup.Book))
	r.cards("SUPERVISE").shows("was not obeyed")

	r = taught(t)
	r.s.Options.People = []string{"Agnes Voe"}
	r.flush().cards("SUPERVISE", "PERSON-AGNES-VOE", "FOUND-GAP", "LOOKED")
	assert.Equal(t, []string{"gap"}, r.bird().Closings[0].Findings)
	assert.Len(t, r.bird().Closings, 1)
}

func TestWhatTheNextReadingIsOfByScanner(t *testing.T) {
	r := newRig(t).told().cards("AXIS-LOWER-STOP").readings(510).cards("AXIS-CROSS").readings(281).readings(302)
	var axes []bench.Axis
	for _, reading := range r.bird().Readings {
		axes = append(axes, reading.Axis)
	}
	assert.Equal(t, []bench.Axis{bench.AxisLowerStop, bench.AxisCross, bench.AxisGreatest}, axes)
	r.cards("AXIS-WALL").shows("was not obeyed")
}

// A scanner that is held on a card reads it many times: it counts once, until
// a second has passed since it was seen last.
func TestTheSameCardWithinASecondCountsOnce(t *testing.T) {
	r := newRig(t).flush().cards("DIGIT-0")
	for range 5 {
		r.wait(800 * time.Millisecond).card("SF:DIGIT-0")
	}
	assert.Equal(t, "0", r.s.Desk.Typed)
	r.wait(time.Second).card("SF:DIGIT-0")
	assert.Equal(t, "00", r.s.Desk.Typed)
	r.card("SF:DIGIT-7")
	assert.Equal(t, "007", r.s.Desk.Typed, "another card counts at once")
}

// One scan is one statement: none stands for several.
func TestOneScanIsOneStatement(t *testing.T) {
	r := newRig(t).flush()
	for i, c := range []string{"STATE-EDGES", "STATE-TURNS", "STATE-CAUGHT", "STATE-RIMS"} {
		r.cards(c, c)
		assert.Len(t, r.bird().Confirmation.Statements, i+1, c)
	}
	assert.False(t, r.bird().Confirmed(r.s.Bench.Setup.Book), "the number is still to be read back")
	// A further closing voids them all.
	r.cards("FOUND-GAP", "LOOKED")
	assert.Empty(t, r.bird().Confirmation.Statements)
	r.cards("STATE-EDGES").shows("was not obeyed", "The last look found gap")
	assert.Empty(t, r.bird().Confirmation.Statements)
}

func TestPeopleHaveCards(t *testing.T) {
	r := withPeople(t).cards("PERSON-JON-ARVE").shows("The next bird is banded by Jon Arve.").cards("BIRD")
	assert.Equal(t, "Jon Arve", r.bird().Bander)
	r.keys("F7").cards("PERSON-MIRA-TOLLAND", "BIRD")
	assert.Equal(t, "Mira Tolland", r.bird().Bander)
	r.cards("PERSON-NOBODY").shows("This card is not one of this bench")

	r = openWith(t, func(o *station.Options) { o.People = []string{"Jon Arve"} })
	r.s.Bench.Shift = nil
	r.cards("PERSON-JON-ARVE").shows("does not ask who bands here")
	r.keys("Hollow Skerry", "Enter").cards("PERSON-JON-ARVE").keys("P-77", "Enter")
	assert.Equal(t, "Jon Arve", r.s.Bench.Shift.Bander)
}

// What is being typed is not lost by a card.
func TestACardDoesNotLoseWhatIsTyped(t *testing.T) {
	r := newRig(t).numbered().keys("o", "Enter", "F6", "spreaders do not go in").cards("FLUSH").shows("Something is being typed")
	assert.Equal(t, "spreaders do not go in", r.s.Desk.Typed)
	r.cards("LEFT-HAND").shows("Left the hand")
	assert.Equal(t, "spreaders do not go in", r.s.Desk.Typed)
	r.cards("ENTER").shows("recorded as destroyed")
}

// A scanner that types its codes is told from fingers by its speed.
// The bird never waits for the record: its card does what F8 does, also while
// the bench asks for something else.
func TestTheBirdLeavesByCardWhateverIsAsked(t *testing.T) {
	for _, key := range []string{"Ctrl+p", "F7"} {
		r := newRig(t).told().keys(key)
		require.True(t, r.bird().InHand())
		r.cards("LEFT-HAND")
		assert.False(t, r.bird().InHand(), key)
	}
}

func TestCardsOfAScannerThatTypes(t *testing.T) {
	r := newRig(t)
	for _, word := range []string{"sf:bird", "SF:SP-STERNA-HIRUNDO", "SF:LEG-RIGHT"} {
		r.burst(word, 2*time.Millisecond)
	}
	assert.Equal(t, "Sterna hirundo", r.bird().Bird.Species)
	assert.Equal(t, bench.LegRight, r.bird().Bird.Leg)
	r.burst("SF:WYVERN", 2*time.Millisecond).shows("This card is not one of this bench")
}

// The fates that need a reason ask for it where the record does not say it.
func TestFatesByCardAskForTheirReason(t *testing.T) {
	r := newRig(t).told().cards("FATE-ESCAPED").shows("Escaped: why?").cards("ENTER")
	require.NotNil(t, r.bird().Fate)
	assert.Equal(t, bench.FateEscaped, r.bird().Fate.Fate)
	r = newRig(t).flush().cards("FATE-UNCONFIRMED").shows("Closure unconfirmed: why?").cards("ENTER").shows("Say why the bird was let go")
	assert.Nil(t, r.bird().Fate)
	r = newRig(t).numbered().cards("FOUND-GAP", "LOOKED", "FATE-UNCONFIRMED")
	assert.Equal(t, "the look found gap", r.bird().Fate.Reason)
}

// A card for a size against the advice asks for the reason, as its key does.
func TestATightSizeByCardAsksForTheReason(t *testing.T) {
	r := newRig(t).measured().cards("SIZE-1A", "METAL-ALUMINIUM")
	r.shows("Why size 1A in aluminium all the same?").keys("no other size here", "Enter", "y")
	assert.Equal(t, "1A", r.bird().Choice.Size)
}
