package station_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/bench"
)

func TestATraineesRecordWaitsForTheSupervisorByKeys(t *testing.T) {
	r := taught(t).flush().keys("e", "r", "a", "i", "001", "Enter")
	r.shows("v a supervisor looks: a trainee confirmed it").keys("F8", "Tab", "b", "F9").shows("the supervisor has not looked")
	r.keys("BackTab", "v").shows("Did a supervisor look at the closed band before that?").keys("n").shows("Nothing is recorded of it.")
	r.keys("v", "y", "Mira Tolland", "Enter", "f").shows("is a trainee in this shift")
	r.keys("Enter", "f").shows("Agnes Voe looked")
	looked, ok := r.saved[len(r.saved)-1].(bench.Supervised)
	require.True(t, ok)
	assert.Equal(t, "Agnes Voe", looked.By)
	r.keys("F9")
	assert.True(t, r.bird().Done())
}

func TestWhatTheSupervisorFindsByKeys(t *testing.T) {
	r := taught(t).flush().keys("v", "Enter", "g", "f").shows("Findings are marked").keys("Enter").shows("Found by Agnes Voe")
	assert.Equal(t, []string{"gap"}, r.bird().Closings[0].Findings)
	assert.Len(t, r.bird().Closings, 1, "it is no second closing")
	newRig(t).flush().keys("v").hides("supervisor")
}

func TestFurtherMeasuresByKeysAndCaliper(t *testing.T) {
	r := measures(t).told().keys("m").shows("1 wing, mm", "2 mass, g").keys("1").shows("flattened, straightened")
	r.readings(41230)
	wing, ok := r.bird().Measure("wing")
	require.True(t, ok)
	assert.Equal(t, "412.30", wing.Value)
	assert.Empty(t, r.bird().Readings, "it is no reading of the leg")
	r.shows("1 wing 412.30 mm").keys("2").readings(302).shows("No caliper measures mass in g")
	r.keys("31", "Enter").shows("2 mass 31 g").keys("2", "13", "Enter", "y", "Enter").shows("says nothing").keys("es, digits swapped", "Enter")
	mass, _ := r.bird().Measure("mass")
	assert.Equal(t, "13", mass.Value)
	assert.Equal(t, "yes, digits swapped", mass.Why)
	newRig(t).told().keys("m").hides("further")
}

func TestWhereAndWhenByKeys(t *testing.T) {
	r := newRig(t).told().keys("BackTab", "n", "Burrow 7", "Enter", "b", "2 of 3", "Enter", "r", "its burrow", "Enter")
	w := r.bird().Whence
	require.NotNil(t, w)
	assert.Equal(t, []string{"Burrow 7", "2 of 3", "its burrow"}, []string{w.Nest, w.Brood, w.ReturnedTo})
	r.keys("t", "noon", "Enter").shows("That is no time").keys("Ctrl+u", "4", "Enter")
	assert.InDelta(t, 4*time.Minute, r.at.Sub(r.bird().Captured()), float64(time.Second))
	held := r.bird().Opened.Sub(r.bird().Captured())
	assert.Greater(t, held, 3*time.Minute, "the time since capture counts from it")
	r.shows("nest Burrow 7 04:0").keys("t", "6:31", "Enter")
	assert.Equal(t, "06:31", r.bird().Captured().Format("15:04"))
	r.keys("t", "23:50", "Enter")
	assert.Equal(t, morning().AddDate(0, 0, -1).Day(), r.bird().Captured().Day(), "the last such time before now")

	soon := r.at.Add(2 * time.Minute).Format("15:04")
	r.keys("t", soon, "Enter").shows("That is no time of capture").keys("Esc")
	assert.Equal(t, "23:50", r.bird().Captured().Format("15:04"), "a time that is still to come is not yesterday's")

	// Its nest mate: the nest's clock goes on from the first bird.
	r.keys("t", "6:31", "Enter", "F2", "common tern", "Enter", "n", "u", "r", "BackTab", "n", "Enter").shows("nest Burrow 7 09:")
}

func TestACompleteRecordIsCorrectedThereToo(t *testing.T) {
	r := newRig(t).completed().keys("c", "found on the sheet", "Enter", "n", "Burrow 7", "Enter", "b", "1 of 1", "Enter")
	w := r.bird().Whence
	require.NotNil(t, w)
	assert.Equal(t, "1 of 1", w.Brood)
	assert.Equal(t, "found on the sheet", w.Why)
	assert.True(t, r.bird().Done())
}
