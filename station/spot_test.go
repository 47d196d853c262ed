package station_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"seamfit/internal/bench"
	"seamfit/internal/length"
	"seamfit/internal/seam"
	"seamfit/station"
)

// A band that was taken off is judged by its widths: from the caliper or as
// typed. Nothing of it reaches the record.
func TestBandThatWasTakenOffIsMeasured(t *testing.T) {
	r := takenOff(t)
	saved, readings := len(r.saved), len(r.bird().Readings)
	r.keys("Ctrl+k").shows("The band that was taken off, size 6 stainless steel", "flush band of the same string")
	r.readings(1210).shows("Width 1 of 3, through the seam")
	r.readings(1242).shows("Width 2 of 3, 60° to its left").keys("12.40", "Enter").shows("Width 3 of 3, 60° to its right")
	r.readings(1238).shows("By its widths: gap", "(bench setting)", "Nothing of this is stored",
		"The look did not find this: gap. Look again", "What the eye saw stands, whatever the widths say: spiral")
	assert.Len(t, r.saved, saved)
	assert.Len(t, r.bird().Readings, readings)
	r.keys("m").shows("First the outer diameter").keys("x", "Enter").shows("That is no width")
	r.keys("Esc").hides("First the outer diameter")
}

// What was measured on the string of the band stands where nobody measures a
// flush band anew.
func TestBandIsJudgedByWhatWasMeasuredOnItsString(t *testing.T) {
	r := takenOff(t)
	r.strings = map[string]seam.StringMeasures{"1236-56701": {Outer: []length.Length{12_380_000, 12_400_000}, Thickness: []length.Length{1_400_000}}}
	r.keys("Ctrl+k").shows("Enter: as measured on 2 of its string").keys("Enter").readings(1242, 1240, 1238)
	r.shows("By its widths: flush").hides("By its widths: gap")

	r = takenOff(t).keys("Ctrl+k").shows("Enter: computed from the size").keys("12.10", "Enter").readings(1242, 1240, 1238)
	r.shows("By its widths: gap")
}

// On a living leg nothing is measured unless the settings say so; then a
// finding that the look missed leads to another look, and the measurement
// itself records none.
func TestLivingLegIsMeasuredOnlyWhereTheSettingsSaySo(t *testing.T) {
	r := hard(t, "herring", "s", "1236-56701", 722, 721, 723).keys("f", "Ctrl+k")
	r.shows("On a living leg a band is looked at, not measured", "seam.on_leg")
	assert.Contains(t, codes(r.s.Refused), station.CodeNoSpot)

	r = onLeg(t).keys("f", "Ctrl+k", "Enter").readings(1312, 1212, 1210)
	r.shows("step suspected: look for an overlap", "The look did not find this: overlap").hides("Gap seen outside")
	closings := len(r.bird().Closings)
	r.keys("l").shows("Closing 2")
	assert.Len(t, r.bird().Closings, closings, "only a look that is told counts")
	r.keys("o", "Enter")
	assert.Equal(t, []string{"overlap"}, r.bird().Closings[closings].Findings)
}

// What can't be a closed band is said, not judged.
func TestWidthsThatCanNotBeAreSaid(t *testing.T) {
	r := takenOff(t).keys("Ctrl+k", "12.10", "Enter").readings(240, 240, 240)
	r.shows("not above twice the thickness").hides("By its widths")
	newRig(t).keys("Ctrl+k").shows("No bird is open")
	newRig(t).numbered().keys("Ctrl+k").shows("there is nothing to measure")
	newRig(t).told().keys("Ctrl+k").shows("Choose the size first")
}

func codes(blockers []bench.Blocker) []bench.Code {
	all := make([]bench.Code, len(blockers))
	for i, b := range blockers {
		all[i] = b.Code
	}
	return all
}
