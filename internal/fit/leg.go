package fit

import (
	"fmt"
	"math"

	"seamfit/internal/length"
	"seamfit/internal/metrology"
)

// level is the coverage of stated intervals and of the critical range.
const level = 0.95

// Component is one line of the estimate's budget: its standard uncertainty in
// millimetres and its degrees of freedom.
type Component struct {
	Name string        `json:"name"`
	UMM  float64       `json:"u_mm"`
	DOF  metrology.DOF `json:"dof"`
}

// Leg is the estimate of a leg's width (or of a stop's) from its readings.
type Leg struct {
	// MeanMM is the best estimate: the mean of the corrected readings, plus
	// half of the one-sided allowance where the bench has set one.
	MeanMM float64 `json:"mean_mm"`
	N      int     `json:"n"`
	UMM    float64 `json:"u_mm"`
	// DOF are the effective degrees of freedom, a whole number; null = infinite.
	DOF metrology.DOF `json:"dof"`
	// ExpandedMM is CoverageFactor × UMM: MeanMM ± ExpandedMM covers 95 %.
	ExpandedMM     float64     `json:"expanded_mm"`
	CoverageFactor float64     `json:"coverage_factor"`
	Components     []Component `json:"components"`
	// Calibrated tells whether a calibration was in force.
	Calibrated bool `json:"calibrated"`
	// Extrapolated tells that a reading lies outside the calibration's rods.
	Extrapolated bool `json:"extrapolated"`
	// ReadMM is the mean of the readings before correction and allowance.
	ReadMM float64 `json:"read_mm"`
	// Covers says in words what the uncertainty does and does not cover.
	Covers string `json:"covers"`
}

// Low returns the lower end of the 95 % interval in millimetres.
func (l Leg) Low() float64 { return l.MeanMM - l.ExpandedMM }

// High returns the upper end of the 95 % interval in millimetres.
func (l Leg) High() float64 { return l.MeanMM + l.ExpandedMM }

// component returns the standard uncertainty of the component with this name.
func (l Leg) component(name string) float64 {
	for _, c := range l.Components {
		if c.Name == name {
			return c.UMM
		}
	}
	return 0
}

// The names of the components.
const (
	Repeatability   = "repeatability"
	ResolutionStep  = "resolution"
	LimitOfError    = "limit of error, uncalibrated"
	CalibrationLine = "calibration line"
	CalibrationRods = "calibration rods"
	ReadsLow        = "reading low, one-sided allowance"
	Banders         = "between banders"
)

// What an estimate covers.
const (
	coversInstrument = "instrument and repeats only"
	coversBench      = "instrument, repeats and the bench's allowances"
)

// Estimate returns the width of a leg from its readings and whether they
// agree. With corrected readings wᵢ = xᵢ + c(xᵢ) and their mean w̄,
//
//	u² = s²/n + d²/12 + u²(c) [+ a²/12 + s_B²],   mean = w̄ [+ a/2]
//
// s is the pooled SD of this class of width where it has 10 degrees of freedom
// or more; else the larger of the readings' own SD (n−1 degrees of freedom)
// and the setting (infinite). d is the coarsest resolution among the readings;
// u(c) the calibration's, or MPE/√3 while there is none; a the one-sided
// allowance and s_B the SD between banders. The effective degrees of freedom
// follow Welch and Satterthwaite, truncated; the interval is
// mean ± t₀.₉₇₅(ν)·u (JCGM 100:2008, 5.1 and annex G).
//
// The order of the readings does not matter. It returns an *InputError for no
// reading, one that is not above 0 or is above AbsurdOver, a negative
// resolution, and a model without sense.
func Estimate(ws []Width, m Model) (Leg, Agreement, error) {
	if err := m.check(); err != nil {
		return Leg{}, Agreement{}, err
	}
	if err := checkWidths(ws, m); err != nil {
		return Leg{}, Agreement{}, err
	}
	sample, err := correct(ws, m)
	if err != nil {
		return Leg{}, Agreement{}, err
	}
	parts := m.repeatability(sample)
	parts = append(parts, Component{ResolutionStep, metrology.Resolution(coarsest(ws).MM()), metrology.Infinite()})
	parts = append(parts, sample.calibration...)
	covers, mean := coversInstrument, sample.mean
	if m.Allowance > 0 {
		covers, mean = coversBench, mean+m.Allowance/2
		parts = append(parts, Component{ReadsLow, m.Allowance / math.Sqrt(12), metrology.Infinite()})
	}
	if m.BetweenBander > 0 {
		covers = coversBench
		parts = append(parts, Component{Banders, m.BetweenBander, metrology.Infinite()})
	}
	leg := Leg{
		MeanMM: mean, N: len(ws), Components: parts, Calibrated: m.Correction != nil,
		Extrapolated: sample.extrapolated, ReadMM: sample.read, Covers: covers,
	}
	if err := leg.combine(); err != nil {
		return Leg{}, Agreement{}, err
	}
	agreement, err := m.agreement(sample)
	return leg, agreement, err
}

// combine fills the fields that follow from the components.
func (l *Leg) combine() error {
	parts := make([]metrology.Component, len(l.Components))
	for i, c := range l.Components {
		parts[i] = metrology.Component{U: c.UMM, DOF: float64(c.DOF)}
	}
	u, nu, err := metrology.Combine(parts)
	if err != nil {
		return fmt.Errorf("the uncertainty of the width: %w", err)
	}
	k := metrology.CoverageFactor(level, nu)
	l.UMM, l.DOF, l.CoverageFactor, l.ExpandedMM = u, metrology.DOF(nu), k, k*u
	if l.MeanMM <= 0 {
		return &InputError{
			What: fmt.Sprintf("the corrected width is %.3f mm, not above 0", l.MeanMM),
			Mend: "check the calibration in force, and read the leg again",
		}
	}
	if math.IsNaN(l.MeanMM) || math.IsInf(l.MeanMM, 0) || math.IsNaN(l.ExpandedMM) || math.IsInf(l.ExpandedMM, 0) {
		return fmt.Errorf("the width: %w", metrology.ErrNotFinite)
	}
	return nil
}

func checkWidths(ws []Width, m Model) error {
	if len(ws) == 0 {
		return &InputError{What: "there is no reading", Mend: "measure the leg, three times if the bird allows"}
	}
	for i, w := range ws {
		switch {
		case w.Value <= 0:
			return &InputError{
				What: fmt.Sprintf("reading %d is %v, not above 0", i+1, w.Value),
				Mend: "zero the caliper with its jaws closed and read the leg again",
			}
		case w.Value > m.AbsurdOver:
			return &InputError{
				What: fmt.Sprintf("reading %d is %v, over the %v that a leg can have", i+1, w.Value, m.AbsurdOver),
				Mend: "check the unit and the decimal mark, and read the leg again",
			}
		case w.Resolution < 0 || w.Resolution > m.AbsurdOver:
			return &InputError{
				What: fmt.Sprintf("reading %d has a resolution of %v", i+1, w.Resolution),
				Mend: "give the step of the caliper's display, such as 0.01 mm",
			}
		}
	}
	return nil
}

func coarsest(ws []Width) length.Length {
	d := length.Length(0)
	for _, w := range ws {
		d = max(d, w.Resolution)
	}
	return d
}

// sample is what the readings come to once corrected, in millimetres.
type sample struct {
	n            int
	read         float64 // mean before correction
	mean         float64 // mean after correction
	sd           float64 // of the corrected readings
	spread       float64 // largest less smallest, corrected
	calibration  []Component
	extrapolated bool
}

// correct applies the calibration in force. Sums and differences of the
// readings are exact, in nanometres, so that 8.45 less 8.40 is 0.05.
func correct(ws []Width, m Model) (sample, error) {
	s := sample{n: len(ws)}
	total, low, high := length.Length(0), ws[0].Value, ws[0].Value
	values := make([]float64, len(ws))
	for i, w := range ws {
		total += w.Value
		low, high = min(low, w.Value), max(high, w.Value)
		values[i] = w.Value.MM()
	}
	s.read = total.MM() / float64(len(ws))
	s.mean, s.spread = s.read, (high - low).MM()
	if m.Correction == nil {
		s.calibration = []Component{{LimitOfError, metrology.Rectangular(m.MPE.MM()), metrology.Infinite()}}
	} else {
		corrections := make([]float64, len(ws))
		for i := range values {
			c, _, _, _, outside := m.Correction.At(values[i])
			values[i], corrections[i] = values[i]+c, c
			s.extrapolated = s.extrapolated || outside
		}
		mean, err := metrology.Summarise(corrections)
		if err != nil {
			return sample{}, fmt.Errorf("the correction by the calibration in force: %w", err)
		}
		cLow, _, _, _, _ := m.Correction.At(low.MM())
		cHigh, _, _, _, _ := m.Correction.At(high.MM())
		_, uLine, dof, uRods, _ := m.Correction.At(s.read)
		s.mean += mean.Mean
		s.spread = math.Abs(s.spread + cHigh - cLow)
		s.calibration = []Component{
			{CalibrationLine, uLine, metrology.DOF(dof)},
			{CalibrationRods, uRods, metrology.Infinite()},
		}
	}
	summary, err := metrology.Summarise(values)
	if err != nil {
		return sample{}, fmt.Errorf("the corrected readings: %w", err)
	}
	s.sd = summary.SD
	return s, nil
}

// widthClass returns which of the pooled SDs a width in millimetres belongs
// to: 0 under 5, 1 from 5 to 10, 2 over 10.
func widthClass(mm float64) int {
	switch {
	case mm < 5:
		return 0
	case mm <= 10:
		return 1
	default:
		return 2
	}
}

// WidthClass returns which entry of Model.Pooled a width belongs to: 0 under
// 5 mm, 1 from 5 to 10 mm, 2 over 10 mm.
func WidthClass(w length.Length) int { return widthClass(w.MM()) }

// repeatability returns the component of the mean that readings scatter by.
func (m Model) repeatability(s sample) []Component {
	sd, dof, source := m.SingleReading(s.read)
	if source == FromSetting && s.sd > sd {
		sd, dof = s.sd, float64(s.n-1)
	}
	return []Component{{Repeatability, sd / math.Sqrt(float64(s.n)), metrology.DOF(dof)}}
}
