package station_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/bench"
	"seamfit/station"
)

// usualShift is a bench whose settings say what usually holds for a shift.
func usualShift(t testing.TB) *rig {
	t.Helper()
	o := options()
	o.Usual = station.Usual{
		Place: "Hollow Skerry", Bander: "Mira Tolland", Permit: "P-77", Scribe: "Ola Brent",
		Point:   &bench.Point{Latitude: "56.184", Longitude: "-4.012", AccuracyM: "5"},
		Details: []bench.ShiftDetail{bench.Person{Name: "Ada Renn", Role: bench.RolePermitHolder}, bench.Instrument{What: "balance", Name: "B-2"}},
	}
	return open(t, bench.State{Setup: setup(t)}, o).keys("Enter")
}

// What is usual is taken with Enter, and told with the shift.
func TestTheUsualShiftIsOpenedWithEnter(t *testing.T) {
	r := usualShift(t).shows("Enter Hollow Skerry").keys("Enter", "Enter").shows("Enter P-77").keys("Enter").shows("The shift is open.")
	s := r.s.Bench.Shift
	require.NotNil(t, s)
	assert.Equal(t, "Mira Tolland", s.Bander)
	assert.Equal(t, "Ola Brent", s.Scribe)
	assert.Equal(t, &bench.Point{Latitude: "56.184", Longitude: "-4.012", AccuracyM: "5", Datum: "WGS 84"}, s.Point)
	assert.Equal(t, bench.RolePermitHolder, s.People.Role("Ada Renn"))
	assert.Len(t, s.Instruments, 1)
	assert.Len(t, r.saved, 4, "the shift and its details are saved")

	r = usualShift(t).keys("Long Ness", "Enter", "Enter", "Enter")
	assert.Nil(t, r.s.Bench.Shift.Point, "the position is that of the usual place")
}

// The clock is compared with a watch: the difference is kept and shown, and
// more than a minute is warned of until another comparison says otherwise.
func TestTheClockIsComparedWithAWatch(t *testing.T) {
	r := newRig(t).shows("Ctrl+P the shift: the clock against your watch").keys("Ctrl+p").shows("watch not compared yet")
	r.keys("w").shows("The clock says 06:40:02. What does your watch say?")
	r.keys("noon", "Enter").shows("That is no time of day").keys("Ctrl+u", "06:43:10")
	clock := r.at
	r.keys("Enter").shows("the clock is 3m3s behind the watch, at 06:40:07")
	require.NotNil(t, r.s.Bench.Shift.Watch)
	assert.Equal(t, clock, r.s.Bench.Shift.Watch.Clock)
	assert.Equal(t, time.Date(2031, 5, 17, 6, 43, 10, 0, time.UTC), r.s.Bench.Shift.Watch.Watch)
	r.keys("Enter").shows("! The clock is 3m3s behind the watch: set it right").hides("the clock against your watch")
	r.keys("F2").shows("! The clock is 3m3s behind the watch")
	r.keys("Ctrl+p", "w", "06:40", "Enter").shows("clock and watch agree").keys("Esc").hides("behind the watch")
}

// A watch on the other side of midnight is minutes away, not a day.
func TestAWatchAcrossMidnight(t *testing.T) {
	for typed, want := range map[string]time.Duration{"23:58:00": -3 * time.Minute, "00:03:00": 2 * time.Minute} {
		r := newRig(t)
		r.at = time.Date(2031, 5, 18, 0, 0, 58, 0, time.UTC)
		r.keys("Ctrl+p", "w", typed)
		r.at = time.Date(2031, 5, 18, 0, 1, 0, 0, time.UTC)
		r.keys("Enter")
		assert.Equal(t, want, r.s.Bench.Shift.Watch.Behind(), typed)
	}
}

func TestTheShiftIsToldItsPlacePeopleAndInstruments(t *testing.T) {
	r := newRig(t).keys("Ctrl+p", "p", "96, 4", "Enter").shows(`"96" is no latitude`)
	r.keys("Ctrl+u", "56,184; -4,012; 5 m", "Enter").shows("latitude 56.184, longitude -4.012, within 5 m (WGS 84)")
	r.keys("p", "56.2, -4.1, 12, NAD 83", "Enter").shows("latitude 56.2, longitude -4.1, within 12 m (NAD 83)")
	r.keys("n", "Jon Arve", "Enter").shows("Jon Arve is the shift's:").keys("t").shows("trainee Jon Arve")
	r.keys("n", "Jon Arve", "Enter", "s").shows("a person has one role in a shift").keys("Esc")
	r.keys("i", "balance, B-2, checked against 100 g", "Enter").shows("balance B-2 checked against 100 g")
	r.keys("i", "balance", "Enter").shows("Say which instrument it is").keys("Esc", "Esc").shows("F2 begins a bird")
	s := r.s.Bench.Shift
	assert.Equal(t, bench.RoleTrainee, s.People.Role("Jon Arve"))
	assert.Len(t, s.Instruments, 1)
}

// The page is in nobody's way: the bird's keys work through it, and what was
// typed for the bird is still there.
func TestTheShiftPageIsInNobodysWay(t *testing.T) {
	r := newRig(t).sized().keys("1232-4", "Ctrl+p").shows("position not told")
	r.burst("1232-40001", 5*time.Millisecond).shows("the bench waits for another answer")
	r.keys("F8")
	assert.False(t, r.bird().InHand())
	r.keys("Esc").shows("number: 1232-4")
	r.keys("Ctrl+p", "F2").shows("species:")
	r = open(t, bench.State{Setup: setup(t)}, options()).keys("Ctrl+p", "Enter", "Ctrl+p").shows("place:").hides("position")
	assert.Nil(t, r.s.Bench.Shift)
}

// A detail of the shift that the records refuse is dropped; the shift goes on,
// and is not asked for anew.
func TestARefusedDetailLeavesTheShiftAsItWas(t *testing.T) {
	r := newRig(t).told().keys("Ctrl+p", "n", "Ada Renn", "Enter", "u")
	r.failing = func([]bench.Fact) *station.SaveFailed {
		return &station.SaveFailed{Refused: true, What: "a trainee is told before the first closing that they confirm"}
	}
	r.keys("n", "Jon Arve", "Enter", "t").shows("refused by the records (a trainee is told before")
	require.NotNil(t, r.s.Bench.Shift)
	assert.Equal(t, bench.People{{Name: "Ada Renn", Role: bench.RoleSupervisor}}, r.s.Bench.Shift.People)
	assert.Equal(t, r.s.Bench.Shift.People, r.bird().People)
	r.failing = nil
	r.keys("n", "Jon Arve", "Enter", "s").shows("scribe Jon Arve")
	told := r.saved[len(r.saved)-1].(bench.ShiftTold)
	assert.Equal(t, 2, told.Seq, "counted on from what was kept")
}
