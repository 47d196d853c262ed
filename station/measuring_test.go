package station_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/bench"
	"seamfit/station"
)

func TestALegGaugeByKeys(t *testing.T) {
	r := newRig(t).keys("F2", "herring gull larus arg", "Enter", "a", "u", "r").shows("g leg gauge")
	r.keys("g", "6", "Enter").shows("Leg gauge: slot 6.", "►1 ■ 6")
	r.keys("Enter", "s").shows("leg gauge, slot 6")
	assert.Equal(t, station.StepNumber, r.s.Desk.Step)
	choice := r.bird().Choice
	assert.Equal(t, bench.MethodLegGauge, choice.Method)
	assert.Equal(t, "6", choice.Slot)
	assert.Empty(t, choice.Reason)

	// A slot that speaks of another size is against advice.
	r = newRig(t).keys("F2", "herring gull larus arg", "Enter", "a", "u", "r", "g", "5", "Enter").shows("Leg gauge: slot 5.")
	r.keys("1", "s").shows("the gauge's slot is that of 5", "reason:").keys("the slot is worn", "Enter")
	assert.Equal(t, "5", r.bird().Choice.Slot)
	assert.Equal(t, "the slot is worn", r.bird().Choice.Reason)
}

// A remembered list is no office's: the leg is measured, whatever the settings
// say of its species.
func TestARememberedSizeIsNotTakenUnmeasured(t *testing.T) {
	r := newRig(t)
	r.s.Bench.Setup.Established = []string{"Herring Gull"}
	r.keys("F2", "herring gull larus arg", "Enter", "a", "u", "r", "Tab").shows("its list here is not verified: measure the leg")
	r.keys("1", "s").shows("not measured")
	assert.Nil(t, r.bird().Choice)
}

func TestAnEstablishedSizeByKeys(t *testing.T) {
	r := newRig(t)
	r.s.Bench.Setup.Established = []string{"Common Tern"}
	r.told().keys("Tab").shows("Established for this species by the settings").keys("1", "a")
	assert.Equal(t, bench.MethodEstablished, r.bird().Choice.Method)
	r.shows("established size, not measured")
	assert.Equal(t, station.StepNumber, r.s.Desk.Step)
}

// What the jaws close on is said once for the bird, and shown with each
// reading.
func TestOverFeathersByKeys(t *testing.T) {
	r := newRig(t).keys("F2", "great horned", "Enter", "a", "f", "r").shows("f now of the bare leg").keys("f").shows("f now over the feathers")
	r.readings(1204, 1206).shows("12.04 over 12.06 over", "mm, 2 over feathers")
	r.keys("t", "12.05", "Enter")
	for _, reading := range r.bird().Readings {
		assert.Equal(t, bench.FeathersOver, reading.Feathers)
	}
	r.keys("BackTab").keys("f").readings(1120).shows("mm, 1 under feathers")
}

func TestTheWallOfAFoundBandByKeys(t *testing.T) {
	r := newRig(t).keys("F2", "herring gull larus arg", "Enter", "a", "u", "r").hides("wall of the found band").keys("w")
	r.readings(722)
	assert.Equal(t, bench.AxisGreatest, r.bird().Readings[0].Axis)
	r.keys("F4", "1236-56701", "Enter", "l", "worn", "Enter", "Enter", "l")
	for r.s.Desk.Step != station.StepLeg {
		r.keys("BackTab")
	}
	r.shows("wall of the found band").keys("w").shows("Now the wall of the band").readings(110, 721)
	readings := r.bird().Readings
	require.Len(t, readings, 3)
	assert.Equal(t, bench.AxisWall, readings[1].Axis)
	assert.Equal(t, bench.AxisGreatest, readings[2].Axis)
	widths, _ := r.bird().Counted()
	assert.Len(t, widths, 2)
}

// A nestling whose leg is too small is let go with one key.
func TestTooSmallForABand(t *testing.T) {
	r := newRig(t).keys("F2", "herring gull larus arg", "Enter", "n", "u", "r").readings(452, 451, 453).shows("n not banded").keys("w").shows("young bird: the leg may still grow").keys("Esc", "n")
	h := r.bird()
	require.NotNil(t, h.Fate)
	assert.Equal(t, bench.FateUnbanded, h.Fate.Fate)
	assert.Equal(t, "not banded, too small", h.Fate.Reason)
	r.keys("F9")
	assert.True(t, r.bird().Done())

	// A species that takes no metal leg band is let go for that reason.
	r = newRig(t).keys("F2", "turkey vulture", "Enter", "a", "u", "r").readings(1022, 1020, 1021).shows("no metal leg band", "n not banded").keys("n")
	assert.Equal(t, "not banded, no metal leg band for this species", r.bird().Fate.Reason)

	// An adult whose leg fits has no such key.
	r = newRig(t).measured().hides("n not banded").keys("n")
	assert.Nil(t, r.bird().Fate)
}

// A button pressed by the way, with a band in hand, does not change the leg that
// the band was chosen for.
func TestAStrayReadingIsNotTheLegs(t *testing.T) {
	r := newRig(t).told().readings(302, 301, 303).keys("1", "a", "1232-40001", "Enter")
	r.readings(955).shows("9.55 mm came while a band is taken, and is not the leg's", "go to the leg with Tab")
	assert.Len(t, r.bird().Readings, 3)
	r.keys("f").readings(955).shows("is not the leg's")
	assert.Len(t, r.bird().Readings, 3)
	for r.s.Desk.Step != station.StepLeg {
		r.keys("Tab")
	}
	r.readings(955).shows("DISAGREE")
	assert.Len(t, r.bird().Readings, 4)
	r.keys("F8")
	for r.s.Desk.Step != station.StepFate {
		r.keys("Tab")
	}
	r.keys("b").shows("The leg's readings disagree: set the wrong one aside")
}
