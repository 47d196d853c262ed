package fit

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"seamfit/internal/catalogue"
	"seamfit/internal/length"
)

func federal(t require.TestingT) *catalogue.Catalogue {
	book, err := catalogue.Embedded()
	require.NoError(t, err)
	table, found := book.Catalogue("us-federal")
	require.True(t, found)
	return table
}

func fitOf(t require.TestingT, readings string, q Question, m Model) Result {
	result, err := Fit(widths(t, readings, "0.01"), q, m)
	require.NoError(t, err)
	return result
}

func size(t require.TestingT, r Result, label string) Candidate {
	for _, c := range r.Sizes {
		if c.Size == label {
			return c
		}
	}
	require.Fail(t, "no such size", label)
	return Candidate{}
}

func codes(ws []Warning) []string {
	out := make([]string, len(ws))
	for i, w := range ws {
		out[i] = w.Code
	}
	return out
}

// exact is a leg of this width without uncertainty.
func exact(mm float64) Leg {
	leg := Leg{MeanMM: mm, N: 3}
	_ = leg.combine()
	return leg
}

// The limits of 6, 32 and 60 % ("Tarsus program", Ringing & Migration) on an
// exactly known leg of 10 mm.
func TestLimitsOnPlayAreThePublished(t *testing.T) {
	model := DefaultModel()
	for _, c := range []struct {
		inner   float64
		verdict Verdict
	}{{10.59, Tight}, {10.61, Fits}, {13.2, Fits}, {15.99, Fits}, {16.01, Loose}} {
		verdict, side := model.Judge(exact(10), c.inner, 0, nil, nil).Verdict()
		assert.Equal(t, c.verdict, verdict, "inner %g mm", c.inner)
		assert.Empty(t, side)
	}
	assert.InDelta(t, 0, model.fromTarget(0.32), 1e-15)
	assert.InDelta(t, model.fromTarget(1.32*2-1), model.fromTarget(1.32/2-1), 1e-12)
}

// Every inner diameter of the federal table is its inches times 25.4
// (Technical Specifications for Band Sizes, US Geological Survey, Bird Banding
// Laboratory), and every row is listed.
func TestEveryFederalSizeIsListedInMillimetresFromInches(t *testing.T) {
	inches := map[string]float64{
		"0A": .078, "0": .083, "1C": .091, "1": .094, "1B": .109, "1P": .112, "1A": .125, "2": .156, "3": .188,
		"3B": .203, "3A": .219, "4": .250, "4A": .281, "5": .313, "6": .375, "7A short": .438, "7A": .438,
		"7B short": .531, "7B": .531, "7D": .594, "8": .688, "8A": .807, "9": .875, "9 tall": .875,
		"9 rivet": 1.125, "9C": 1.125,
	}
	result := fitOf(t, "8.42 8.45 8.40", Question{Catalogue: federal(t)}, DefaultModel())
	require.Len(t, result.Sizes, len(inches))
	for label, in := range inches {
		assert.InDelta(t, in*25.4, size(t, result, label).InnerMM, 1e-9, label)
	}
}

func TestTheFirstExampleOfACommand(t *testing.T) {
	upper, _, err := Estimate(widths(t, "12.9", "0.01"), DefaultModel())
	require.NoError(t, err)
	lower, _, err := Estimate(widths(t, "11.0", "0.01"), DefaultModel())
	require.NoError(t, err)
	result := fitOf(t, "8.42 8.45 8.40", Question{Catalogue: federal(t), UpperStop: &upper, LowerStop: &lower}, DefaultModel())
	// Play 13 % for 6; 7A at 32 % is the target but slips over the foot (11.125 > 11.0 mm).
	assert.Equal(t, "6", result.Best)
	assert.Equal(t, Fits, size(t, result, "6").Verdict)
	assert.Equal(t, Slips, size(t, result, "7A").Verdict)
	require.NotNil(t, size(t, result, "7A").PSlips)
	assert.Greater(t, *size(t, result, "7A").PSlips, 0.99)
	assert.Equal(t, Tight, size(t, result, "5").Verdict)
	// Without stops the size nearest the target wins; of two with one inner
	// diameter, the table's first.
	result = fitOf(t, "8.42 8.45 8.40", Question{Catalogue: federal(t)}, DefaultModel())
	assert.Equal(t, "7A short", result.Best)
	assert.Nil(t, size(t, result, "7A").PSlips)
	assert.Contains(t, codes(result.Warnings), CodeAlike)
	assert.Contains(t, codes(result.Warnings), CodeUncalibrated)
}

func gull() *catalogue.Species {
	return &catalogue.Species{
		Scientific: "Larus exemplaris", English: "Sample Gull", Mark: catalogue.FromUser, HardMetal: true,
		Closures: []string{"butt-end"},
		Sizes: []catalogue.Recommendation{
			{Size: "6", Catalogue: "us-federal", Sex: "female"},
			{Size: "5", Catalogue: "us-federal", Sex: "male"},
			{Size: "G", Catalogue: "uk-europe"},
		},
		MinWidth: 6 * length.Millimetre, MaxWidth: 9 * length.Millimetre,
	}
}

func TestTheOfficesListOutranksPlay(t *testing.T) {
	table, model := federal(t), DefaultModel()
	// Sex unknown: both sizes; 5 (7.95 mm) is tight on this leg, so 6 leads.
	result := fitOf(t, "8.42 8.45 8.40", Question{Catalogue: table, Species: gull()}, model)
	assert.Equal(t, "6", result.Best)
	assert.Equal(t, "6", result.Sizes[0].Size)
	assert.True(t, size(t, result, "5").Recommended)
	assert.Equal(t, CodeMisfit, result.Warnings[0].Code, "the worst first: %v", result.Warnings)
	assert.Contains(t, result.Warnings[0].Text, "5 does not fit: tight")

	// A thin leg: 6 is loose by play, and still the office's first.
	result = fitOf(t, "5.80 5.82 5.81", Question{Catalogue: table, Species: gull(), Sex: "female"}, model)
	assert.Equal(t, "6", result.Best)
	assert.Equal(t, Loose, result.Sizes[0].Verdict)
	assert.Equal(t, []string{CodeLooseListed}, codes(result.Sizes[0].Warnings))
	assert.Contains(t, codes(result.Warnings), CodeRange)

	// A young bird gets the adult's size where the list has none for its age.
	bird := gull()
	for i := range bird.Sizes {
		bird.Sizes[i].Age = "adult"
	}
	result = fitOf(t, "8.42 8.45 8.40", Question{Catalogue: table, Species: bird, Sex: "female", Age: "chick"}, model)
	assert.Equal(t, "6", result.Best)
	assert.Contains(t, codes(result.Warnings), CodeYoung)
}

func TestWhatSpeciesRulesForbid(t *testing.T) {
	table, model := federal(t), DefaultModel()
	bird := gull()
	bird.Sizes, bird.Closures = nil, []string{"rivet"}
	result := fitOf(t, "8.42 8.45 8.40", Question{Catalogue: table, Species: bird}, model)
	assert.Empty(t, result.Best, "no size of this table with a rivet fits")
	assert.Contains(t, codes(result.Warnings), CodeNoFit)
	assert.Contains(t, codes(size(t, result, "6").Warnings), CodeClosure)

	result = fitOf(t, "8.42 8.45 8.40", Question{Catalogue: table, Species: gull(), Closure: "lock-on", Metal: &catalogue.Metal{Name: "aluminium"}}, model)
	assert.Contains(t, codes(result.Warnings), CodeClosure)
	assert.Contains(t, codes(result.Warnings), CodeMetal)

	bird.NoMetalBand, bird.AboveJointOnly = true, true
	result = fitOf(t, "8.42 8.45 8.40", Question{Catalogue: table, Species: bird}, model)
	assert.Empty(t, result.Best)
	assert.Equal(t, CodeNoMetal, result.Warnings[0].Code)
	assert.Contains(t, codes(result.Warnings), CodeSite)
}

func TestShapesOtherThanRoundAreNotJudged(t *testing.T) {
	table := &catalogue.Catalogue{Name: "own", Sizes: []catalogue.Size{
		{Label: "oval", Shape: catalogue.Other},
		{Label: "old", Shape: catalogue.Round, Inner: 11 * length.Millimetre, Discontinued: true},
		{Label: "new", Shape: catalogue.Round, Inner: 10 * length.Millimetre},
	}}
	result := fitOf(t, "8.42 8.45 8.40", Question{Catalogue: table}, DefaultModel())
	assert.Equal(t, "new", result.Best, "never a discontinued size")
	oval := size(t, result, "oval")
	assert.Equal(t, Unjudged, oval.Verdict)
	text, err := json.Marshal(oval)
	require.NoError(t, err)
	assert.JSONEq(t, `{"size":"oval","inner_mm":null,"play":null,"p_tight":null,"p_fit":null,"p_loose":null,"p_slips":null,
		"verdict":"unjudged","side":"","recommended":false,"warnings":["not a round band of known inner diameter: follow the office's list"]}`, string(text))

	bird := &catalogue.Species{Mark: catalogue.FromUser, Sizes: []catalogue.Recommendation{{Size: "oval", Catalogue: "own"}, {Size: "none", Catalogue: "own"}}}
	result = fitOf(t, "8.42 8.45 8.40", Question{Catalogue: table, Species: bird}, DefaultModel())
	assert.Equal(t, "oval", result.Best, "it follows the office's list")
	assert.Contains(t, codes(result.Warnings), CodeUnknownSize)
}

func TestTheBandsOwnInnerDiameter(t *testing.T) {
	q := Question{Catalogue: federal(t), Inner: map[string]Inner{"6": {Value: 9_300_000, U: 0.05}}}
	result := fitOf(t, "8.42 8.45 8.40", q, DefaultModel())
	c := size(t, result, "6")
	assert.InDelta(t, 9.3, c.InnerMM, 1e-12)
	assert.Equal(t, DefaultModel().Judge(result.Leg, 9.3, 0.05, nil, nil).Tight, c.PTight)
	for _, bad := range []Inner{{U: math.NaN()}, {U: -1}, {Value: -5}} {
		q.Inner["6"] = bad
		_, err := Fit(widths(t, "8.42", "0.01"), q, DefaultModel())
		var input *InputError
		require.ErrorAs(t, err, &input)
	}
	_, err := Fit(widths(t, "8.42", "0.01"), Question{Tarsus: -1}, DefaultModel())
	require.Error(t, err)
}

func TestHeightAndOtherMarksAgainstTheTarsus(t *testing.T) {
	q := Question{Catalogue: federal(t), Tarsus: 20 * length.Millimetre, OtherMarks: 8 * length.Millimetre}
	result := fitOf(t, "8.42 8.45 8.40", q, DefaultModel())
	assert.NotContains(t, codes(size(t, result, "7A short").Warnings), CodeTall, "9.5 + 8 mm")
	assert.Contains(t, codes(size(t, result, "7A").Warnings), CodeTall, "12.7 + 8 mm")
	assert.Equal(t, "7A short", result.Best)
}

func TestHistoryAndKnownRange(t *testing.T) {
	q := Question{Catalogue: federal(t), History: &History{Median: 7.5, SD: 0.2, N: 40}}
	result := fitOf(t, "8.42 8.45 8.40", q, DefaultModel())
	assert.Contains(t, codes(result.Warnings), CodeHistory)
	q.History.N = 4
	result = fitOf(t, "8.42 8.45 8.40", q, DefaultModel())
	assert.NotContains(t, codes(result.Warnings), CodeHistory, "four birds are no history")
	q.History = &History{Median: 8.3, SD: 0.2, N: 40}
	result = fitOf(t, "8.42 8.45 8.40", q, DefaultModel())
	assert.NotContains(t, codes(result.Warnings), CodeHistory)
	assert.Zero(t, History{Median: 5}.Z(Leg{MeanMM: 9}))
}

func TestReadingWarnings(t *testing.T) {
	result := fitOf(t, "8.42", Question{Catalogue: federal(t)}, DefaultModel())
	assert.Contains(t, codes(result.Warnings), CodeSingle)
	assert.True(t, result.Agreement.OK)
	result = fitOf(t, "8.30 8.42 8.55", Question{Catalogue: federal(t)}, DefaultModel())
	assert.Contains(t, codes(result.Warnings), CodeDisagree)
	assert.False(t, result.Agreement.OK)
	narrow, _, err := Estimate(widths(t, "8.1", "0.01"), DefaultModel())
	require.NoError(t, err)
	result = fitOf(t, "8.42 8.45", Question{Catalogue: federal(t), UpperStop: &narrow}, DefaultModel())
	assert.Contains(t, codes(result.Warnings), CodeStop)
}

func TestNoCatalogueGivesTheLegAlone(t *testing.T) {
	result := fitOf(t, "8.42 8.45 8.40", Question{}, DefaultModel())
	assert.Empty(t, result.Sizes)
	text, err := json.Marshal(result)
	require.NoError(t, err)
	assert.Contains(t, string(text), `"sizes":[]`)
	assert.Contains(t, string(text), `"best":""`)
	var back Result
	require.NoError(t, json.Unmarshal(text, &back))
	assert.Equal(t, result.Leg, back.Leg)
}

func TestResultJSONHasTheAgreedKeys(t *testing.T) {
	result := fitOf(t, "8.42 8.45 8.40", Question{Catalogue: federal(t), Species: gull()}, DefaultModel())
	text, err := json.Marshal(result)
	require.NoError(t, err)
	var got map[string]json.RawMessage
	require.NoError(t, json.Unmarshal(text, &got))
	keys := func(raw json.RawMessage) map[string]any {
		m := map[string]any{}
		require.NoError(t, json.Unmarshal(raw, &m))
		return m
	}
	for _, key := range []string{"mean_mm", "n", "u_mm", "dof", "expanded_mm", "coverage_factor", "components", "calibrated"} {
		assert.Contains(t, keys(got["leg"]), key)
	}
	for _, key := range []string{"range_mm", "critical_range_mm", "s_r_mm", "source", "ok"} {
		assert.Contains(t, keys(got["agreement"]), key)
	}
	var sizes []map[string]any
	require.NoError(t, json.Unmarshal(got["sizes"], &sizes))
	for _, key := range []string{"size", "inner_mm", "play", "p_tight", "p_fit", "p_loose", "p_slips", "verdict", "side", "recommended", "warnings"} {
		assert.Contains(t, sizes[0], key)
	}
	var back Result
	require.NoError(t, json.Unmarshal(text, &back))
	assert.Equal(t, result.Best, back.Best)
	assert.Equal(t, result.Sizes[3].PTight, back.Sizes[3].PTight)
	assert.Equal(t, result.Warnings[0].Text, back.Warnings[0].Text)
}

func TestProbabilitiesAddUpToOne(t *testing.T) {
	table := federal(t)
	rapid.Check(t, func(t *rapid.T) {
		ws, model := drawWidths(t, 1), drawModel(t)
		q := Question{Catalogue: table, Inner: map[string]Inner{}}
		if rapid.Bool().Draw(t, "inner") {
			u := rapid.Float64Range(0, 0.5).Draw(t, "u inner")
			for _, row := range table.Sizes {
				q.Inner[row.Label] = Inner{U: u}
			}
		}
		result, err := Fit(ws, q, model)
		require.NoError(t, err)
		require.Len(t, result.Sizes, len(table.Sizes))
		for _, c := range result.Sizes {
			assert.InDelta(t, 1, c.PTight+c.PFit+c.PLoose, 1e-12)
			for _, p := range []float64{c.PTight, c.PFit, c.PLoose} {
				assert.GreaterOrEqual(t, p, 0.0)
				assert.LessOrEqual(t, p, 1.0)
			}
		}
	})
}

// A wider leg never gets a smaller best size, other things equal.
func TestAWiderLegNeverGetsASmallerSize(t *testing.T) {
	table := federal(t)
	rapid.Check(t, func(t *rapid.T) {
		model := drawModel(t)
		model.Correction = nil
		model.AbsurdOver = 1000 * length.Millimetre // no width is refused
		ws := drawWidths(t, 1)
		more := length.Length(rapid.Int64Range(1, 400).Draw(t, "wider")) * 10_000
		wider := make([]Width, len(ws))
		for i := range ws {
			wider[i] = Width{ws[i].Value + more, ws[i].Resolution}
		}
		q := Question{Catalogue: table}
		if rapid.Bool().Draw(t, "listed") {
			bird := &catalogue.Species{}
			for _, label := range rapid.SliceOfN(rapid.SampledFrom([]string{"3", "4", "5", "6", "7A", "8"}), 1, 3).Draw(t, "list") {
				bird.Sizes = append(bird.Sizes, catalogue.Recommendation{Size: label, Catalogue: table.Name})
			}
			q.Species = bird
		}
		thin, err := Fit(ws, q, model)
		require.NoError(t, err)
		thick, err := Fit(wider, q, model)
		require.NoError(t, err)
		if thin.Best != "" && thick.Best != "" {
			assert.GreaterOrEqual(t, size(t, thick, thick.Best).InnerMM, size(t, thin, thin.Best).InnerMM)
		}
	})
}

// Scaling leg, sizes, resolution, SD and limit of error together changes no
// verdict.
func TestScalingEverythingChangesNoVerdict(t *testing.T) {
	table := federal(t)
	rapid.Check(t, func(t *rapid.T) {
		ws := drawWidths(t, 2)
		model := DefaultModel()
		model.RepeatabilitySD = rapid.Float64Range(0.001, 0.2).Draw(t, "sd")
		model.AbsurdOver = 1000 * length.Millimetre
		const factor = 3
		scaled := model
		scaled.RepeatabilitySD *= factor
		scaled.MPE *= factor
		big := make([]Width, len(ws))
		for i := range ws {
			big[i] = Width{ws[i].Value * factor, ws[i].Resolution * factor}
		}
		bigTable := *table
		bigTable.Sizes = nil
		for _, row := range table.Sizes {
			row.Inner *= factor
			bigTable.Sizes = append(bigTable.Sizes, row)
		}
		a, err := Fit(ws, Question{Catalogue: table}, model)
		require.NoError(t, err)
		b, err := Fit(big, Question{Catalogue: &bigTable}, scaled)
		require.NoError(t, err)
		assert.Equal(t, a.Best, b.Best)
		for i := range a.Sizes {
			assert.Equal(t, a.Sizes[i].Size, b.Sizes[i].Size)
			assert.Equal(t, a.Sizes[i].Verdict, b.Sizes[i].Verdict)
			assert.InDelta(t, a.Sizes[i].PTight, b.Sizes[i].PTight, 1e-9)
		}
	})
}

func TestTableAndRuler(t *testing.T) {
	model := DefaultModel()
	result := fitOf(t, "8.42 8.45 8.40", Question{Catalogue: federal(t), Species: gull()}, model)
	text := Table(result, model, 80)
	for _, want := range []string{"8.423 ± 0.041 mm", "uncalibrated", ">*6 ", "tight: ", "loose: ", "range     0.050 mm", "infinite"} {
		assert.Contains(t, text, want)
	}
	for _, line := range strings.Split(Ruler(result, model, 60), "\n")[:4] {
		assert.LessOrEqual(t, len([]rune(line)), 60)
	}
	result.Warnings = append(result.Warnings, Warning{"x", "\x1b[2J bad\nname"})
	assert.NotContains(t, Table(result, model, 80), "\x1b")
	// A huge uncertainty and a narrow screen stay inside the line.
	model.BetweenBander = 30
	wide := fitOf(t, "1.2", Question{Catalogue: federal(t)}, model)
	assert.NotEmpty(t, Table(wide, model, 0))
}

func BenchmarkFitOverTheFederalTable(b *testing.B) {
	table := federal(b)
	ws := widths(b, "8.42 8.45 8.40", "0.01")
	pooled := DefaultModel()
	pooled.Pooled[1] = Pooled{0.05, 20}
	for name, model := range map[string]Model{"setting": DefaultModel(), "pooled": pooled} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				if _, err := Fit(ws, Question{Catalogue: table}, model); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// A size that fails on both sides is said to be near the one that cripples.
func TestASizeThatFailsOnBothSidesIsNearTight(t *testing.T) {
	verdict, side := Chances{Tight: 0.012, Loose: 0.4}.Verdict()
	assert.Equal(t, Borderline, verdict)
	assert.Equal(t, Tight, side)
}
