package metrology

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"seamfit/internal/length"
)

func mm(t require.TestingT, text string) length.Length {
	v, _, err := length.Parse(text, length.MM)
	require.NoError(t, err)
	return v
}

// rodRows parses "reference reading" pairs.
func rodRows(t require.TestingT, lines ...string) []RodReading {
	var rows []RodReading
	for i, line := range lines {
		fields := strings.Fields(line)
		rows = append(rows, RodReading{Reference: mm(t, fields[0]), Reading: mm(t, fields[1]), Line: i + 2})
	}
	return rows
}

// thermometer is table H.6 as readings t_k of references t_k + b_k.
func thermometer(t require.TestingT) []RodReading {
	tt, ok := t.(testing.TB)
	require.True(t, ok)
	_, rows := table(tt, "gum_h3_thermometer.csv")
	var out []RodReading
	for i, row := range rows {
		reading := mm(t, row[1])
		out = append(out, RodReading{Reference: reading + mm(t, row[2]), Reading: reading, Line: i + 2})
	}
	return out
}

// JCGM 100:2008 H.3: all published digits, and more from the data.
func TestThermometerH3(t *testing.T) {
	c, err := Calibrate(thermometer(t), CalibrationSetup{Pivot: 20})
	require.NoError(t, err)
	assert.Equal(t, 11, c.N)
	assert.Equal(t, 9.0, c.DOF)
	for _, published := range []struct {
		want, format string
		got          float64
	}{
		{"-0.1712", "%.4f", c.OffsetMM},
		{"0.0029", "%.4f", c.OffsetSEMM},
		{"0.00218", "%.5f", c.Slope},
		{"0.00067", "%.5f", c.SlopeSE},
		{"-0.930", "%.3f", c.Correlation},
		{"0.0035", "%.4f", c.ResidualSDMM},
	} {
		assert.Equal(t, published.want, fmt.Sprintf(published.format, published.got))
	}
	requireDigits(t, 11, -0.171203790131, c.OffsetMM, "y1")
	requireDigits(t, 10, 0.002877597835, c.OffsetSEMM, "s(y1)")
	requireDigits(t, 10, 0.0021826977399, c.Slope, "y2")
	requireDigits(t, 10, 0.0006679387732, c.SlopeSE, "s(y2)")
	requireDigits(t, 6, -0.930430, c.Correlation, "r")

	c, err = c.Ask([]float64{30, 24})
	require.NoError(t, err)
	at := c.Asked[0]
	assert.Equal(t, "-0.1494", fmt.Sprintf("%.4f", at.CorrectionMM))
	assert.Equal(t, "0.0041", fmt.Sprintf("%.4f", at.UMM))
	requireDigits(t, 10, -0.149376812732, at.CorrectionMM, "b(30)")
	requireDigits(t, 9, 0.004138595753, at.UMM, "u(b(30))")
	assert.True(t, at.Extrapolated)
	assert.False(t, c.Asked[1].Extrapolated)

	// No temperature was read twice: nothing tells repeatability or lack of fit.
	assert.Nil(t, c.RepeatabilityMM)
	assert.Nil(t, c.LackOfFit.F)
	assert.False(t, c.Conforms, "no limit of error was given")

	// H.3.5: about the mean temperature offset and slope are uncorrelated.
	mean := 0.0
	for _, r := range c.Readings {
		mean += r.ReadingMM / 11
	}
	c, err = Calibrate(thermometer(t), CalibrationSetup{Pivot: mean})
	require.NoError(t, err)
	assert.InDelta(t, 0, c.Correlation, 1e-9)
}

func TestCalibrationOfACaliper(t *testing.T) {
	rows := rodRows(t,
		"6.000 6.02", "6.000 6.01", "6.000 6.02",
		"8.000 8.01", "8.000 8.02", "8.000 8.02",
		"10.000 10.03", "10.000 10.02", "10.000 10.03")
	for i := range rows {
		rows[i].RodU = 0.001
	}
	c, err := Calibrate(rows, CalibrationSetup{Pivot: 8, MPE: DIN862(), Resolution: mm(t, "0.01")})
	require.NoError(t, err)
	require.NotNil(t, c.RepeatabilityMM)
	// Within each rod two readings of one value and one a step away: SS = 2/3 step².
	assert.InDelta(t, math.Sqrt(3*(2.0/3)*1e-4/6), *c.RepeatabilityMM, 1e-12)
	require.NotNil(t, c.LackOfFit.P)
	require.Len(t, c.Rods, 3)
	assert.InDelta(t, 0.05/3, c.Rods[0].MeanErrorMM, 1e-12)
	s := *c.RepeatabilityMM
	u, nu, err := Combine([]Component{{s / math.Sqrt(3), 6}, {0.001, inf}, {Resolution(0.01), inf}})
	require.NoError(t, err)
	assert.InDelta(t, CoverageFactor(0.95, nu)*u, c.Rods[0].ExpandedMM, 1e-12)
	assert.False(t, c.Rods[2].Conforms, "0.027 mm is over the limit of 0.02 mm")
	assert.False(t, c.Conforms)

	correction, uLine, dof, uRods, outside := c.At(8)
	assert.Equal(t, c.OffsetMM, correction, "at the pivot")
	assert.Equal(t, c.OffsetSEMM, uLine)
	assert.Equal(t, 7.0, dof)
	assert.InDelta(t, 0.001/math.Sqrt(3), uRods, 1e-7, "three rods that err each by itself, about their middle")
	assert.False(t, outside)
	for x, want := range map[float64]bool{5.9: true, 6: false, 10.03: false, 10.1: true} {
		_, _, _, _, outside = c.At(x)
		assert.Equal(t, want, outside, "%g mm", x)
	}

	loose, err := Calibrate(rows, CalibrationSetup{Pivot: 8, MPE: MPETable{{mm(t, "100"), mm(t, "0.2")}}})
	require.NoError(t, err)
	assert.True(t, loose.Conforms)
}

// What is read back from JSON corrects as before, so that a stored calibration
// can be put in force.
func TestCalibrationJSON(t *testing.T) {
	c, err := Calibrate(thermometer(t), CalibrationSetup{Pivot: 20, MPE: DIN862(), CommonU: 0.002})
	require.NoError(t, err)
	text, err := json.Marshal(c)
	require.NoError(t, err)
	var got map[string]any
	require.NoError(t, json.Unmarshal(text, &got))
	for _, key := range []string{"n", "pivot_mm", "offset_mm", "offset_se_mm", "slope", "slope_se", "correlation", "residual_sd_mm", "dof", "lack_of_fit", "repeatability_mm", "rods", "at", "conforms"} {
		assert.Contains(t, got, key)
	}
	assert.Equal(t, map[string]any{"f": nil, "p": nil}, got["lack_of_fit"])
	assert.Equal(t, []any{}, got["at"])
	var back Calibration
	require.NoError(t, json.Unmarshal(text, &back))
	for _, x := range []float64{5, 20, 24, 30} {
		a1, a2, a3, a4, a5 := c.At(x)
		b1, b2, b3, b4, b5 := back.At(x)
		assert.Equal(t, []any{a1, a2, a3, a4, a5}, []any{b1, b2, b3, b4, b5})
	}
	_, err = c.Ask([]float64{math.NaN()})
	require.ErrorIs(t, err, ErrNotFinite)
}

func TestReadingsThatNoCalibrationCanUse(t *testing.T) {
	good := []string{"6 6.01", "6 6.02", "8 8.01", "8 8.02", "10 10.02"}
	with := func(line string) []RodReading { return rodRows(t, append(append([]string{}, good...), line)...) }
	for name, c := range map[string]struct {
		rows []RodReading
		says string
	}{
		"nothing":         {nil, "there are 0 readings, fewer than 3"},
		"two":             {rodRows(t, "6 6.01", "8 8.01"), "there are 2 readings"},
		"one rod":         {rodRows(t, "6 6.01", "6 6.02", "6 6.01"), "all readings are of one diameter, 6.00 mm"},
		"typed 10 for 1":  {with("1.0 10.00"), "line 7: the reading 10.00 mm of a rod of 1.00 mm is off by 9.00 mm"},
		"off by ten":      {with("8 18.01"), "line 7: the reading 18.01 mm"},
		"inches":          {with("8 0.3155"), "line 7: the reading 0.3155 mm of a rod of 8.00 mm looks like inches"},
		"no spread in x":  {rodRows(t, "6 7", "8 7", "7.9 7", "6.1 7"), "all x are equal"},
		"rod u NaN":       {append(with("8 8.01"), RodReading{Reference: mm(t, "9"), Reading: mm(t, "9"), RodU: math.NaN(), Line: 8}), "line 8: the rod's uncertainty is NaN mm"},
		"rod u two times": {append(with("8 8.01"), RodReading{Reference: mm(t, "8"), Reading: mm(t, "8"), RodU: 0.1, Line: 8}), "line 8: the rod of 8.00 mm has the uncertainties 0 mm and 0.1 mm"},
	} {
		_, err := Calibrate(c.rows, CalibrationSetup{})
		var bad *RowError
		require.ErrorAs(t, err, &bad, name)
		assert.Contains(t, err.Error(), c.says, name)
		assert.NotEmpty(t, bad.Mend)
	}
	rows := rodRows(t, good...)
	for _, bad := range []CalibrationSetup{{Pivot: math.NaN()}, {CommonU: math.Inf(1)}} {
		_, err := Calibrate(rows, bad)
		require.ErrorIs(t, err, ErrNotFinite)
	}
	for _, bad := range []CalibrationSetup{{CommonU: -1}, {Resolution: -1}, {MPE: MPETable{{5, 0}}}, {MPE: MPETable{{5, 1}, {5, 1}}}} {
		_, err := Calibrate(rows, bad)
		require.ErrorIs(t, err, ErrDomain)
	}
}

func TestCalibrationWarnings(t *testing.T) {
	narrow, err := Calibrate(rodRows(t, "6 6.01", "6 5.98", "6.1 6.10", "6.1 6.14"), CalibrationSetup{})
	require.NoError(t, err)
	all := strings.Join(narrow.Warnings, "\n")
	assert.Contains(t, all, "less than 20 times")
	assert.Contains(t, all, "two rods can't show")
	assert.Nil(t, narrow.LackOfFit.F)

	bent, err := Calibrate(rodRows(t, "6 6.00", "6 6.01", "8 8.10", "8 8.11", "10 10.00", "10 10.01"), CalibrationSetup{})
	require.NoError(t, err)
	assert.Contains(t, strings.Join(bent.Warnings, "\n"), "do not lie on a straight line")

	once, err := Calibrate(rodRows(t, "6 6.00", "8 8.01", "10 10.01"), CalibrationSetup{})
	require.NoError(t, err)
	assert.Contains(t, strings.Join(once.Warnings, "\n"), "no rod was read twice")

	var lines []string
	for i := range 12 {
		lines = append(lines, fmt.Sprintf("%d %d.0%d", 6+i%3, 6+i%3, i%2))
	}
	wild, err := Calibrate(rodRows(t, append(lines, "8 8.20")...), CalibrationSetup{})
	require.NoError(t, err)
	assert.True(t, wild.Readings[12].Suspect, "marked, and used")
	assert.Equal(t, 13, wild.N)
	assert.Contains(t, strings.Join(wild.Warnings, "\n"), "farther than chance explains")
}

// Rods whose uncertainties differ weigh by them; York's line agrees when the
// readings scatter little.
func TestRodsOfDifferentUncertainty(t *testing.T) {
	rows := rodRows(t, "4 4.000", "4 4.001", "6 6.010", "6 6.011", "8 8.000", "8 8.001", "10 10.002", "10 10.003")
	for i := range rows {
		rows[i].RodU = 0.0005
		if rows[i].Reference == mm(t, "6") {
			rows[i].RodU = 0.05 // hardly to be trusted
		}
	}
	weighted, err := Calibrate(rows, CalibrationSetup{Pivot: 6})
	require.NoError(t, err)
	for i := range rows {
		rows[i].RodU = 0.0005
	}
	equal, err := Calibrate(rows, CalibrationSetup{Pivot: 6})
	require.NoError(t, err)
	assert.Less(t, math.Abs(weighted.OffsetMM+0.0009), math.Abs(equal.OffsetMM+0.0009), "the doubtful rod pulls less")
	assert.Greater(t, weighted.RodsUMM, 0.0)

	both, err := Calibrate(rows, CalibrationSetup{Pivot: 6, BothVariables: true})
	require.NoError(t, err)
	assert.Equal(t, BothVariables, both.Method)
	assert.InDelta(t, equal.OffsetMM, both.OffsetMM, 1e-5)
	assert.InDelta(t, equal.Slope, both.Slope, 1e-5)
	correction, _, _, _, _ := both.At(6)
	assert.Equal(t, both.OffsetMM, correction)

	rows[0].RodU, rows[1].RodU = 0, 0
	_, err = Calibrate(rows, CalibrationSetup{BothVariables: true})
	require.ErrorContains(t, err, "has no uncertainty")
	_, err = Calibrate(rows[:2], CalibrationSetup{BothVariables: true})
	require.Error(t, err)
}

func drawRods(t *rapid.T) []RodReading {
	var rows []RodReading
	rods := rapid.IntRange(2, 6).Draw(t, "rods")
	each := rapid.IntRange(2, 4).Draw(t, "each")
	for i := range rods {
		reference := length.Length(3+2*i) * length.Millimetre
		for range each {
			off := rapid.Int64Range(-60, 60).Draw(t, "error") * 1000
			rows = append(rows, RodReading{Reference: reference, Reading: reference + length.Length(off)})
		}
	}
	return rows
}

func TestCalibrationProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rows := drawRods(t)
		pivot := rapid.Float64Range(0, 20).Draw(t, "pivot")
		base, err := Calibrate(rows, CalibrationSetup{Pivot: pivot})
		require.NoError(t, err)
		correction, uLine, _, _, _ := base.At(pivot)
		assert.Equal(t, base.OffsetMM, correction, "at the pivot")
		assert.InDelta(t, base.OffsetSEMM, uLine, 1e-12)

		// Order does not matter.
		again, err := Calibrate(rapid.Permutation(rows).Draw(t, "shuffled"), CalibrationSetup{Pivot: pivot})
		require.NoError(t, err)
		assert.InDelta(t, base.OffsetMM, again.OffsetMM, 1e-10)
		assert.InDelta(t, base.Slope, again.Slope, 1e-11)
		assert.InDelta(t, base.ResidualSDMM, again.ResidualSDMM, 1e-11)

		// Another pivot is the same line with the same uncertainty.
		moved, err := Calibrate(rows, CalibrationSetup{Pivot: 8})
		require.NoError(t, err)
		x := rapid.Float64Range(0, 30).Draw(t, "x")
		c1, u1, _, _, _ := base.At(x)
		c2, u2, _, _, _ := moved.At(x)
		assert.InDelta(t, c1, c2, 1e-10)
		assert.InDelta(t, u1, u2, 1e-8)

		// A rod set read 0.01 mm larger all over moves the offset by −0.01 at the
		// reading's own place, and nothing else.
		shift := 10 * length.Micrometre
		shifted := make([]RodReading, len(rows))
		for i, r := range rows {
			shifted[i] = RodReading{Reference: r.Reference + shift, Reading: r.Reading + shift}
		}
		after, err := Calibrate(shifted, CalibrationSetup{Pivot: pivot + shift.MM()})
		require.NoError(t, err)
		assert.InDelta(t, base.OffsetMM, after.OffsetMM, 1e-9)
		assert.InDelta(t, base.Slope, after.Slope, 1e-9)

		// Twice the size, twice the lengths.
		scaled := make([]RodReading, len(rows))
		for i, r := range rows {
			scaled[i] = RodReading{Reference: 2 * r.Reference, Reading: 2 * r.Reading}
		}
		double, err := Calibrate(scaled, CalibrationSetup{Pivot: 2 * pivot})
		require.NoError(t, err)
		assert.InDelta(t, 2*base.OffsetMM, double.OffsetMM, 1e-9)
		assert.InDelta(t, base.Slope, double.Slope, 1e-10)
		assert.InDelta(t, 2*base.ResidualSDMM, double.ResidualSDMM, 1e-10)
		if base.LackOfFit.F != nil {
			assert.InDelta(t, *base.LackOfFit.F, *double.LackOfFit.F, 1e-6*(1+*base.LackOfFit.F))
		}
	})
}

// Each rod errs by itself: what its error does to the correction is seen by moving
// its reference, and the rods' contributions add as squares (JCGM 100:2008, 5.1.2).
func TestRodsErrEachByItself(t *testing.T) {
	rows := rodRows(t,
		"8.00 8.01", "8.00 8.01", "8.00 8.00",
		"16 16.01", "16 16.02", "16 16.01",
		"28 28.02", "28 28.02", "28 28.03")
	for _, us := range []map[string]float64{{"8.00": 0.02, "16": 0.003, "28": 0.02}, {"8.00": 0.005, "16": 0.005, "28": 0.005}} {
		for i := range rows {
			for rod, u := range us {
				if rows[i].Reference == mm(t, rod) {
					rows[i].RodU = u
				}
			}
		}
		for _, pivot := range []float64{0, 8, 20} {
			base, err := Calibrate(rows, CalibrationSetup{Pivot: pivot, CommonU: 0.001})
			require.NoError(t, err)
			for _, x := range []float64{5, 8, 16, 28, 40} {
				before, _, _, uRods, _ := base.At(x)
				variance := 0.001 * 0.001
				for rod, u := range us {
					moved := slices.Clone(rows)
					for i := range moved {
						if moved[i].Reference == mm(t, rod) {
							moved[i].Reference += length.Micrometre
						}
					}
					c, err := Calibrate(moved, CalibrationSetup{Pivot: pivot, CommonU: 0.001})
					require.NoError(t, err)
					after, _, _, _, _ := c.At(x)
					moves := (after - before) / 0.001 * u
					variance += moves * moves
				}
				assert.InEpsilon(t, math.Sqrt(variance), uRods, 1e-9, "at %g mm", x)
			}
		}
	}
}

// A calibration that was stored when rods were taken to err together is read as it
// was meant.
func TestRodsOfAnOldCalibrationErrTogether(t *testing.T) {
	var c Calibration
	require.NoError(t, json.Unmarshal([]byte(`{"pivot_mm": 8, "rods_u_mm": 0.004, "rods_u_slope": -0.0005, "common_u_mm": 0}`), &c))
	_, _, _, uRods, _ := c.At(10)
	assert.InDelta(t, 0.003, uRods, 1e-15)
}

// Thousand seeded runs of exactly the stated model: a scale error, an offset,
// normal repeats, rods that err each by itself and all together. The
// stated 95 % interval of the correction covers the true one as often as it
// says, within three binomial standard deviations (2.1 %).
func TestCalibrationCovers(t *testing.T) {
	const runs, scale, offset, sd, own, common = 1000, 0.002, -0.015, 0.012, 0.002, 0.004
	rng := rand.New(rand.NewPCG(20, 26))
	covered := 0
	for range runs {
		rodsOff := common * rng.NormFloat64()
		var rows []RodReading
		for rod := 4; rod <= 12; rod += 2 {
			rodOff := own * rng.NormFloat64()
			for range 3 {
				// The certificate says rod; the rod itself is off.
				read := (float64(rod)+rodOff+rodsOff)*(1+scale) + offset + sd*rng.NormFloat64()
				reading, err := length.FromMM(read)
				require.NoError(t, err)
				rows = append(rows, RodReading{Reference: length.Length(rod) * length.Millimetre, Reading: reading, RodU: own})
			}
		}
		c, err := Calibrate(rows, CalibrationSetup{Pivot: 8, CommonU: common})
		require.NoError(t, err)
		const truth = 9.1
		shown := truth*(1+scale) + offset
		correction, uLine, dof, uRods, _ := c.At(shown)
		u, nu, err := Combine([]Component{{uLine, dof}, {uRods, inf}})
		require.NoError(t, err)
		if math.Abs(correction-(truth-shown)) <= CoverageFactor(0.95, nu)*u {
			covered++
		}
	}
	margin := 3 * math.Sqrt(0.95*0.05/runs)
	assert.InDelta(t, 0.95, float64(covered)/runs, margin)
}

func TestLimitsOfError(t *testing.T) {
	table := DIN862()
	assert.Equal(t, mm(t, "0.02"), table.Limit(mm(t, "100")))
	assert.Equal(t, mm(t, "0.03"), table.Limit(mm(t, "100.01")))
	assert.Equal(t, mm(t, "0.03"), table.Limit(mm(t, "500")))
	assert.Zero(t, MPETable{}.Limit(5))
}

func BenchmarkCalibrateThousandReadings(b *testing.B) {
	rng := rand.New(rand.NewPCG(1, 2))
	var rows []RodReading
	for i := range 1000 {
		reference := length.Length(2+i%20) * length.Millimetre
		rows = append(rows, RodReading{Reference: reference, Reading: reference + length.Length(rng.IntN(40_000))})
	}
	for b.Loop() {
		if _, err := Calibrate(rows, CalibrationSetup{Pivot: 10, MPE: DIN862()}); err != nil {
			b.Fatal(err)
		}
	}
}
