package metrology

import (
	"fmt"
	"math"
)

// OneWay is a one-way analysis of variance.
type OneWay struct {
	Groups, N   int
	SSBetween   float64
	SSWithin    float64
	DFBetween   float64 // groups − 1
	DFWithin    float64 // N − groups
	F           float64 // 0 when SSWithin or a number of degrees of freedom is 0
	P           float64 // 0 with F
	RSquared    float64 // SSBetween over the total; 0 when that is 0
	ResidualSD  float64 // √MS within
	MeanPerCell float64 // n₀ = (N − Σnᵢ²/N)/(groups − 1)
}

// MSBetween returns SSBetween/DFBetween; 0 without degrees of freedom.
func (a OneWay) MSBetween() float64 { return ratio(a.SSBetween, a.DFBetween) }

// MSWithin returns SSWithin/DFWithin; 0 without degrees of freedom.
func (a OneWay) MSWithin() float64 { return ratio(a.SSWithin, a.DFWithin) }

// BetweenVariance returns the variance component between groups,
// (MS between − MS within)/n₀ (Lessells and Boag 1987, Auk 104:116–121); it
// may be negative.
func (a OneWay) BetweenVariance() float64 {
	return ratio(a.MSBetween()-a.MSWithin(), a.MeanPerCell)
}

// Repeatability returns r = s²_A/(s² + s²_A) of Lessells and Boag; 0 when both
// are 0.
func (a OneWay) Repeatability() float64 {
	between := a.BetweenVariance()
	return ratio(between, between+a.MSWithin())
}

// TechnicalError returns √MS within, which for two measurements of each item is
// √(Σd²/2N).
func (a OneWay) TechnicalError() float64 { return math.Sqrt(a.MSWithin()) }

func ratio(a, b float64) float64 {
	if b == 0 {
		return 0
	}
	return a / b
}

// AnalyseOneWay returns the analysis of groups of values, which may differ in
// size. Deviations are taken from each group's mean and from the grand mean of
// those, both after their leading digits are gone. It returns ErrTooFew for
// fewer than two groups or no group with two values, ErrDomain for an empty
// group, and ErrNotFinite.
func AnalyseOneWay(groups [][]float64) (OneWay, error) {
	if len(groups) < 2 {
		return OneWay{}, fmt.Errorf("analysis of variance of %d groups, 2 are needed: %w", len(groups), ErrTooFew)
	}
	a := OneWay{Groups: len(groups)}
	var origin float64
	summaries := make([]Summary, len(groups))
	// Everything is measured from one value of the data, which takes constant
	// leading digits off without rounding where the digits allow it.
	for i, g := range groups {
		if len(g) == 0 {
			return OneWay{}, fmt.Errorf("group %d is empty: %w", i+1, ErrDomain)
		}
		if i == 0 {
			origin = g[0]
		}
		shifted := make([]float64, len(g))
		for j, x := range g {
			shifted[j] = x - origin
		}
		s, err := Summarise(shifted)
		if err != nil {
			return OneWay{}, fmt.Errorf("group %d: %w", i+1, err)
		}
		summaries[i] = s
		a.N += s.N
	}
	n := float64(a.N)
	a.DFBetween, a.DFWithin = float64(a.Groups-1), n-float64(a.Groups)
	if a.DFWithin == 0 {
		return OneWay{}, fmt.Errorf("analysis of variance: no group has two values: %w", ErrTooFew)
	}
	var grand, within, between, squares accumulator
	for _, s := range summaries {
		grand.add(float64(s.N) * s.Mean)
		within.add(s.SD * s.SD * s.DOF())
		squares.add(float64(s.N) * float64(s.N))
	}
	mean := grand.total() / n
	for _, s := range summaries {
		d := s.Mean - mean
		between.add(float64(s.N) * d * d)
	}
	a.SSWithin, a.SSBetween = within.total(), between.total()
	a.MeanPerCell = (n - squares.total()/n) / a.DFBetween
	a.RSquared = ratio(a.SSBetween, a.SSBetween+a.SSWithin)
	a.ResidualSD = math.Sqrt(a.MSWithin())
	if a.SSWithin > 0 {
		a.F = a.MSBetween() / a.MSWithin()
		a.P = FSurvival(a.F, a.DFBetween, a.DFWithin)
	}
	return a, nil
}

// Crossed is a balanced analysis of variance of items measured by banders (or
// parts by appraisers, targets by judges), all by all, with trials in each
// cell. Sums of squares are unpooled.
type Crossed struct {
	Items, Banders, Trials                             int
	SSItem, SSBander, SSInteraction, SSRepeat, SSTotal float64
	DFItem, DFBander, DFInteraction, DFRepeat, DFTotal float64
	// CellMeans holds the mean of each item's and bander's trials.
	CellMeans [][]float64
}

// AnalyseCrossed returns the analysis of values[item][bander][trial]. It
// returns ErrTooFew for fewer than two items, no bander or no trial, or one
// bander with one trial; ErrDomain when a cell's number of trials differs from
// the first one's; and ErrNotFinite.
func AnalyseCrossed(values [][][]float64) (Crossed, error) {
	c, err := crossedShape(values)
	if err != nil {
		return Crossed{}, err
	}
	origin := values[0][0][0]
	rows, columns := make([]accumulator, c.Items), make([]accumulator, c.Banders)
	var grand, repeat, total accumulator
	cells := make([][]float64, c.Items)
	for i := range values {
		cells[i] = make([]float64, c.Banders)
		for j, cell := range values[i] {
			shifted := make([]float64, len(cell))
			for k, x := range cell {
				shifted[k] = x - origin
			}
			s, err := Summarise(shifted)
			if err != nil {
				return Crossed{}, fmt.Errorf("item %d, bander %d: %w", i+1, j+1, err)
			}
			cells[i][j] = s.Mean
			repeat.add(s.SD * s.SD * s.DOF())
			rows[i].add(s.Mean)
			columns[j].add(s.Mean)
			grand.add(s.Mean)
		}
	}
	p, o, t := float64(c.Items), float64(c.Banders), float64(c.Trials)
	mean := grand.total() / (p * o)
	var item, bander, interaction accumulator
	for i := range rows {
		d := rows[i].total()/o - mean
		item.add(o * t * d * d)
	}
	for j := range columns {
		d := columns[j].total()/p - mean
		bander.add(p * t * d * d)
	}
	for i := range cells {
		for j := range cells[i] {
			d := cells[i][j] - rows[i].total()/o - columns[j].total()/p + mean
			interaction.add(t * d * d)
			for _, x := range values[i][j] {
				e := x - origin - mean
				total.add(e * e)
			}
		}
	}
	for i := range cells {
		for j := range cells[i] {
			cells[i][j] += origin
		}
	}
	c.CellMeans = cells
	c.SSItem, c.SSBander, c.SSInteraction = item.total(), bander.total(), interaction.total()
	c.SSRepeat, c.SSTotal = repeat.total(), total.total()
	c.DFItem, c.DFBander = p-1, o-1
	c.DFInteraction, c.DFRepeat, c.DFTotal = (p-1)*(o-1), p*o*(t-1), p*o*t-1
	return c, nil
}

func crossedShape(values [][][]float64) (Crossed, error) {
	if len(values) < 2 {
		return Crossed{}, fmt.Errorf("a study of %d items, 2 are needed: %w", len(values), ErrTooFew)
	}
	c := Crossed{Items: len(values), Banders: len(values[0])}
	if c.Banders == 0 || len(values[0][0]) == 0 {
		return Crossed{}, fmt.Errorf("a study without banders or trials: %w", ErrTooFew)
	}
	c.Trials = len(values[0][0])
	if c.Banders*c.Trials < 2 {
		return Crossed{}, fmt.Errorf("a study of one bander with one trial: %w", ErrTooFew)
	}
	for i := range values {
		if len(values[i]) != c.Banders {
			return Crossed{}, fmt.Errorf("item %d has %d banders, not %d: %w", i+1, len(values[i]), c.Banders, ErrDomain)
		}
		for j := range values[i] {
			if len(values[i][j]) != c.Trials {
				return Crossed{}, fmt.Errorf("item %d, bander %d has %d trials, not %d: %w", i+1, j+1, len(values[i][j]), c.Trials, ErrDomain)
			}
		}
	}
	return c, nil
}

// SDs are the standard deviations of a study's variance components; a negative
// estimate of a variance counts as 0.
type SDs struct {
	Repeatability   float64
	Reproducibility float64 // banders, and interaction where it is not pooled
	Gauge           float64 // both together
	Item            float64
	Total           float64
	Pooled          bool // the interaction was pooled with repeatability
	// Apart is false with one trial a cell: repeatability can't be told from
	// the interaction, and Repeatability holds both.
	Apart bool
}

// poolAbove is the significance above which the interaction is pooled (AIAG,
// Measurement Systems Analysis, 4th edition, appendix A).
const poolAbove = 0.25

// InteractionTest returns F and P of the interaction against repeatability,
// and false when there are not the degrees of freedom for it or no scatter
// between trials.
func (c Crossed) InteractionTest() (f, p float64, ok bool) {
	if c.DFInteraction == 0 || c.DFRepeat == 0 || c.SSRepeat == 0 {
		return 0, 0, false
	}
	f = (c.SSInteraction / c.DFInteraction) / (c.SSRepeat / c.DFRepeat)
	return f, FSurvival(f, c.DFInteraction, c.DFRepeat), true
}

// Components returns the variance components of p items, o banders and t
// trials:
//
//	σ²_item = (MS_item − MS_i)/(o·t),   σ²_bander = (MS_bander − MS_i)/(p·t),
//	σ²_interaction = (MS_i − MS_r)/t,   σ²_repeat = MS_r
//
// with MS_i the interaction's and MS_r the repeatability's mean square; when
// the interaction's P is above 0.25 both are the pooled one and the
// interaction's component falls away. With one trial there is only the
// interaction's.
func (c Crossed) Components() SDs {
	p, o, t := float64(c.Items), float64(c.Banders), float64(c.Trials)
	msItem, msBander := ratio(c.SSItem, c.DFItem), ratio(c.SSBander, c.DFBander)
	msI, msR := ratio(c.SSInteraction, c.DFInteraction), ratio(c.SSRepeat, c.DFRepeat)
	out := SDs{Apart: c.DFRepeat > 0}
	interaction := 0.0
	switch _, significance, ok := c.InteractionTest(); {
	case !out.Apart:
		msR = msI
	case c.DFInteraction == 0:
		msI = msR
	case ok && significance > poolAbove || c.SSInteraction == 0:
		msR = (c.SSInteraction + c.SSRepeat) / (c.DFInteraction + c.DFRepeat)
		msI, out.Pooled = msR, true
	default:
		interaction = max(0, (msI-msR)/t)
	}
	bander := 0.0
	if c.DFBander > 0 {
		bander = max(0, (msBander-msI)/(p*t))
	}
	item := max(0, (msItem-msI)/(o*t))
	out.Repeatability = math.Sqrt(msR)
	out.Reproducibility = math.Sqrt(bander + interaction)
	out.Gauge = math.Sqrt(msR + bander + interaction)
	out.Item = math.Sqrt(item)
	out.Total = math.Sqrt(msR + bander + interaction + item)
	return out
}

// Within returns the mean square within items over all banders and trials, and
// its degrees of freedom.
func (c Crossed) Within() (ms, dof float64) {
	dof = c.DFTotal - c.DFItem
	return ratio(c.SSBander+c.SSInteraction+c.SSRepeat, dof), dof
}
