package station_test

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/device"
	"seamfit/internal/bench"
	"seamfit/internal/grid"
	"seamfit/internal/length"
	"seamfit/station"
)

// effectsOf are the effects of an event on a state that stays as it is.
func effectsOf(s station.State, e station.Event) []station.Effect {
	_, effects := station.Update(s, e)
	return effects
}

// takeCard is the word of the card that asks the caliper.
const takeCard = "SF:TAKE"

func openWith(t *testing.T, change func(*station.Options)) *rig {
	t.Helper()
	o := options()
	change(&o)
	return open(t, bench.State{Setup: setup(t), Shift: shift()}, o)
}

func (r *rig) live(hundredths int) *rig {
	r.send(station.Live{Moment: r.moment(), Reading: device.Reading{
		Value: length.Length(hundredths) * 10 * length.Micrometre, Unit: length.MM, Resolution: 10 * length.Micrometre, At: r.at,
	}})
	return r
}

func (r *rig) card(word string) *rig {
	r.send(station.Scanned{Moment: r.moment(), ID: fmt.Sprintf("card-%d", r.at.UnixNano()), Text: word})
	return r
}

func TestCardsDoWhatTheirKeysDo(t *testing.T) {
	r := open(t, bench.State{Setup: setup(t), Shift: shift()}, options())
	r.card("sf:bird").shows("species?")
	for card, key := range map[string]string{"SF:BIRD": "F2", "SF:SWITCH": "F3", "SF:COMPLETE": "F9", "SF:LEFT-HAND": "F8"} {
		byCard, byKey := openWith(t, func(*station.Options) {}).told(), openWith(t, func(*station.Options) {}).told()
		assert.Equal(t, byKey.keys(key).s.Refused, byCard.card(card).s.Refused, card)
		assert.Equal(t, byKey.s.Desk.Step, byCard.s.Desk.Step, card)
		assert.Len(t, byCard.s.Bench.Handlings, len(byKey.s.Bench.Handlings), card)
		assert.Len(t, byCard.s.Queue.Facts, len(byKey.s.Queue.Facts), card)
	}
	r.card("SF:LEFT-HAND").shows("Left the hand")
	r.card("SF:COMPLETE").shows("No species yet")
	facts := len(r.s.Queue.Facts)
	r.card("SF:DANCE").shows("This card is not one of this bench")
	assert.Len(t, r.s.Queue.Facts, facts, "nothing is recorded by a card that is not obeyed")
}

func TestACaliperThatCanBeAskedIsAsked(t *testing.T) {
	asks := func(o *station.Options) { o.Asks = true }
	polls := func(r *rig, e station.Event) bool {
		return slices.Contains(effectsOf(r.s, e), station.Effect(station.Poll{}))
	}
	card := func(r *rig) station.Event {
		return station.Scanned{Moment: r.moment(), ID: "x", Text: takeCard}
	}

	r := openWith(t, asks).told()
	r.shows("ask the caliper")
	r.keys("a").shows("The caliper is asked.")
	r.readings(302).shows("mm, 1 of 3").hides("is asked")
	assert.True(t, polls(r, card(r)))

	r.keys("Tab", "Tab") // the card asks at any step
	assert.True(t, polls(r, card(r)))
	r.keys("F8")
	assert.False(t, polls(r, card(r)), "the bird has left the hand")

	r = openWith(t, asks)
	assert.False(t, polls(r, card(r)))
	r.send(card(r))
	r.shows("No bird is open")

	r = newRig(t).told().hides("ask the caliper").keys("a").shows("The caliper can't be asked: press its own button")
	r.send(card(r))
	r.shows("The caliper can't be asked")
}

func TestNoAnswerIsAClearState(t *testing.T) {
	r := openWith(t, func(o *station.Options) { o.Asks = true }).told().keys("a")
	r.send(station.Linked{
		Moment: r.moment(), Device: station.Caliper,
		Trouble: "caliper did not answer within 2s", Mend: "ask again, or press its own button",
	})
	r.shows("caliper did not answer within 2s", "ask again, or press its own button").hides("is asked")
	r.readings(302).shows("caliper ready", "mm, 1 of 3").hides("did not answer")
}

func TestAStreamIsDimUntilItIsSteady(t *testing.T) {
	r := openWith(t, func(o *station.Options) { o.Streams = true }).told()
	marks := func() string { return digitMarks(r.screen()) }
	r.live(287).shows("mm, live: hold still")
	assert.NotContains(t, marks(), "b")
	assert.Contains(t, marks(), "d")
	r.readings(302).shows("mm, 1 of 3")
	assert.NotContains(t, marks(), "d")
	assert.Contains(t, marks(), "b")

	r.live(303).hides("live").shows("mm, 1 of 3") // the jaws still stand there
	r.live(900).shows("live: hold still")         // and now they move
	r.live(303).shows("live: hold still")
	r.readings(303).hides("live")

	r.shows("take the value that stands").keys("a").shows("The caliper's next steady value counts.")
	assert.Contains(t, effectsOf(r.s, station.Scanned{Moment: r.moment(), Text: takeCard}), station.Effect(station.Rearm{}))
	r.live(303).shows("live: hold still")

	r.send(station.Linked{Moment: r.moment(), Device: station.Caliper, Trouble: "caliper is gone", Mend: "plug it in"})
	r.hides("live").shows("caliper is gone")
}

// digitMarks are the attributes of the cells of the large digits.
func digitMarks(g *grid.Grid) string {
	width, height := g.Size()
	var marks []byte
	for y := range height {
		for x := range width {
			if c := g.Cell(x, y); c.Text == "█" || c.Text == "▀" || c.Text == "▄" {
				marks = append(marks, c.Style.Mark())
			}
		}
	}
	return string(marks)
}

// A caliper that is laid down with its jaws open stands still too.
func TestAStreamIsReadOnlyWhereAReadingIsWaitedFor(t *testing.T) {
	streams := func(o *station.Options) { o.Streams = true }
	r := openWith(t, streams)
	r.readings(1200).hides("REFUSED")
	assert.Empty(t, r.bells, "no bird is open, and nobody is disturbed")
	r.told().readings(302, 301, 303)
	require.Len(t, r.bird().Readings, 3)
	r.readings(1200)
	require.Len(t, r.bird().Readings, 3, "the leg is measured")
	r.send(station.Scanned{Moment: r.moment(), ID: "x", Text: takeCard})
	r.readings(302)
	assert.Len(t, r.bird().Readings, 4, "but for one that was asked for")
	r.readings(305)
	assert.Len(t, r.bird().Readings, 4)
}

func TestAReadingThatIsSetAsideMayBeTakenOnceMore(t *testing.T) {
	r := openWith(t, func(o *station.Options) { o.Streams = true }).told().readings(302).keys("x", "tilted")
	assert.Contains(t, effectsOf(r.s, station.Key{Moment: r.moment(), Code: station.CodeEnter}), station.Effect(station.Rearm{}))
}

func TestACaliperThatTypesIsReadAtAnyStep(t *testing.T) {
	typed := func(o *station.Options) { o.Typed = &device.DecoderOptions{Unit: length.MM, Device: "caliper"} }
	for _, end := range []station.Code{station.CodeEnter, station.CodeTab} {
		r := openWith(t, typed).told()
		for _, char := range "3.02" {
			r.press(station.CodeRune, char)
		}
		r.press(end, 0)
		require.Len(t, r.bird().Readings, 1)
		taken := r.bird().Readings[0]
		assert.Equal(t, 3_020*length.Micrometre, taken.Value)
		assert.Equal(t, bench.MeansCaliper, taken.Means)
		assert.True(t, taken.UnitAssumed)
		assert.Equal(t, "caliper", taken.Device)
		r.shows("mm, 1 of 3, unit as set")
	}

	r := openWith(t, typed).told()
	for _, char := range "3.02,0.1189in," {
		r.press(station.CodeRune, char)
	}
	assert.Len(t, r.bird().Readings, 2, "a comma ends a value")
	r.shows("The caliper now shows in; the value is taken in that unit.")

	r.keys("Tab", "Tab", "12") // a number is being typed
	for _, char := range "3.03" {
		r.press(station.CodeRune, char)
	}
	r.press(station.CodeEnter, 0)
	assert.Len(t, r.bird().Readings, 3)
	assert.Equal(t, "12", r.s.Desk.Typed)

	r = openWith(t, typed).told().keys("t")
	for _, char := range "3.02" {
		r.press(station.CodeRune, char)
	}
	r.press(station.CodeEnter, 0)
	require.Len(t, r.bird().Readings, 1)
	assert.Equal(t, bench.MeansTyped, r.bird().Readings[0].Means, "where a person types, it is theirs")

	r = openWith(t, typed).told()
	for _, char := range "3.02" { // a person's pace
		r.press(station.CodeRune, char)
		r.wait(300 * time.Millisecond)
	}
	r.press(station.CodeEnter, 0)
	assert.Empty(t, r.bird().Readings)

	comma := openWith(t, func(o *station.Options) {
		o.Typed = &device.DecoderOptions{Unit: length.MM, DecimalComma: true}
	}).told()
	for _, char := range "3,02" {
		comma.press(station.CodeRune, char)
	}
	comma.press(station.CodeEnter, 0)
	assert.Len(t, comma.bird().Readings, 1)
}

// checked is a label's text with its check character, which package device
// holds against a library.
func checked(t *testing.T, text string) string {
	t.Helper()
	c, err := device.Code39Check(text)
	require.NoError(t, err)
	return text + string(c)
}

func TestAScannerThatTypesIsDecodedLikeOneOnAPort(t *testing.T) {
	check := func(o *station.Options) { o.ScanCheck = true }
	withCheck := checked(t, scanned)

	r := openWith(t, check).told().burst("]A0"+withCheck, 0)
	assert.Equal(t, scanned, number(r))

	wrong := scanned + "%"
	require.NotEqual(t, withCheck, wrong)
	r = openWith(t, check).told().burst(wrong, 0)
	assert.Empty(t, number(r))
	r.shows("fails its check character", "the label is damaged")

	r = openWith(t, func(*station.Options) {}).told().burst("]C0"+scanned, 0)
	assert.Equal(t, scanned, number(r))

	r = openWith(t, func(o *station.Options) { o.ScanPrefix, o.ScanCheck, o.Asks = "\x02", true, true }).told()
	r.press(station.CodeControl, 'b')
	r.burst(takeCard, 0).shows("The caliper is asked.")
	r = openWith(t, func(o *station.Options) { o.Asks = true }).told().burst(takeCard, 0).shows("The caliper is asked.")
	assert.Empty(t, number(r))
	openWith(t, func(o *station.Options) { o.Asks = true }).told().burst("TAKE", 0).shows("The caliper is asked.")
}
