package metrology

import (
	"encoding/json"
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func gaugeStudy(t testing.TB) []StudyRow {
	_, rows := table(t, "aiag_msa4_grr.csv")
	var out []StudyRow
	for i, row := range rows {
		out = append(out, StudyRow{Item: row[0], Bander: row[1], Trial: row[2], Value: number(t, row[3]), Line: i + 2})
	}
	return out
}

// AIAG, Measurement Systems Analysis, 4th edition: the study of 10 parts, 3
// appraisers and 3 trials.
func TestGaugeStudy(t *testing.T) {
	s, err := AnalyseStudy(gaugeStudy(t))
	require.NoError(t, err)
	require.Len(t, s.Anova, 5)
	for i, want := range []struct {
		source string
		ss, df float64
	}{{"item", 88.3619, 9}, {"bander", 3.1673, 2}, {"interaction", 0.3590, 18}, {"repeatability", 2.7589, 60}, {"total", 94.6471, 89}} {
		assert.Equal(t, want.source, s.Anova[i].Source)
		assert.InDelta(t, want.ss, *s.Anova[i].SS, 5e-5, want.source)
		assert.Equal(t, want.df, s.Anova[i].DF)
	}
	assert.InDelta(t, 0.434, *s.Anova[2].F, 5e-4)
	assert.InDelta(t, 0.974, *s.Anova[2].P, 5e-4)
	assert.Nil(t, s.Anova[3].F)
	assert.Nil(t, s.Anova[4].MS)
	assert.True(t, s.Pooled)
	assert.InDelta(t, 0.199933, *s.SD.Repeatability, 5e-7)
	assert.InDelta(t, 0.226838, *s.SD.Reproducibility, 5e-7)
	// Published .302373; its own parts give √(.199933² + .226838²) = .302372.
	assert.InDelta(t, 0.302373, s.SD.Gauge, 2e-6)
	assert.InDelta(t, 1.042327, s.SD.Item, 5e-7)
	assert.InDelta(t, 1.085, s.SD.Total, 5e-4)
	assert.InDelta(t, 27.86, *s.PercentGauge, 5e-3)
	assert.Equal(t, 4, *s.DistinctClasses)
	within := (3.16726 + 0.35898 + 2.75893) / 80
	assert.InDelta(t, math.Sqrt(within), s.TechnicalErrorMM, 1e-5)
	assert.InDelta(t, 1.96*math.Sqrt2*s.TechnicalErrorMM, s.MinimumDetectableMM, 1e-12)
}

// One trial: Shrout and Fleiss 1979, through the study.
func TestStudyOfOneTrial(t *testing.T) {
	_, rows := table(t, "shrout_fleiss_1979.csv")
	var study []StudyRow
	for _, row := range rows {
		for j, cell := range row[1:] {
			study = append(study, StudyRow{Item: row[0], Bander: fmt.Sprint(j), Trial: "1", Value: number(t, cell)})
		}
	}
	s, err := AnalyseStudy(study)
	require.NoError(t, err)
	assert.Nil(t, s.SD.Repeatability)
	assert.Nil(t, s.Anova[3].SS)
	assert.Nil(t, s.Anova[2].F)
	assert.False(t, s.Pooled)
	for i, want := range []float64{0.165742, 0.289764, 0.714841} {
		got := []*float64{s.ICC.One, s.ICC.Two, s.ICC.Three}[i]
		assert.InDelta(t, want, *got, 5e-7)
	}
	assert.InDelta(t, 0.620051, *s.ICCAverage.Two, 5e-7)
	assert.InDelta(t, 0.165742, *s.Repeatability, 5e-7, "r of Lessells and Boag is ICC(1) when all are balanced")
	// Item's F against the residual: 11.24/1.02 (Shrout and Fleiss, table 3).
	assert.InDelta(t, 11.24/1.02, *s.Anova[0].F, 0.05)
}

func TestStudyJSON(t *testing.T) {
	s, err := AnalyseStudy(gaugeStudy(t))
	require.NoError(t, err)
	text, err := json.Marshal(s)
	require.NoError(t, err)
	var got map[string]any
	require.NoError(t, json.Unmarshal(text, &got))
	for _, key := range []string{"anova", "sd", "icc", "technical_error_mm", "minimum_detectable_mm", "percent_gauge", "distinct_classes", "pooled"} {
		assert.Contains(t, got, key)
	}
	for _, key := range []string{"repeatability", "reproducibility", "gauge", "item", "total"} {
		assert.Contains(t, got["sd"], key)
	}
	for _, key := range []string{"1", "2", "3"} {
		assert.Contains(t, got["icc"], key)
	}
	for _, key := range []string{"source", "ss", "df", "ms", "f", "p"} {
		assert.Contains(t, got["anova"].([]any)[0], key)
	}
}

func TestStudiesThatCannotBeAnalysed(t *testing.T) {
	rows := gaugeStudy(t)
	spoiled := func(change func([]StudyRow) []StudyRow) []StudyRow {
		return change(append([]StudyRow{}, rows...))
	}
	for says, bad := range map[string][]StudyRow{
		"measure two items or more": nil,
		"line 5: the value of item \"1\", NaN, is no length": spoiled(func(r []StudyRow) []StudyRow {
			r[3].Value = math.NaN()
			return r
		}),
		"item \"1\" was measured 2 times by bander \"A\", others 3 times": spoiled(func(r []StudyRow) []StudyRow { return r[1:] }),
		"line 3: item \"1\", bander \"A\", trial \"1\" is given twice (first on line 2)": spoiled(func(r []StudyRow) []StudyRow {
			r[1].Trial = "1"
			return r
		}),
		"line 2: the item or the bander is missing": spoiled(func(r []StudyRow) []StudyRow {
			r[0].Bander = ""
			return r
		}),
	} {
		_, err := AnalyseStudy(bad)
		var row *RowError
		require.ErrorAs(t, err, &row)
		assert.Contains(t, err.Error(), says)
	}
}

func TestStudiesWithoutScatter(t *testing.T) {
	var rows []StudyRow
	for i := range 3 {
		for j := range 2 {
			for k := range 2 {
				rows = append(rows, StudyRow{Item: fmt.Sprint(i), Bander: fmt.Sprint(j), Trial: fmt.Sprint(k), Value: 8.42})
			}
		}
	}
	s, err := AnalyseStudy(rows)
	require.NoError(t, err)
	_, err = json.Marshal(s)
	require.NoError(t, err)
	assert.Nil(t, s.ICC.One)
	assert.Nil(t, s.PercentGauge)
	assert.Nil(t, s.DistinctClasses)
	assert.Zero(t, s.TechnicalErrorMM)
}

func TestStudyOfOneBander(t *testing.T) {
	rows := []StudyRow{
		{Item: "a", Bander: "x", Trial: "1", Value: 8.4},
		{Item: "a", Bander: "x", Trial: "2", Value: 8.5},
		{Item: "b", Bander: "x", Trial: "1", Value: 9.4},
		{Item: "b", Bander: "x", Trial: "2", Value: 9.4},
	}
	s, err := AnalyseStudy(rows)
	require.NoError(t, err)
	assert.Nil(t, s.SD.Reproducibility)
	assert.Nil(t, s.ICC.One)
	assert.InDelta(t, 0.05, *s.SD.Repeatability, 1e-12)
	assert.NotNil(t, s.Anova[0].F)
	assert.Nil(t, s.Anova[1].SS)
}

// Order of the rows and the names do not matter; shifting all changes nothing
// but the mean, scaling scales the SDs.
func TestStudyProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		values := drawStudy(t)
		var rows, moved []StudyRow
		for i := range values {
			for j := range values[i] {
				for k, v := range values[i][j] {
					rows = append(rows, StudyRow{Item: fmt.Sprint(i), Bander: fmt.Sprint(j), Trial: fmt.Sprint(k), Value: v})
					moved = append(moved, StudyRow{Item: fmt.Sprint("i", i), Bander: fmt.Sprint(j), Trial: fmt.Sprint(k), Value: 2*v + 5})
				}
			}
		}
		base, err := AnalyseStudy(rows)
		require.NoError(t, err)
		other, err := AnalyseStudy(rapid.Permutation(moved).Draw(t, "shuffled"))
		require.NoError(t, err)
		assert.InDelta(t, 2*base.SD.Gauge, other.SD.Gauge, 1e-7)
		assert.InDelta(t, 2*base.SD.Item, other.SD.Item, 1e-6)
		assert.InDelta(t, 2*base.TechnicalErrorMM, other.TechnicalErrorMM, 1e-8)
		if base.ICC.Three != nil && other.ICC.Three != nil {
			assert.InDelta(t, *base.ICC.Three, *other.ICC.Three, 1e-7)
		}
	})
}

func BenchmarkStudy10x3x3(b *testing.B) {
	rows := gaugeStudy(b)
	for b.Loop() {
		if _, err := AnalyseStudy(rows); err != nil {
			b.Fatal(err)
		}
	}
}
