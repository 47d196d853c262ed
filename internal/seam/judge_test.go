package seam

import (
	"encoding/json"
	"math"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"seamfit/internal/catalogue"
	"seamfit/internal/length"
	"seamfit/internal/metrology"
)

// mm reads lengths as a caliper of 0.01 mm shows them.
func mm(t require.TestingT, texts ...string) []Dimension {
	var ds []Dimension
	for _, text := range texts {
		value, _, err := length.Parse(text, length.MM)
		require.NoError(t, err)
		ds = append(ds, Dimension{Value: value, Resolution: 10 * length.Micrometre})
	}
	return ds
}

func measured(t require.TestingT, texts ...string) Outer {
	return Outer{Basis: Measured, Diameters: mm(t, texts...)}
}

// example is a band with the values that the command's help shows.
func example(t require.TestingT) Closed {
	return Closed{
		Widths: mm(t, "11.42", "11.47", "11.44"), Thickness: mm(t, "1.02")[0].Value,
		Outer:  Outer{Basis: Stated, Diameters: mm(t, "11.40"), U: 10 * length.Micrometre},
		Height: mm(t, "9.60")[0], StringHeight: mm(t, "9.53")[0], Leg: mm(t, "8.40")[0],
	}
}

func judge(t require.TestingT, c Closed) Judgement {
	j, err := Judge(c, everyday(), DefaultLimits())
	require.NoError(t, err)
	return j
}

// By hand: w̄ = 34.33/3, P = π·w̄, g = P − π·11.40,
// u²/π² = 0.03²/3 + 0.01²/12 + 0.02²/3 + 0.01², Φ by tables.
func TestTheExampleByHand(t *testing.T) {
	j := judge(t, example(t))
	assert.InDelta(t, 35.950292, j.PerimeterMM, 1e-6)
	assert.InDelta(t, 0.1361357, j.GapMM, 1e-7)
	assert.InDelta(t, math.Pi*math.Sqrt(0.0003+0.0001/12+0.0004/3+0.0001), j.GapUMM, 1e-15)
	assert.Equal(t, metrology.Infinite(), j.GapDOF)
	assert.InDelta(t, 0.1361357*11.40/(11.40-2*0.51), j.Visible.ValueMM, 1e-6)
	// z = (0.30·10.38/11.40 − 0.1361357)/0.0731166 = 1.8741; 1 − Φ = 0.0305
	assert.InDelta(t, 0.0305, *j.PGapOverLimit, 5e-5)
	// z = 1.8619; 1 − Φ = 0.0313
	assert.InDelta(t, 0.0313, j.POverlap, 5e-5)
	assert.InDelta(t, 0.05, j.OutOfRoundMM, 1e-12)
	assert.InDelta(t, 0.07, *j.OffsetMM, 1e-12)
	assert.InDelta(t, 11.42-2.04-8.40, *j.ClearanceMM, 1e-12)
	assert.Equal(t, Flush, j.Verdict)
	assert.Empty(t, j.Findings)
}

// By hand: three bands 11.40, 11.45, 11.35 have s_b = 0.05 with 2 degrees of
// freedom; uncalibrated, the two widths' errors count as independent.
func TestMeasuredOuterDiameterByHand(t *testing.T) {
	c := example(t)
	c.Outer = measured(t, "11.40", "11.45", "11.35")
	j := judge(t, c)
	bands, rest := 0.0025*(1+1./3), 0.0009/3+2*0.0001/12+2*0.0004/3
	assert.InDelta(t, math.Pi*math.Sqrt(bands+rest), j.GapUMM, 1e-15)
	// Welch and Satterthwaite, truncated (JCGM 100:2008, G.4).
	assert.InDelta(t, math.Floor((bands+rest)*(bands+rest)/(bands*bands/2)), float64(j.GapDOF), 0)
	assert.Equal(t, 3, j.Bands)

	// One band tells no SD, and equal ones prove nothing: the setting serves.
	for _, outer := range []Outer{measured(t, "11.40"), measured(t, "11.40", "11.40")} {
		c.Outer = outer
		j = judge(t, c)
		bands = 0.0004 * (1 + 1/float64(len(outer.Diameters)))
		assert.InDelta(t, math.Pi*math.Sqrt(bands+rest), j.GapUMM, 1e-15)
		assert.Equal(t, metrology.Infinite(), j.GapDOF)
	}
}

func TestComputedOuterDiameterIsSaidSo(t *testing.T) {
	c := example(t)
	c.Outer = Outer{Basis: Nominal, Inner: mm(t, "9.36")[0].Value}
	j := judge(t, c)
	assert.InDelta(t, 11.40, j.OuterMM, 1e-12)
	assert.InDelta(t, math.Pi*math.Sqrt(0.0003+0.0001/12+0.0004/3+0.01), j.GapUMM, 1e-12)
	assert.Equal(t, Uncertain, j.Verdict, "ten times as uncertain")
	assert.Contains(t, strings.Join(j.Notes, "\n"), "the outer diameter is computed, inner + 2 × thickness")
}

// line is a calibration c(x) = y1 + y2(x−x0) with its covariance.
type line struct{ y1, y2, x0, s1, s2, cov, dof, rods float64 }

func (l line) At(x float64) (c, uLine, dofLine, uRods float64, extrapolated bool) {
	d := x - l.x0
	return l.y1 + l.y2*d, math.Sqrt(l.s1*l.s1 + d*d*l.s2*l.s2 + 2*d*l.cov), l.dof, l.rods, x > 20
}

// JCGM 100:2008, H.3: u²(c) = s²(y₁) + (x−x₀)²s²(y₂) + 2(x−x₀)cov. Of the
// difference of two corrections only (a−b)²·s²(y₂) is left.
func TestACalibrationIsAppliedAndMostOfItDropsOut(t *testing.T) {
	l := line{y1: 0.012, y2: -0.001, x0: 8, s1: 0.002, s2: 0.0007, cov: -0.3 * 0.002 * 0.0007, dof: 16, rods: 0.003}
	cal := Caliper{RepeatabilitySD: 0.03, RepeatabilityDOF: 25, Correction: l}
	c := example(t)
	j, err := Judge(c, cal, DefaultLimits())
	require.NoError(t, err)
	mean := 34.33 / 3
	correction, uLine, _, _, _ := l.At(mean)
	assert.InDelta(t, math.Pi*(mean+correction-11.40), j.GapMM, 1e-12, "what is stated is not corrected")
	assert.InDelta(t, math.Pi*math.Sqrt(0.0003+0.0001/12+uLine*uLine+0.003*0.003+0.0001), j.GapUMM, 1e-12)
	assert.False(t, math.IsInf(float64(j.GapDOF), 1))
	assert.InDelta(t, 11.42+0.012-0.001*3.42-2.04-(8.40+0.012-0.001*0.4), *j.ClearanceMM, 1e-12)

	c.Outer = measured(t, "11.10")
	j, err = Judge(c, cal, DefaultLimits())
	require.NoError(t, err)
	assert.InDelta(t, math.Pi*(mean-11.10)*(1-0.001), j.GapMM, 1e-12)
	difference := (mean - 11.10) * 0.0007
	assert.InDelta(t, math.Pi*math.Sqrt(0.0003+2*0.0001/12+difference*difference+2*0.0004), j.GapUMM, 1e-9)

	c.Widths = mm(t, "20.10", "20.10", "20.10")
	c.Outer = measured(t, "20.05")
	j, err = Judge(c, cal, DefaultLimits())
	require.NoError(t, err)
	assert.Contains(t, strings.Join(j.Notes, "\n"), "outside the widths that the calibration's rods covered")

	for _, broken := range []line{{y1: math.NaN()}, {s1: math.NaN()}, {rods: math.Inf(1)}, {s1: -1, cov: 0, dof: math.NaN()}} {
		_, err = Judge(example(t), Caliper{Correction: broken}, DefaultLimits())
		require.Error(t, err)
	}
}

func TestVerdicts(t *testing.T) {
	for _, c := range []struct {
		name     string
		widths   []string
		outer    string
		change   func(*Closed)
		verdict  Verdict
		findings []string
	}{
		{name: "as wide as a flush one", widths: []string{"11.40", "11.40", "11.41"}, outer: "11.40", verdict: Flush},
		{name: "open", widths: []string{"11.60", "11.62", "11.59"}, outer: "11.40", verdict: Gap, findings: []string{catalogue.Gap}},
		{name: "near the limit", widths: []string{"11.47", "11.47", "11.47"}, outer: "11.40", verdict: Uncertain},
		{
			name: "an edge rides, and the mean is that of a flush one", widths: []string{"12.10", "11.05", "11.05"}, outer: "11.40",
			verdict: Step, findings: []string{catalogue.Overlap, catalogue.OutOfRound},
		},
		{
			name: "an edge rides, and the mean is that of a gap", widths: []string{"12.40", "11.38", "11.38"}, outer: "11.40",
			verdict: Step, findings: []string{catalogue.Overlap, catalogue.OutOfRound},
		},
		{
			name: "the step is under another width", widths: []string{"11.38", "12.40", "11.38"}, outer: "11.40",
			verdict: Step, findings: []string{catalogue.OutOfRound},
		},
		{name: "smaller round than flush", widths: []string{"11.20", "11.20", "11.20"}, outer: "11.40", verdict: Step, findings: []string{catalogue.Overlap}},
		{
			name: "oval", widths: []string{"11.20", "11.60", "11.40"}, outer: "11.40",
			verdict: Step, findings: []string{catalogue.OutOfRound},
		},
		{
			name: "edges out of line", widths: []string{"11.40", "11.40", "11.40"}, outer: "11.40", verdict: Uncertain, findings: []string{catalogue.Spiral},
			change: func(c *Closed) { c.Height = mm(t, "9.90")[0] },
		},
		{
			name: "no room for the leg", widths: []string{"11.40", "11.40", "11.40"}, outer: "11.40", verdict: Uncertain,
			change: func(c *Closed) { c.Leg = mm(t, "9.50")[0] },
		},
		{
			name: "the height reads a hair below the string's", widths: []string{"11.40", "11.40", "11.40"}, outer: "11.40", verdict: Flush,
			change: func(c *Closed) { c.Height = mm(t, "9.50")[0] },
		},
	} {
		closed := example(t)
		closed.Widths = mm(t, c.widths...)
		closed.Outer.Diameters = mm(t, c.outer)
		if c.change != nil {
			c.change(&closed)
		}
		j := judge(t, closed)
		assert.Equal(t, c.verdict, j.Verdict, c.name)
		assert.Equal(t, c.findings, j.Findings, c.name)
		assert.Equal(t, c.verdict == Step, j.PGapOverLimit == nil, c.name)
		if j.Riding.ValueMM > j.Riding.LimitMM {
			assert.Greater(t, j.POverlap, 0.5, c.name)
		}
	}
}

// A step just under its limit is not called flush.
func TestNearlyAStepIsNotFlush(t *testing.T) {
	l := DefaultLimits()
	l.OutOfRound = 2 * length.Millimetre
	for _, v := range []struct {
		first, outer string
		want         Verdict
	}{{"11.85", "11.49", Step}, {"11.79", "11.47", Uncertain}, {"11.60", "11.41", Flush}} {
		c := example(t)
		c.Widths = mm(t, v.first, "11.31", "11.31")
		c.Outer.Diameters = mm(t, v.outer)
		j, err := Judge(c, everyday(), l)
		require.NoError(t, err)
		assert.Equal(t, v.want, j.Verdict, v.first)
		assert.InDelta(t, 0, j.GapMM, 0.03, "as wide as a flush one")
	}
}

// What an eye found is never taken away; what it missed asks for another look.
func TestTheEyeIsNeverOverruled(t *testing.T) {
	c := example(t)
	c.Widths = mm(t, "12.40", "11.38", "11.38")
	j := judge(t, c)
	assert.Equal(t, []string{catalogue.Overlap, catalogue.OutOfRound}, j.Missed(nil))
	assert.Equal(t, []string{catalogue.OutOfRound}, j.Missed([]string{catalogue.Overlap, catalogue.Burr}))
	assert.Empty(t, judge(t, example(t)).Missed([]string{catalogue.Gap}))
}

func TestWhatCannotBeIsSaidAndNotComputed(t *testing.T) {
	for name, c := range map[string]struct {
		change func(*Closed)
		want   string
	}{
		"no width":             {func(c *Closed) { c.Widths = nil }, "no width can't tell a gap from an overlap; measure three"},
		"one width":            {func(c *Closed) { c.Widths = c.Widths[:1] }, "one width can't tell"},
		"forty widths":         {func(c *Closed) { c.Widths = make([]Dimension, 40) }, "40 widths are more than the 36"},
		"a width of 0":         {func(c *Closed) { c.Widths[1].Value = 0 }, "width 2 is 0.00 mm, not above 0; zero the caliper"},
		"a negative width":     {func(c *Closed) { c.Widths[2].Value = -1 }, "width 3 is -0.000001 mm, not above 0"},
		"a huge width":         {func(c *Closed) { c.Widths[2].Value = 114 * length.Millimetre }, "over the 60.00 mm that a band can have; check the unit"},
		"all metal":            {func(c *Closed) { c.Widths[0].Value = 2 * c.Thickness }, "width 1 is 2.04 mm, not above twice the thickness of 1.02 mm"},
		"no thickness":         {func(c *Closed) { c.Thickness = 0 }, "the thickness is 0.00 mm; give the thickness"},
		"no resolution":        {func(c *Closed) { c.Widths[0].Resolution = -1 }, "width 1 has a resolution of"},
		"no outer diameter":    {func(c *Closed) { c.Outer.Diameters = nil }, "there is no outer diameter; measure a flush band"},
		"no basis":             {func(c *Closed) { c.Outer.Basis = "" }, "where the outer diameter comes from is not said"},
		"a flat outer":         {func(c *Closed) { c.Outer.Diameters = mm(t, "2.00") }, "outer diameter 1 is 2.00 mm, not above twice the thickness"},
		"an outer of 0":        {func(c *Closed) { c.Outer.Diameters[0].Value = 0 }, "outer diameter 1 is 0.00 mm, not above 0"},
		"an uncertain outer":   {func(c *Closed) { c.Outer.U = -1 }, "the outer diameter's uncertainty is"},
		"no inner diameter":    {func(c *Closed) { c.Outer = Outer{Basis: Nominal} }, "the inner diameter is 0.00 mm"},
		"another size's outer": {func(c *Closed) { c.Outer.Diameters = mm(t, "9.60") }, "the mean width 11.44 mm and the outer diameter 9.60 mm are not of one closed band; measure the outer diameter on a flush band of the same string"},
		"a wide outer":         {func(c *Closed) { c.Outer.Diameters = mm(t, "13.80") }, "not of one closed band"},
		"another string's": {
			func(c *Closed) { c.String, c.Outer.String = "1236-567", "1236-568" },
			`the outer diameter is of the string "1236-568", the band of "1236-567"; measure the outer diameter on a flush band of the same string`,
		},
		"below the string's height": {func(c *Closed) { c.Height = mm(t, "9.40")[0] }, "the height 9.40 mm is below the string's 9.53 mm"},
		"a height alone":            {func(c *Closed) { c.StringHeight = Dimension{} }, "height is missing; give both, or neither"},
		"a negative leg":            {func(c *Closed) { c.Leg.Value = -5 }, "the leg width is -0.000005 mm, not above 0"},
		"a leg's uncertainty":       {func(c *Closed) { c.LegU = -1 }, "the leg width's uncertainty"},
	} {
		closed := example(t)
		c.change(&closed)
		j, err := Judge(closed, everyday(), DefaultLimits())
		require.ErrorContains(t, err, c.want, name)
		var refused *InputError
		require.ErrorAs(t, err, &refused, name)
		assert.NotEmpty(t, refused.Mend, name)
		assert.Equal(t, Judgement{}, j, name)
	}
	for _, cal := range []Caliper{{RepeatabilitySD: -1}, {RepeatabilitySD: math.NaN()}, {RepeatabilityDOF: math.NaN()}, {MPE: -1}} {
		_, err := Judge(example(t), cal, DefaultLimits())
		require.ErrorContains(t, err, "the caliper's")
	}
	for _, change := range []func(*Limits){
		func(l *Limits) { l.Gap = -1 }, func(l *Limits) { l.OuterSD = -1 }, func(l *Limits) { l.Risk = math.NaN() }, func(l *Limits) { l.Risk = 0.6 },
	} {
		l := DefaultLimits()
		change(&l)
		_, err := Judge(example(t), everyday(), l)
		require.ErrorContains(t, err, "set it")
	}
}

func TestTheSameStringMayBeNamedOrLeftOut(t *testing.T) {
	c := example(t)
	c.String, c.Outer.String = "1236-567", "1236-567"
	judge(t, c)
	c.String = ""
	judge(t, c)
}

// The keys that tools rely on, and no others.
func TestJSON(t *testing.T) {
	keys := func(j Judgement) map[string]any {
		data, err := json.Marshal(j)
		require.NoError(t, err)
		var m map[string]any
		require.NoError(t, json.Unmarshal(data, &m))
		return m
	}
	m := keys(judge(t, example(t)))
	for _, key := range []string{"perimeter_mm", "gap_mm", "gap_u_mm", "p_gap_over_limit", "p_overlap", "out_of_round_mm", "offset_mm", "clearance_mm"} {
		assert.IsType(t, 0.0, m[key], key)
	}
	assert.Equal(t, "flush", m["verdict"])
	assert.Len(t, m, 9)

	c := example(t)
	c.Widths = mm(t, "12.40", "11.38", "11.38")
	c.Height, c.StringHeight, c.Leg = Dimension{}, Dimension{}, Dimension{}
	m = keys(judge(t, c))
	assert.Equal(t, "step", m["verdict"])
	for _, key := range []string{"p_gap_over_limit", "offset_mm", "clearance_mm"} {
		value, there := m[key]
		assert.True(t, there && value == nil, key)
	}
}

func TestTheTableForAPerson(t *testing.T) {
	text := Table(judge(t, example(t)), 80)
	for _, want := range []string{
		"verdict   flush\n", "gap       0.136 ± 0.143 mm at mid-thickness (95 %, k = 1.96)\n",
		"gap as seen outside            0.150     0.080   ≤ 0.300   P(over) 3.0 %\n",
		"clearance at the narrowest     0.980     0.061   ≥ 0.100   P(under) <0.1 %\n",
		"! what the eye sees wrong stands", "limits are bench settings",
	} {
		assert.Contains(t, text, want)
	}
	c := example(t)
	c.Widths = mm(t, "12.40", "11.38", "11.38")
	step := Table(judge(t, c), 80)
	assert.Contains(t, step, "verdict   step suspected: look for an overlap\n")
	assert.Contains(t, step, "gap       not stated: a riding edge reads as a gap\n")
	assert.NotContains(t, step, "as seen outside")
	for line := range strings.Lines(text + step) {
		assert.LessOrEqual(t, utf8.RuneCountInString(strings.TrimSuffix(line, "\n")), 80, line)
	}
}

// band draws a band that can be measured at all.
func band(t *rapid.T) Closed {
	um := func(name string, low, high int64) length.Length {
		return length.Length(rapid.Int64Range(low, high).Draw(t, name)) * length.Micrometre
	}
	c := Closed{Thickness: um("thickness", 300, 1700)}
	outer := 2*c.Thickness + um("inner", 1500, 29_000)
	c.Outer = Outer{Basis: Measured, Diameters: []Dimension{{Value: outer, Resolution: 10 * length.Micrometre}}}
	for range rapid.IntRange(2, 5).Draw(t, "widths") {
		c.Widths = append(c.Widths, Dimension{Value: outer + um("off", -150, 700), Resolution: 10 * length.Micrometre})
	}
	return c
}

func TestProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := band(t)
		j, err := Judge(c, everyday(), DefaultLimits())
		if err != nil {
			return
		}
		require.GreaterOrEqual(t, j.OutOfRoundMM, 0.0)
		require.Positive(t, j.GapUMM)
		for _, p := range []float64{j.POverlap, j.PShort, j.Riding.PWrong, j.OutOfRound.PWrong, j.Visible.PWrong} {
			require.True(t, p >= 0 && p <= 1)
		}
		if j.Verdict == Flush || j.Verdict == Gap {
			require.LessOrEqual(t, j.Riding.ValueMM, j.Riding.LimitMM, "a step comes first")
			require.NotNil(t, j.PGapOverLimit)
		}
		if j.Verdict == Flush {
			require.Empty(t, j.Findings)
		}
		_, err = json.Marshal(j)
		require.NoError(t, err)

		// The order of the widths after the first does not matter.
		turned := c
		turned.Widths = append([]Dimension{c.Widths[0]}, c.Widths[2:]...)
		turned.Widths = append(turned.Widths, c.Widths[1])
		other, err := Judge(turned, everyday(), DefaultLimits())
		require.NoError(t, err)
		require.InDelta(t, j.GapMM, other.GapMM, 1e-9)
		require.Equal(t, j.Verdict, other.Verdict)

		// A wider flush diameter makes the gap narrower.
		wider := c
		wider.Outer = Outer{Basis: Measured, Diameters: []Dimension{{Value: c.Outer.Diameters[0].Value + 50*length.Micrometre}}}
		if k, err := Judge(wider, everyday(), DefaultLimits()); err == nil {
			require.Less(t, k.GapMM, j.GapMM)
			require.GreaterOrEqual(t, k.PShort, j.PShort)
		}
	})
}

// Nothing that a caliper or a person can hand in makes it panic, or say
// something that is no number.
func TestAnythingAtAll(t *testing.T) {
	any64 := rapid.OneOf(rapid.Int64(), rapid.Int64Range(-1e6, 70e6))
	rapid.Check(t, func(t *rapid.T) {
		one := func(name string) Dimension {
			return Dimension{Value: length.Length(any64.Draw(t, name)), Resolution: length.Length(any64.Draw(t, name+"'s step"))}
		}
		c := Closed{
			Thickness: length.Length(any64.Draw(t, "thickness")), Height: one("height"), StringHeight: one("string's height"),
			Leg: one("leg"), LegU: length.Length(any64.Draw(t, "u of the leg")),
			Outer: Outer{
				Basis: rapid.SampledFrom([]Basis{Measured, Stated, Nominal, "", "x"}).Draw(t, "basis"),
				Inner: length.Length(any64.Draw(t, "inner")), U: length.Length(any64.Draw(t, "u of the outer")),
			},
		}
		for range rapid.IntRange(0, 4).Draw(t, "widths") {
			c.Widths = append(c.Widths, one("width"))
		}
		for range rapid.IntRange(0, 3).Draw(t, "outers") {
			c.Outer.Diameters = append(c.Outer.Diameters, one("outer"))
		}
		cal := Caliper{
			RepeatabilitySD: rapid.Float64().Draw(t, "s"), RepeatabilityDOF: rapid.Float64().Draw(t, "dof"),
			MPE: length.Length(any64.Draw(t, "mpe")),
		}
		j, err := Judge(c, cal, DefaultLimits())
		if err != nil {
			require.False(t, strings.ContainsFunc(err.Error(), unicode.IsControl))
			return
		}
		_, err = json.Marshal(j)
		require.NoError(t, err)
		_ = Table(j, 80)
	})
}

func BenchmarkJudge(b *testing.B) {
	c := example(b)
	for b.Loop() {
		if _, err := Judge(c, everyday(), DefaultLimits()); err != nil {
			b.Fatal(err)
		}
	}
}
