package metrology

import (
	"fmt"
	"math"
)

// StudyRow is one value of a repeatability study.
type StudyRow struct {
	Item, Bander, Trial string
	Value               float64 // in mm
	Line                int     // line of the file, for messages; 0 = none
}

// Study is the result of a repeatability study; its JSON is that of the
// command "seamfit study". What can't be told from the data is null.
type Study struct {
	Anova               []AnovaRow `json:"anova"` // item, bander, interaction, repeatability, total
	SD                  StudySDs   `json:"sd"`
	ICC                 ByCase     `json:"icc"` // of single measurements, on cell means
	TechnicalErrorMM    float64    `json:"technical_error_mm"`
	MinimumDetectableMM float64    `json:"minimum_detectable_mm"`
	PercentGauge        *float64   `json:"percent_gauge"` // 100 × gauge/total
	DistinctClasses     *int       `json:"distinct_classes"`
	Pooled              bool       `json:"pooled"`

	Items       int             `json:"items"`
	Banders     int             `json:"banders"`
	Trials      int             `json:"trials"`
	ICCAverage  ByCase          `json:"icc_average"`  // of the mean of all banders
	ICCInterval IntervalsByCase `json:"icc_interval"` // 95 %, of single measurements
	// Repeatability is Lessells and Boag's r of single values.
	Repeatability *float64 `json:"repeatability_r"`
}

// AnovaRow is one row of the table of variance. Item and bander are tested
// against the interaction (both are drawn from many), the interaction against
// repeatability; with one bander, items against repeatability.
type AnovaRow struct {
	Source string   `json:"source"`
	SS     *float64 `json:"ss"`
	DF     float64  `json:"df"`
	MS     *float64 `json:"ms"`
	F      *float64 `json:"f"`
	P      *float64 `json:"p"`
}

// StudySDs are the components' standard deviations in mm.
type StudySDs struct {
	Repeatability   *float64 `json:"repeatability"` // null with one trial
	Reproducibility *float64 `json:"reproducibility"`
	Gauge           float64  `json:"gauge"`
	Item            float64  `json:"item"`
	Total           float64  `json:"total"`
}

// ByCase holds a value for each of Shrout and Fleiss's cases.
type ByCase struct {
	One   *float64 `json:"1"`
	Two   *float64 `json:"2"`
	Three *float64 `json:"3"`
}

// IntervalsByCase holds an interval for each case.
type IntervalsByCase struct {
	One   *Interval `json:"1"`
	Two   *Interval `json:"2"`
	Three *Interval `json:"3"`
}

// AnalyseStudy returns the analysis of a crossed study: every bander measures
// every item equally often. The technical error is √MS within items over all
// banders and trials; the minimum detectable difference of two measurements is
// 1.96·√2 times that; the number of distinct classes ⌊1.41·SD(item)/SD(gauge)⌋
// (AIAG, Measurement Systems Analysis, 4th edition).
//
// It returns a *RowError for a value that is not finite, a trial given twice,
// a study that is not balanced (naming what lacks), or too few items, banders
// or trials.
func AnalyseStudy(rows []StudyRow) (Study, error) {
	values, err := tabulate(rows)
	if err != nil {
		return Study{}, err
	}
	c, err := AnalyseCrossed(values)
	if err != nil {
		return Study{}, &RowError{What: err.Error(), Mend: "measure two items or more, with two banders or two trials at least"}
	}
	sds := c.Components()
	study := Study{
		Anova: anovaRows(c), Pooled: sds.Pooled, Items: c.Items, Banders: c.Banders, Trials: c.Trials,
		SD: StudySDs{Gauge: sds.Gauge, Item: sds.Item, Total: sds.Total},
	}
	if sds.Apart {
		study.SD.Repeatability = &sds.Repeatability
	}
	if c.Banders > 1 {
		study.SD.Reproducibility = &sds.Reproducibility
	}
	within, _ := c.Within()
	study.TechnicalErrorMM = math.Sqrt(within)
	study.MinimumDetectableMM = 1.96 * math.Sqrt2 * study.TechnicalErrorMM
	if sds.Total > 0 {
		percent := 100 * sds.Gauge / sds.Total
		study.PercentGauge = &percent
	}
	if classes := 1.41 * sds.Item / sds.Gauge; sds.Gauge > 0 && classes < 1e9 {
		whole := int(classes)
		study.DistinctClasses = &whole
	}
	study.setCorrelations(c, within)
	return study, nil
}

func (s *Study) setCorrelations(c Crossed, within float64) {
	between := (c.SSItem/c.DFItem - within) / float64(c.Banders*c.Trials)
	if total := between + within; total > 0 {
		r := between / total
		s.Repeatability = &r
	}
	if c.Banders < 2 {
		return
	}
	icc, err := IntraclassCorrelations(c.CellMeans, coverage)
	if err != nil {
		return // undefined for these values: null
	}
	value := func(i ICC) *float64 {
		if math.IsNaN(i.Value) {
			return nil
		}
		return &i.Value
	}
	byCase := func(v [3]ICC) ByCase { return ByCase{value(v[0]), value(v[1]), value(v[2])} }
	s.ICC, s.ICCAverage = byCase(icc.Single), byCase(icc.Average)
	interval := func(i ICC) *Interval {
		if !i.Bounded {
			return nil
		}
		return &i.Interval
	}
	s.ICCInterval = IntervalsByCase{interval(icc.Single[0]), interval(icc.Single[1]), interval(icc.Single[2])}
}

// anovaRows writes the table, unpooled.
func anovaRows(c Crossed) []AnovaRow {
	row := func(source string, ss, df, againstSS, againstDF float64) AnovaRow {
		r := AnovaRow{Source: source, SS: &ss, DF: df}
		if df == 0 {
			r.SS = nil
			return r
		}
		ms := ss / df
		r.MS = &ms
		if againstDF > 0 && againstSS > 0 {
			f := ms / (againstSS / againstDF)
			p := FSurvival(f, df, againstDF)
			if allFinite(f, p) {
				r.F, r.P = &f, &p
			}
		}
		return r
	}
	errSS, errDF := c.SSInteraction, c.DFInteraction
	if errDF == 0 {
		errSS, errDF = c.SSRepeat, c.DFRepeat
	}
	total := row("total", c.SSTotal, c.DFTotal, 0, 0)
	total.MS = nil
	return []AnovaRow{
		row("item", c.SSItem, c.DFItem, errSS, errDF),
		row("bander", c.SSBander, c.DFBander, errSS, errDF),
		row("interaction", c.SSInteraction, c.DFInteraction, c.SSRepeat, c.DFRepeat),
		row("repeatability", c.SSRepeat, c.DFRepeat, 0, 0),
		total,
	}
}

// farthest is the largest value of a study in millimetres: beyond it a float64
// has no tenths, and squares overflow before long.
const farthest = 1e15

// tabulate puts the rows into values[item][bander][trial], items and banders
// in order of first appearance.
func tabulate(rows []StudyRow) ([][][]float64, error) {
	type cell struct{ item, bander string }
	type place struct {
		cell
		trial string
	}
	items, banders := ordered{}, ordered{}
	cells, seen := map[cell][]float64{}, map[place]int{}
	for i, r := range rows {
		if !(math.Abs(r.Value) <= farthest) {
			return nil, &RowError{r.Line, fmt.Sprintf("the value of item %q, %g, is no length that was measured", r.Item, r.Value), "give it in millimetres, like 8.42"}
		}
		if r.Item == "" || r.Bander == "" {
			return nil, &RowError{r.Line, "the item or the bander is missing", "name both"}
		}
		at := place{cell{r.Item, r.Bander}, r.Trial}
		if first, twice := seen[at]; twice {
			return nil, &RowError{
				r.Line, fmt.Sprintf("item %q, bander %q, trial %q is given twice (first on line %d)", r.Item, r.Bander, r.Trial, rows[first].Line),
				"number the trials, or take one out",
			}
		}
		seen[at] = i
		items.add(r.Item)
		banders.add(r.Bander)
		cells[at.cell] = append(cells[at.cell], r.Value)
	}
	values := make([][][]float64, len(items.names))
	want := 0
	for i, item := range items.names {
		values[i] = make([][]float64, len(banders.names))
		for j, bander := range banders.names {
			values[i][j] = cells[cell{item, bander}]
			want = max(want, len(values[i][j]))
		}
	}
	for i, item := range items.names {
		for j, bander := range banders.names {
			if got := len(values[i][j]); got != want {
				return nil, &RowError{
					What: fmt.Sprintf("item %q was measured %d times by bander %q, others %d times", item, got, bander, want),
					Mend: "complete the study, or leave that item out",
				}
			}
		}
	}
	return values, nil
}

// ordered collects names in order of first appearance.
type ordered struct {
	names []string
	seen  map[string]bool
}

func (o *ordered) add(name string) {
	if o.seen == nil {
		o.seen = map[string]bool{}
	}
	if !o.seen[name] {
		o.seen[name] = true
		o.names = append(o.names, name)
	}
}
