package station_test

import (
	"context"
	"errors"
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/bench"
	"seamfit/station"
)

// wornBefore is a tern that wears a band of which the records know something.
func wornBefore(t testing.TB, inscription string, found ...station.Track) *rig {
	t.Helper()
	r := newRig(t).measured()
	r.tracks = map[string]station.Tracks{inscription: {Found: found, More: 3 * (len(found) / 8)}}
	return r.keys("F4", inscription, "Enter")
}

func known() station.Track {
	return station.Track{Number: "1232-40001", Words: []string{
		"2028-06-01 received: 1232-40001 to 1232-40100  (A. Holm)", "2029-05-14 taken for a bird, Sterna hirundo  (Mira Tolland)",
		"2029-05-14 closing: flush  (Mira Tolland)", "2029-05-14 left the hand banded  (Mira Tolland)",
	}}
}

// many are numbers that an inscription with unread digits could be.
func many() []station.Track {
	tracks := make([]station.Track, 8)
	for i := range tracks {
		tracks[i] = station.Track{Number: fmt.Sprintf("1232-400%d1", i), Words: []string{"2029-05-14 left the hand banded  (Mira Tolland)"}}
	}
	return tracks
}

// What the records tell of a band that a bird wears is shown while it is told.
func TestTheHistoryOfAFoundBandIsShown(t *testing.T) {
	r := wornBefore(t, "1232-40001", known()).shows("1232-40001 in these records:", "taken for a bird, Sterna hirundo", "left the hand banded", "On which leg is it?")
	r.keys("l").shows("taken for a bird, Sterna hirundo", "condition:").keys("worn", "Enter", "Enter").shows("taken for a bird, Sterna hirundo", "What is done about it?")
	r.keys("l").hides("in these records")
	wornBefore(t, "1232-40002").shows("These records tell nothing of 1232-40002.")
	wornBefore(t, "1232-400?1", many()...).shows("In these records it could be:", "1232-40001 2029-05-14 left the hand banded", "besides: seamfit bands show lists them", "On which leg is it?")
}

// An answer that comes late, about another band, is not shown for this one.
func TestALateAnswerAboutAnotherBandIsNotShown(t *testing.T) {
	r := newRig(t).measured()
	r.hold = true
	r.keys("F4", "1232-40001", "Enter")
	late := station.Traced{Moment: r.moment(), Tracks: station.Tracks{Inscription: "1232-40001", Found: []station.Track{known()}}}
	r.keys("F4", "1232-40077", "Enter")
	r.send(late)
	r.hides("in these records")
}

func TestTheLoopTraces(t *testing.T) {
	for name, answer := range map[string]struct {
		found []station.Track
		err   error
		shown string
	}{
		"found":   {[]station.Track{known()}, nil, "1232-40001 in these records"},
		"trouble": {nil, errors.New("disk error"), "The records could not be looked through (disk error)."},
	} {
		t.Run(name, func(t *testing.T) {
			inBubble(t, func(t *testing.T) {
				s := newSession(t)
				var asked []string
				s.cfg.Trace = func(_ context.Context, inscription string) (station.Tracks, error) {
					asked = append(asked, inscription)
					return station.Tracks{Found: answer.found}, answer.err
				}
				s.start().keys("F2", "common tern", "Enter", "a", "f", "r", "F4", "1232-40001", "Enter")
				s.shows(answer.shown)
				assert.Equal(t, []string{"1232-40001"}, asked)
				s.keys("Ctrl+q", "y")
				require.NoError(t, s.end())
			})
		})
	}
}

// A found band that these records have on another bird, or on the other leg, is
// to be read again before it is told.
func TestAFoundBandOfAnotherBirdIsSaid(t *testing.T) {
	track := known()
	track.Species, track.Leg = "Larus argentatus", bench.LegLeft
	wornBefore(t, "1232-40001", track).shows("! 1232-40001 was on another bird or leg in these records: Herring Gull, left leg. Read it again")
	track.Species = "Sterna hirundo"
	r := wornBefore(t, "1232-40001", track).hides("another bird or leg").keys("r").shows("Common Tern, left leg. Read it again")
	r.keys("worn", "Enter", "Enter", "l")
	_, found := r.bird().FoundOnLeg()
	assert.True(t, found, "the band on the leg wins")
}

// Esc goes back one question of a found band, and keeps what was answered.
func TestEscGoesBackOneQuestionOfAFoundBand(t *testing.T) {
	r := wornBefore(t, "1232-40001").keys("l", "worn", "Enter", "elsewhere", "Enter").shows("What is done about it?")
	r.keys("Esc").shows("scheme: elsewhere").keys("Esc").shows("condition: worn").keys("Esc").shows("On which leg is it?")
	r.keys("Esc").shows("1232-40001").keys("Esc").hides("On which leg is it?")
	assert.Empty(t, r.bird().Bands)
	r = wornBefore(t, "1232-40001").keys("l", "worn", "Enter", "elsewhere", "Enter", "Esc", "Enter", "l")
	require.Len(t, r.bird().Bands, 1)
	assert.Equal(t, "elsewhere", r.bird().Bands[0].Scheme)
}
