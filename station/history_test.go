package station_test

import (
	"context"
	"errors"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/bench"
	"seamfit/internal/fit"
	"seamfit/station"
)

// The bench's own birds are asked for once for each way in which a bird is
// described, and stand behind the ruler. (3.02 − 3.05)/√(0.09² + u²) with u of
// about 0.021 mm is −0.3.
func TestTheBenchRemembersItsOwnBirds(t *testing.T) {
	r := withHistory(t).told().shows("earlier birds here: 3.05 mm, SD 0.09 mm, of 12")
	r.readings(302).shows("this one -0.3 SD", "·before")
	r.readings(302, 301)
	history, known := r.s.Bench.History(r.bird())
	require.True(t, known)
	assert.Equal(t, 12, history.N)
	assert.Len(t, r.s.LookedFor, 1)

	// Described anew, it is another kind of bird.
	r.keys("Esc", "BackTab", "BackTab", "x", "m")
	assert.Equal(t, "male", r.bird().Bird.Sex)
	assert.Equal(t, "male", r.s.LookedFor[0].Sex)
	assert.Len(t, r.s.LookedFor, 1)
	r.hides("·before")
}

// A width far from the bench's own is warned of and still taken (robust z
// above 3.5: Iglewicz and Hoaglin 1993, How to Detect and Handle Outliers).
func TestAWidthFarFromHistoryWarnsAndIsNotRefused(t *testing.T) {
	r := withHistory(t).told().readings(352, 351, 353).keys("w").shows("leg 3.52 mm is far from this bench's own (median 3.05 mm of 12 birds, robust z +5.1)")
	r.keys("x", "1", "a")
	require.NotNil(t, r.bird().Choice)
	assert.Empty(t, r.bird().Choice.Reason)
}

func TestHistoryThatCannotBeReadIsSaidOnce(t *testing.T) {
	r := newRig(t)
	r.hold = true
	r.told()
	r.waiting = nil
	r.send(station.LookedBack{Moment: r.moment(), Like: r.bird().Like(), Trouble: "disk error"})
	r.shows("The widths of earlier birds could not be read (disk error): this leg is judged without them.")
	r.hold = false
	r.readings(302).hides("could not be read")
}

func TestTheLoopLooksBack(t *testing.T) {
	for name, answer := range map[string]struct {
		err   error
		shown string
	}{
		"found":   {nil, "earlier birds here: 3.05 mm"},
		"trouble": {errors.New("disk error"), "could not be read (disk error)"},
	} {
		t.Run(name, func(t *testing.T) {
			inBubble(t, func(t *testing.T) {
				s := newSession(t)
				var asked []bench.Likeness
				s.cfg.History = func(_ context.Context, like bench.Likeness) (fit.History, error) {
					asked = append(asked, like)
					return fit.History{Median: 3.05, SD: 0.09, N: 12}, answer.err
				}
				s.start().keys("F2", "common tern", "Enter", "a", "f", "r")
				s.shows(answer.shown)
				require.Len(t, asked, 1)
				assert.Equal(t, "Sterna hirundo", asked[0].Species)
				assert.NotEmpty(t, asked[0].Except)
				s.keys("Ctrl+q", "y")
				require.NoError(t, s.end())
			})
		})
	}
}
