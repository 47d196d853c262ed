package station_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"seamfit/device"
	"seamfit/internal/bands"
	"seamfit/internal/bench"
	"seamfit/internal/catalogue"
	"seamfit/internal/fit"
	"seamfit/internal/length"
	"seamfit/station"
)

// The birds and benches of which pictures are kept.

// takenOff is a gull whose band had a spiral and came off.
func takenOff(t *testing.T) *rig {
	t.Helper()
	return hard(t, "herring", "s", "1236-56701", 722, 721, 723).keys("s", "Enter", "F6", "spiral", "Enter")
}

// onLeg is a gull at a bench that allows spot checks on a living leg.
func onLeg(t *testing.T) *rig {
	t.Helper()
	r := hard(t, "herring", "s", "1236-56701", 722, 721, 723)
	r.s.Options.SpotOnLeg = true
	return r
}

// measures is a bench that takes two further measures.
func measures(t *testing.T) *rig {
	t.Helper()
	r := newRig(t)
	r.s.Bench.Setup.Further = []bench.FurtherMeasure{{Name: "wing", Unit: "mm", Method: "flattened, straightened", AtMost: 900}, {Name: "mass", Unit: "g"}}
	return r
}

// ownWear is a bench that has measured worn bands.
func ownWear(t *testing.T) *rig {
	t.Helper()
	r := newRig(t)
	r.s.Bench.Setup.Wear = []catalogue.Wear{{Species: "Alca torda", Metal: "incoloy", PerYear: 0.021, U: 0.003, Birds: 7, Source: "bench's own: 7 bands"}}
	return r
}

// taught is a bench whose bander is a trainee.
func taught(t *testing.T) *rig {
	t.Helper()
	sitting := shift()
	sitting.People = bench.People{{Name: "Mira Tolland", Role: bench.RoleTrainee}, {Name: "Agnes Voe", Role: bench.RoleSupervisor}}
	return open(t, bench.State{Setup: setup(t), Shift: sitting}, options())
}

// triedTwice is a tern from whose leg two bands were taken off.
func triedTwice(t *testing.T) *rig {
	t.Helper()
	r := newRig(t)
	r.s.Bench.Setup.BandsLimit = 2
	return r.numbered().keys("o", "Enter", "F6", "overlap", "Enter", "1232-40002", "Enter", "o", "Enter", "F6", "overlap", "Enter")
}

// practised opens a shift whose bander has met one of two bench targets.
func practised(t *testing.T, required bool) *rig {
	t.Helper()
	set := setup(t)
	set.Practice = bench.Practice{
		Planned: []bench.BandKind{{Size: "2", Metal: "aluminium"}, {Size: "6", Metal: "stainless steel"}}, Required: required,
		Met: []bench.Practised{{Bander: "Mira Tolland", Size: "6", Metal: "stainless steel"}},
	}
	return open(t, bench.State{Setup: set, Shift: shift()}, options())
}

// hard is a bird whose band of hard metal is taken and not yet closed.
func hard(t *testing.T, species, metalKey, number string, hundredths ...int) *rig {
	t.Helper()
	r := newRig(t).keys("F2", species, "Enter", "a", "f", "r").readings(hundredths...).keys("1", metalKey, number, "Enter")
	band, _ := r.bird().CurrentBand()
	require.Equal(t, number, band.Number)
	return r
}

// ownSpecies is a bird of a species that a file of the user's own tells of.
func ownSpecies(t *testing.T, toml string) *rig {
	r := newRig(t)
	setup := *r.s.Bench.Setup
	own, err := setup.Book.With([]byte(toml), "own.toml")
	require.NoError(t, err)
	setup.Book = own
	r.s.Bench.Setup = &setup
	return r.keys("F2", "skerry guillemot", "Enter", "a", "u", "r")
}

// notRound is a bird whose listed size is no round band.
func notRound(t *testing.T) *rig {
	return ownSpecies(t, "[[catalogue]]\nname = \"us-federal\"\n[[catalogue.size]]\nlabel = \"K1\"\nshape = \"other\"\n"+
		"[[species]]\nscientific = \"Cepphus imaginarius\"\nenglish = \"Skerry Guillemot\"\nsizes = [{ size = \"K1\" }]\n").readings(602, 601, 603)
}

// outOfRange is a bird whose leg is wider than any of its species.
func outOfRange(t *testing.T) *rig {
	return ownSpecies(t, "[[species]]\nscientific = \"Cepphus imaginarius\"\nenglish = \"Skerry Guillemot\"\n"+
		"sizes = [{ size = \"5\", catalogue = \"us-federal\" }]\nmin_width = \"5.2 mm\"\nmax_width = \"6.4 mm\"\n").readings(662, 661, 663)
}

// withHistory is a bench that has measured a dozen female common terns.
func withHistory(t *testing.T) *rig {
	r := newRig(t)
	r.history = map[bench.Likeness]fit.History{{Species: "Sterna hirundo", Sex: "female", Age: "adult"}: {Median: 3.05, SD: 0.09, N: 12}}
	return r
}

func used(t *testing.T) *rig {
	r := newRig(t).sized()
	r.standing["1232-40007"] = bench.Standing{StockKept: true, State: bands.OnBird, Handling: "earlier"}
	return r.keys("1232-40007", "Enter")
}

// worst is a record refused with as much missing as can be at once.
func worst(t *testing.T) *rig {
	return newRig(t).keys("F2", "Tab", "Tab", "Tab", "1232-40001", "Enter", "f", "1", "Esc", "F9")
}

func tooFast(t *testing.T) *rig {
	r := newRig(t).flush()
	for _, char := range "erai" {
		r.press(station.CodeRune, char)
		r.at = r.at.Add(8 * time.Millisecond)
	}
	return r.wait(time.Second)
}

func refusedByRecords(t *testing.T) *rig {
	r := newRig(t).sized()
	r.records[r.bird().ID] = r.bird()
	r.failing = func([]bench.Fact) *station.SaveFailed {
		return &station.SaveFailed{Refused: true, What: "number 1232-40001 is on another bird"}
	}
	return r.keys("1232-40001", "Enter")
}

func lost(t *testing.T) *rig {
	r := newRig(t).told().readings(302)
	r.send(station.Linked{
		Moment: r.moment(), Device: station.Caliper, Trouble: "caliper is gone from /dev/ttyUSB0; trying to reach it again",
		Mend: "plug the cable in, or switch the caliper on and bring it near; readings can be typed meanwhile",
	})
	return r
}

func live(t *testing.T) *rig {
	r := newRig(t).told().readings(302)
	r.send(station.Live{Moment: r.moment(), Reading: device.Reading{Value: 2_810_000, Unit: length.MM, Resolution: 10_000}})
	return r
}

func batteryLow(t *testing.T) *rig {
	r := newRig(t).told()
	r.send(station.Remarked{Moment: r.moment(), Device: station.Caliper, What: "the caliper's battery is low", Low: true})
	return r
}

func badFrame(t *testing.T) *rig {
	r := newRig(t).told()
	r.send(station.Remarked{
		Moment: r.moment(), Device: station.Caliper, What: `"8.x2" is no frame of this wire form`,
		Mend: "measure again; if it comes back, check wire form, speed and framing",
	})
	return r
}

func notSaved(t *testing.T) *rig {
	r := newRig(t).measured()
	r.failing = func([]bench.Fact) *station.SaveFailed {
		return &station.SaveFailed{What: "the disk is full", Mend: "make room on the disk; what is on the screen is kept and saved as soon as there is room"}
	}
	return r.keys("1", "a")
}

func manyBirds(t *testing.T) *rig {
	r := newRig(t)
	for range 7 {
		r.keys("F2", "herring", "Enter")
	}
	return r
}
