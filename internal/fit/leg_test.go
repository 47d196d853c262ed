package fit

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"seamfit/internal/length"
	"seamfit/internal/metrology"
)

// widths parses readings in millimetres, with their resolution.
func widths(t require.TestingT, text, resolution string) []Width {
	step, _, err := length.Parse(resolution, length.MM)
	require.NoError(t, err)
	var ws []Width
	for _, word := range strings.Fields(text) {
		v, _, err := length.Parse(word, length.MM)
		require.NoError(t, err)
		ws = append(ws, Width{Value: v, Resolution: step})
	}
	return ws
}

// near compares to 10 digits, or to 1e-12 near zero.
func near(t *testing.T, want, got float64, what string) {
	t.Helper()
	assert.InDelta(t, want, got, max(1e-12, 1e-10*math.Abs(want)), what)
}

// testdata/reference/worked_legs.csv: twenty legs worked from the formulas,
// shown there, with another program.
func TestTwentyWorkedLegs(t *testing.T) {
	f, err := os.Open(filepath.Join("..", "..", "testdata", "reference", "worked_legs.csv"))
	require.NoError(t, err)
	defer f.Close()
	reader := csv.NewReader(f)
	reader.Comment = '#'
	rows, err := reader.ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, 21)
	columns := rows[0]
	for i, row := range rows[1:] {
		cell := map[string]string{}
		for j, name := range columns {
			cell[name] = row[j]
		}
		number := func(name string) float64 {
			if cell[name] == "" {
				return math.Inf(1)
			}
			v, err := strconv.ParseFloat(cell[name], 64)
			require.NoError(t, err, name)
			return v
		}
		t.Run(fmt.Sprintf("%d: %s", i+1, cell["readings_mm"]), func(t *testing.T) {
			model := DefaultModel()
			if cell["pooled_sd_mm"] != "" {
				p := Pooled{SD: number("pooled_sd_mm"), DOF: number("pooled_dof")}
				model.Pooled = [3]Pooled{p, p, p}
			}
			leg, agreement, err := Estimate(widths(t, cell["readings_mm"], cell["resolution_mm"]), model)
			require.NoError(t, err)
			near(t, number("mean_mm"), leg.MeanMM, "mean")
			near(t, number("u_mm"), leg.UMM, "u")
			assert.Equal(t, metrology.DOF(number("dof")), leg.DOF)
			near(t, number("coverage_factor"), leg.CoverageFactor, "k")
			near(t, number("expanded_mm"), leg.ExpandedMM, "U")
			near(t, number("range_mm"), agreement.RangeMM, "range")
			assert.InDelta(t, number("critical_range_mm"), agreement.CriticalRangeMM, 1e-10)
			assert.Equal(t, cell["source"], agreement.Source)
			assert.Equal(t, cell["ok"], strconv.FormatBool(agreement.OK))

			chances := model.Judge(leg, number("inner_mm"), number("inner_u_mm"), nil, nil)
			verdict, side := chances.Verdict()
			near(t, number("play"), chances.Play, "play")
			near(t, number("p_tight"), chances.Tight, "p_tight")
			near(t, number("p_loose"), chances.Loose, "p_loose")
			near(t, 1-number("p_tight")-number("p_loose"), chances.Fit, "p_fit")
			assert.Equal(t, Verdict(cell["verdict"]), verdict)
			assert.Equal(t, Verdict(cell["side"]), side)
			assert.Nil(t, chances.Slips)
		})
	}
}

func TestReadingsThatNoLegHas(t *testing.T) {
	model := DefaultModel()
	for text, says := range map[string]string{
		"":          "there is no reading",
		"0":         "reading 1 is 0.00 mm, not above 0",
		"8.42 -8.4": "reading 2 is -8.40 mm, not above 0",
		"60.01":     "reading 1 is 60.01 mm, over the 60.00 mm",
		"842":       "over the 60.00 mm",
	} {
		_, _, err := Estimate(widths(t, text, "0.01"), model)
		var bad *InputError
		require.ErrorAs(t, err, &bad, text)
		assert.Contains(t, err.Error(), says)
		assert.NotEmpty(t, bad.Mend)
		_, err = Fit(widths(t, text, "0.01"), Question{}, model)
		require.ErrorAs(t, err, &bad, text)
	}
	_, _, err := Estimate(widths(t, "60", "0.01"), model)
	require.NoError(t, err)
	_, _, err = Estimate([]Width{{Value: 8_420_000, Resolution: -1}}, model)
	require.ErrorContains(t, err, "resolution")
}

func TestModelsWithoutSense(t *testing.T) {
	ws := widths(t, "8.42 8.43", "0.01")
	for name, spoil := range map[string]func(*Model){
		"repeatability": func(m *Model) { m.RepeatabilitySD = math.NaN() },
		"allowance":     func(m *Model) { m.Allowance = -1 },
		"banders":       func(m *Model) { m.BetweenBander = math.Inf(1) },
		"error":         func(m *Model) { m.MPE = -1 },
		"pooled SD":     func(m *Model) { m.Pooled[1].SD = math.NaN() },
		"degrees":       func(m *Model) { m.Pooled[2].DOF = -3 },
		"play":          func(m *Model) { m.MinPlay = 0.7 },
		"target":        func(m *Model) { m.TargetPlay = math.NaN() },
		"limit":         func(m *Model) { m.AbsurdOver = 0 },
	} {
		model := DefaultModel()
		spoil(&model)
		_, _, err := Estimate(ws, model)
		var bad *InputError
		require.ErrorAs(t, err, &bad, name)
	}
}

// line is a calibration for tests: a correction that grows with the width.
type line struct{ offset, slope, uLine, dof, uRods float64 }

func (l line) At(x float64) (c, uLine, dofLine, uRods float64, extrapolated bool) {
	return l.offset + l.slope*x, l.uLine, l.dof, l.uRods, x > 10
}

func TestCalibrationInForce(t *testing.T) {
	model := DefaultModel()
	model.Correction = line{offset: -0.02, slope: 0.001, uLine: 0.004, dof: 9, uRods: 0.001}
	leg, agreement, err := Estimate(widths(t, "8.42 8.45 8.40", "0.01"), model)
	require.NoError(t, err)
	mean := 25.27 / 3
	near(t, mean-0.02+0.001*mean, leg.MeanMM, "corrected mean")
	near(t, mean, leg.ReadMM, "mean as read")
	near(t, 0.05*1.001, agreement.RangeMM, "range of the corrected readings")
	assert.True(t, leg.Calibrated)
	assert.False(t, leg.Extrapolated)
	rep, res := 0.03/math.Sqrt(3), 0.01/math.Sqrt(12)
	u := math.Sqrt(rep*rep + res*res + 0.004*0.004 + 0.001*0.001)
	near(t, u, leg.UMM, "u")
	assert.Equal(t, metrology.DOF(math.Floor(math.Pow(u, 4)/(math.Pow(0.004, 4)/9))), leg.DOF)
	assert.Zero(t, leg.component(LimitOfError))

	leg, _, err = Estimate(widths(t, "9.99 10.02", "0.01"), model)
	require.NoError(t, err)
	assert.True(t, leg.Extrapolated)

	model.Correction = line{offset: -9}
	_, _, err = Estimate(widths(t, "8.42", "0.01"), model)
	require.ErrorContains(t, err, "not above 0")
	model.Correction = line{offset: math.NaN()}
	_, _, err = Estimate(widths(t, "8.42", "0.01"), model)
	require.Error(t, err)
	model.Correction = line{uLine: math.NaN(), dof: 3}
	_, _, err = Estimate(widths(t, "8.42", "0.01"), model)
	require.Error(t, err)
}

func TestAllowancesOfTheBench(t *testing.T) {
	plain, _, err := Estimate(widths(t, "8.42 8.45 8.40", "0.01"), DefaultModel())
	require.NoError(t, err)
	assert.Equal(t, coversInstrument, plain.Covers)
	model := DefaultModel()
	model.Allowance, model.BetweenBander = 0.12, 0.05
	leg, _, err := Estimate(widths(t, "8.42 8.45 8.40", "0.01"), model)
	require.NoError(t, err)
	near(t, plain.MeanMM+0.06, leg.MeanMM, "half of the allowance")
	near(t, math.Sqrt(plain.UMM*plain.UMM+0.12*0.12/12+0.05*0.05), leg.UMM, "u")
	near(t, 0.12/math.Sqrt(12), leg.component(ReadsLow), "allowance in the budget")
	near(t, 0.05, leg.component(Banders), "banders in the budget")
	assert.Equal(t, coversBench, leg.Covers)
}

// The stated class borders: under 5, 5 to 10, over 10 mm.
func TestWidthClasses(t *testing.T) {
	for mm, class := range map[string]int{"4.99": 0, "5": 1, "10": 1, "10.01": 2} {
		w, _, err := length.Parse(mm, length.MM)
		require.NoError(t, err)
		assert.Equal(t, class, WidthClass(w), mm)
	}
}

func TestResultsAreJSONWithoutNaN(t *testing.T) {
	model := DefaultModel()
	model.RepeatabilitySD, model.MPE = 0, 0 // no uncertainty at all
	leg, agreement, err := Estimate([]Width{{Value: 8_420_000}}, model)
	require.NoError(t, err)
	text, err := json.Marshal(map[string]any{"leg": leg, "agreement": agreement})
	require.NoError(t, err)
	assert.Contains(t, string(text), `"dof":null`)
	assert.NotContains(t, string(text), "NaN")
}

// drawWidths draws readings of one leg.
func drawWidths(t *rapid.T, least int) []Width {
	centre := rapid.Int64Range(120, 3000).Draw(t, "centre")
	spread := rapid.Int64Range(0, 15).Draw(t, "spread")
	n := rapid.IntRange(least, 8).Draw(t, "n")
	ws := make([]Width, n)
	for i := range ws {
		step := rapid.Int64Range(-spread, spread).Draw(t, "reading")
		ws[i] = Width{Value: length.Length(centre+step) * 10_000, Resolution: 10_000}
	}
	return ws
}

func drawModel(t *rapid.T) Model {
	m := DefaultModel()
	m.RepeatabilitySD = rapid.Float64Range(0.001, 0.2).Draw(t, "setting")
	if rapid.Bool().Draw(t, "pooled") {
		p := Pooled{rapid.Float64Range(0.001, 0.2).Draw(t, "pooled SD"), float64(rapid.IntRange(1, 60).Draw(t, "dof"))}
		m.Pooled = [3]Pooled{p, p, p}
	}
	if rapid.Bool().Draw(t, "calibrated") {
		m.Correction = line{
			rapid.Float64Range(-0.03, 0.03).Draw(t, "offset"), rapid.Float64Range(-0.002, 0.002).Draw(t, "slope"),
			rapid.Float64Range(0, 0.01).Draw(t, "u line"), float64(rapid.IntRange(1, 30).Draw(t, "dof line")), 0.001,
		}
	}
	if rapid.Bool().Draw(t, "allowances") {
		m.Allowance, m.BetweenBander = 0.08, 0.04
	}
	return m
}

func TestOrderOfReadingsDoesNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ws, model := drawWidths(t, 1), drawModel(t)
		shuffled := rapid.Permutation(ws).Draw(t, "shuffled")
		legA, agreeA, err := Estimate(ws, model)
		require.NoError(t, err)
		legB, agreeB, err := Estimate(shuffled, model)
		require.NoError(t, err)
		assert.InDelta(t, legA.MeanMM, legB.MeanMM, 1e-12)
		assert.InDelta(t, legA.UMM, legB.UMM, 1e-12)
		assert.Equal(t, legA.DOF, legB.DOF)
		assert.Equal(t, agreeA.OK, agreeB.OK)
	})
}

// A further reading equal to the mean never makes the width less certain while
// s comes from the same source, and never widens the interval, but for one
// case: beside a calibration line of few degrees of freedom, a smaller
// repeatability leaves the line the larger share, and the effective degrees of
// freedom may fall (JCGM 100:2008, G.4.1).
func TestAReadingAtTheMeanNeverWidens(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		centre := rapid.Int64Range(120, 3000).Draw(t, "centre")
		half := rapid.Int64Range(0, 10).Draw(t, "half")
		ws := []Width{
			{length.Length(centre-half) * 10_000, 10_000},
			{length.Length(centre+half) * 10_000, 10_000},
		}
		if rapid.Bool().Draw(t, "three") {
			ws = append(ws, Width{length.Length(centre) * 10_000, 10_000})
		}
		model := drawModel(t)
		before, _, err := Estimate(ws, model)
		require.NoError(t, err)
		after, _, err := Estimate(append(ws, Width{length.Length(centre) * 10_000, 10_000}), model)
		require.NoError(t, err)
		source := func(l Leg) bool { return math.IsInf(float64(l.Components[0].DOF), 1) }
		if source(before) == source(after) {
			assert.LessOrEqual(t, after.UMM, before.UMM*(1+1e-12))
			if model.Correction == nil || after.DOF >= before.DOF {
				assert.LessOrEqual(t, after.ExpandedMM, before.ExpandedMM*(1+1e-12))
			}
		}
	})
}
