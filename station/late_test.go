package station_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/bench"
)

// late opens a station to type in a sheet, past the cautions.
func late(t testing.TB, shift *bench.Shift) *rig {
	t.Helper()
	o := options()
	o.Late = true
	r := open(t, bench.State{Setup: setup(t), Shift: shift}, o)
	if shift == nil {
		r.keys("Enter")
	}
	return r
}

// typist is who types the sheet of these tests in; the bander is another one.
const typist = "Ola Brent"

// sheet begins the sheet of the day before.
func sheet(t testing.TB) *rig {
	t.Helper()
	r := late(t, nil).shows("LATE ENTRY", "date:").keys("2031-05-16 05:40", "Enter", typist, "Enter")
	return r.keys("Hollow Skerry", "Enter", "Mira Tolland", "Enter", "P-77", "Enter").shows("LATE ENTRY 2031-05-16", "takes the next bird of the sheet")
}

func at(hour, minute int) time.Time { return time.Date(2031, 5, 16, hour, minute, 0, 0, time.UTC) }

// onSheet is the first bird of the sheet, with its width typed.
func onSheet(t testing.TB) *rig {
	t.Helper()
	r := sheet(t).keys("F2").shows("When was the next bird of the sheet caught?").keys("6:05", "Enter", "common tern", "Enter", "a", "f", "r")
	return r.keys("t", "3.02", "Enter").shows("Width 2 of 3").keys("3.01", "Enter", "3.03", "Enter")
}

// A whole bird from paper: each fact happened at the bird's time, was entered
// now, is the bander's, and was typed by the typist; what completes the record
// is the same as at the bench.
func TestABirdFromPaper(t *testing.T) {
	r := onSheet(t).shows("►1 Common Tern caught 06:05")
	text := r.text()
	r.wait(20 * time.Minute).hides("in the hand longer")
	assert.Contains(t, r.text(), "►1 Common Tern caught 06:05", "no clock runs")
	assert.Contains(t, text, "LATE ENTRY 2031-05-16")
	r.keys("1", "a", "1232-40001", "Enter", "g", "Enter", "f").keys("F9").shows("Not stated of the last closing: Edges meet all round.")
	r.keys("e", "r", "a", "i", "0").shows("as the sheet has them under read-back").keys("01", "Enter").shows("The closing is confirmed.")
	r.keys("F8").shows("When did it leave the hand?").keys("06:11", "Enter").shows("Left the hand at 06:11:00").keys("b", "Enter").shows("The record of bird 1 is complete.")
	require.NotEmpty(t, r.saved)
	for _, f := range r.saved {
		h := f.Key()
		assert.Equal(t, "Mira Tolland", h.By, "%T", f)
		assert.Equal(t, typist, h.Typed, "%T", f)
		assert.True(t, h.Entered.After(morning().Add(-time.Second)), "%T", f)
		switch f.(type) {
		case bench.ShiftOpened:
			assert.Equal(t, at(5, 40), h.At)
		case bench.LeftHand:
			assert.Equal(t, at(6, 11), h.At)
		default:
			assert.Equal(t, at(6, 5), h.At, "%T", f)
		}
	}
	assert.Equal(t, at(6, 5), r.bird().Opened)
	assert.Equal(t, at(6, 11), r.bird().Left)
	assert.Equal(t, at(5, 40), r.s.Bench.Shift.Started)
}

func TestWhenTheSheetDoesNotSayWhenABirdLeft(t *testing.T) {
	r := onSheet(t).keys("F8", "Enter")
	assert.Equal(t, at(6, 5), r.bird().Left)
	r.keys("F8").shows("This bird left the hand at 06:05:00")
}

// Times of a sheet that crosses midnight belong to the next day; what can't be
// is asked again.
func TestTimesOfASheet(t *testing.T) {
	r := late(t, nil)
	for _, wrong := range []string{"16.5.2031", "2031-06-01", "yesterday"} {
		r.keys(wrong, "Enter").shows("date:")
		assert.NotEmpty(t, r.s.Refused, wrong)
		r.keys("Ctrl+u")
	}
	r.keys("Enter").shows("This line is needed")
	r.keys("F2").shows("Finish this page first")
	r.keys("2031-05-15 21:40", "Enter", typist, "Enter", "Hollow Skerry", "Enter", "Mira Tolland", "Enter", "P-77", "Enter")
	for _, c := range []struct {
		typed string
		want  time.Time
	}{
		{"21:40", time.Date(2031, 5, 15, 21, 40, 0, 0, time.UTC)},
		{"2359", time.Date(2031, 5, 15, 23, 59, 0, 0, time.UTC)},
		{"23:59:30", time.Date(2031, 5, 15, 23, 59, 30, 0, time.UTC)},
		{"0:10", time.Date(2031, 5, 16, 0, 10, 0, 0, time.UTC)},
	} {
		r.keys("F2", c.typed, "Enter")
		assert.Equal(t, c.want, r.bird().Opened, c.typed)
	}
	r.keys("F8", "00:02", "Enter").shows("00:02 comes before 00:10: read the time again")
	r.keys("Ctrl+u", "noon", "Enter").shows(`"noon" is no time of day: write it like 06:05`)
	assert.True(t, r.bird().InHand())
	r.keys("Esc", "F2", "21:30", "Enter").shows("21:30 comes before 21:40")
	r.keys("Esc").hides("caught at:")
	assert.Len(t, r.s.Bench.Handlings, 4)
}

func TestASheetOfTheOpenShift(t *testing.T) {
	r := late(t, shift()).keys("2031-05-17", "Enter", typist, "Enter").shows("A shift is open: Hollow Skerry", "Do the sheet's birds belong to it?")
	r.keys("n").shows("One shift is open at a time", "seamfit shift close")
	r.keys("F2").shows("Finish this page first")
	r.keys("y").shows("takes the next bird of the sheet").keys("F2", "06:10", "Enter")
	assert.Equal(t, "shift", r.bird().Shift)
	assert.Equal(t, time.Date(2031, 5, 17, 6, 10, 0, 0, time.UTC), r.bird().Opened)
	r.keys("F2", "06:59", "Enter").shows("06:59 is still to come")
}

// Birds that were not finished are taken up again, with the times they have.
func TestALateBirdIsTakenUpAgain(t *testing.T) {
	r := onSheet(t)
	h := r.bird()
	o := options()
	o.Late = true
	again := open(t, bench.State{Setup: setup(t), Shift: r.s.Bench.Shift, Handlings: []bench.Handling{h}, Active: h.ID}, o)
	again.keys("F8").shows("Finish this page first")
	again.keys("2031-05-16 05:40", "Enter", typist, "Enter", "y").shows("►1 Common Tern caught 06:05").keys("1", "a")
	last := again.saved[len(again.saved)-1].Key()
	assert.Equal(t, at(6, 5), last.At)
	assert.Equal(t, typist, last.Typed)
}

func TestASheetsQuestionIsShownWhole(t *testing.T) {
	onSheet(t).keys("F8").shows("the sheet does not say, and the time of", "the capture stands for it. Esc goes back.")
}
