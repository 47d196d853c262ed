package metrology

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"seamfit/internal/length"
)

const millimetre = length.Millimetre

func threeRods(t require.TestingT) []PlannedRod {
	planned, err := Plan([]Rod{
		{Name: "R-12", Diameter: 12 * millimetre, U: 1000},
		{Name: "R-4", Diameter: 4 * millimetre, U: 1000},
		{Name: "R-8", Diameter: 8 * millimetre, U: 1000},
	}, Temperatures{})
	require.NoError(t, err)
	return planned
}

func newGuide(t require.TestingT, perRod int) Guide {
	setup := CalibrationSetup{MPE: DIN862(), Resolution: 10_000, Pivot: 8}
	g, err := NewGuide(threeRods(t), perRod, Component{U: 0.01, DOF: math.Inf(1)}, setup)
	require.NoError(t, err)
	return g
}

func TestAGuideAsksForEachRodInItsTurn(t *testing.T) {
	g := newGuide(t, 2)
	var order []string
	for {
		rod, number, more := g.Next()
		if !more {
			break
		}
		order = append(order, g.Rods[rod].Rod.Name)
		g = g.Take(rod, g.Rods[rod].Reference+length.Length(number)*10_000)
	}
	assert.Equal(t, []string{"R-4", "R-4", "R-8", "R-8", "R-12", "R-12"}, order)
	c, err := g.Result()
	require.NoError(t, err)
	assert.Equal(t, 6, c.N)
	assert.InDelta(t, -0.015, c.OffsetMM, 1e-6)

	g = g.SetAside(2, "tilted")
	rod, number, more := g.Next()
	assert.True(t, more)
	assert.Equal(t, "R-8", g.Rods[rod].Rod.Name)
	assert.Equal(t, 2, number, "a reading set aside is asked for again")
	assert.Len(t, g.Readings(), 6, "and stays")
	_, _, more = g.Skip(rod).Next()
	assert.False(t, more)
}

func TestAGuideDoubtsWhatDisagrees(t *testing.T) {
	g := newGuide(t, 3)
	for _, v := range []length.Length{4_010_000, 4_010_000} {
		assert.Empty(t, g.Judge(0, v).Doubt)
		g = g.Take(0, v)
	}
	remark := g.Judge(0, 4_060_000)
	assert.Contains(t, remark.Doubt, "0.050 mm apart")
	assert.False(t, remark.Impossible, "it may be kept")
	assert.False(t, remark.Fitted)
	assert.InDelta(t, 0.06, remark.ErrorMM, 1e-12)
	g = g.Take(0, 4_020_000)
	for range 3 {
		g = g.Take(1, 8_020_000)
	}
	on := g.Judge(2, 12_030_000)
	assert.Empty(t, on.Doubt)
	require.True(t, on.Fitted)
	assert.InDelta(t, 0, on.ResidualMM, 0.005)
	assert.Contains(t, g.Judge(2, 12_200_000).Doubt, "off the line of the other rods")
}

func TestAGuideKnowsSlipsThatNoCalibrationCanUse(t *testing.T) {
	g := newGuide(t, 3)
	other := g.Judge(1, 4_010_000)
	assert.Contains(t, other.Doubt, "reads like rod R-4 of 4.00 mm")
	assert.True(t, other.Impossible)
	inches := g.Judge(1, 315_000) // 8 mm are 0.315 in
	assert.Contains(t, inches.Doubt, "inches")
	assert.True(t, inches.Impossible)
	typed := g.Judge(0, 40_100_000)
	assert.True(t, typed.Impossible)
	// The same zero error on each rod is one that a calibration can measure.
	for rod := range 3 {
		for range 3 {
			g = g.Take(rod, g.Rods[rod].Reference+900_000)
		}
	}
	g = g.SetAside(8, "again")
	off := g.Judge(2, 12_900_000)
	assert.NotEmpty(t, off.Doubt)
	assert.False(t, off.Impossible)
	_, err := g.Result()
	require.NoError(t, err)
}

// What a guide lets be kept, Calibrate takes, whatever comes: a person's work
// must not be lost at the end.
func TestWhatAGuideKeepsACalibrationTakes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g := newGuide(t, 3)
		skipped := false
		for {
			rod, _, more := g.Next()
			if !more {
				break
			}
			value := g.Rods[rod].Reference + length.Length(rapid.IntRange(-40_000_000, 40_000_000).Draw(t, "nm"))/
				length.Length(rapid.SampledFrom([]int{1, 10, 1000, 1000, 1000}).Draw(t, "scale"))
			impossible := g.Judge(rod, value).Impossible
			g = g.Take(rod, value)
			if impossible {
				g = g.SetAside(len(g.Readings())-1, "impossible")
				if len(g.Readings()) > 40 {
					g, skipped = g.Skip(rod), true
				}
			}
		}
		counted := 0
		for _, r := range g.Readings() {
			if r.SetAside == "" {
				counted++
			}
		}
		if _, err := g.Result(); err != nil {
			// The first readings of all have nothing to be unlike; the reading
			// is named, and can be set aside.
			var row *RowError
			require.ErrorAs(t, err, &row)
			assert.True(t, row.Line > 0 || counted < fewestReadings || skipped, "%v", err)
		}
	})
}

// With readings of exactly the stated scatter a doubt is rare: the critical
// range is that of 95 %, asked for each reading after the first on a rod.
func TestAGuideSeldomDoubtsGoodReadings(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	doubts, asked := 0, 0
	for range 400 {
		g := newGuide(t, 4)
		for {
			rod, number, more := g.Next()
			if !more {
				break
			}
			value, err := length.FromMM(g.Rods[rod].Reference.MM() + 0.01*rng.NormFloat64())
			require.NoError(t, err)
			if number > 1 {
				asked++
				if g.Judge(rod, value).Doubt != "" {
					doubts++
				}
			}
			g = g.Take(rod, value)
		}
	}
	rate := float64(doubts) / float64(asked)
	assert.Less(t, rate, 0.05, "the display's rounding is in the limit too, so it is below 5 %%")
	assert.Greater(t, rate, 0.01)
}

func TestGuidesWithoutSenseAreRefused(t *testing.T) {
	rods := threeRods(t)
	repeats := Component{U: 0.01, DOF: 10}
	for name, try := range map[string]func() error{
		"one rod":     func() error { _, err := NewGuide(rods[:1], 3, repeats, CalibrationSetup{}); return err },
		"no reading":  func() error { _, err := NewGuide(rods, 0, repeats, CalibrationSetup{}); return err },
		"no SD":       func() error { _, err := NewGuide(rods, 3, Component{}, CalibrationSetup{}); return err },
		"NaN":         func() error { _, err := NewGuide(rods, 3, repeats, CalibrationSetup{Pivot: math.NaN()}); return err },
		"one planned": func() error { _, err := Plan([]Rod{{Name: "a", Diameter: millimetre}}, Temperatures{}); return err },
		"one diameter": func() error {
			_, err := Plan([]Rod{{Name: "a", Diameter: millimetre}, {Name: "b", Diameter: millimetre}}, Temperatures{})
			return err
		},
		"no such class": func() error {
			_, err := Plan([]Rod{{Name: "a", Diameter: millimetre, Class: "Q"}, {Name: "b", Diameter: 2 * millimetre}}, Temperatures{})
			return err
		},
		"boiling": func() error {
			_, err := Plan([]Rod{{Name: "a", Diameter: millimetre}, {Name: "b", Diameter: 2 * millimetre}}, Temperatures{Known: true, Scale: 300, Rods: 20})
			return err
		},
	} {
		require.Error(t, try(), name)
	}
}

// Steel expands by 11.5e-6 per kelvin: 6 mm at 10 K off 20 °C change by
// 0.69 µm (ASME B89.1.5's rods; the change is the coefficient times the length
// times the difference, JCGM 100:2008, H.1.2).
func TestARodIsStatedAtItsTemperature(t *testing.T) {
	rod := Rod{Name: "R-6", Diameter: 6 * millimetre, Class: ClassX}
	warm, err := PlanRod(rod, Temperatures{Known: true, Scale: 20, Rods: 30, U: 1, ScaleExpansion: SteelExpansion})
	require.NoError(t, err)
	assert.Equal(t, length.Length(6_000_690), warm.Reference)
	assert.InDelta(t, 0.00102/math.Sqrt(3), warm.CertificateU, 1e-9)
	assert.InDelta(t, 6*11.5e-6*math.Sqrt2, warm.ThermalU, 1e-12)
	both, err := PlanRod(rod, Temperatures{Known: true, Scale: 30, Rods: 30, U: 1, ScaleExpansion: SteelExpansion})
	require.NoError(t, err)
	assert.Equal(t, rod.Diameter, both.Reference, "steel on steel at one temperature")
	plain, err := PlanRod(rod, Temperatures{})
	require.NoError(t, err)
	assert.Equal(t, rod.Diameter, plain.Reference)
	assert.Zero(t, plain.ThermalU)
}

func TestRodsPastTheirDateAreWarnedOf(t *testing.T) {
	day := func(d int) time.Time { return time.Date(2026, 5, d, 0, 0, 0, 0, time.UTC) }
	rods := []PlannedRod{{Rod: Rod{Name: "R-4", Due: day(17)}}, {Rod: Rod{Name: "R-8"}}}
	assert.Empty(t, Overdue(rods, day(17).Add(23*time.Hour)), "its last day counts whole")
	assert.Equal(t, []string{"the certificate of rod R-4 ran out on 2026-05-17: have it certified anew"}, Overdue(rods, day(18)))
}
