package metrology

import (
	"fmt"
	"math"
)

// The methods of fitting a calibration.
const (
	LeastSquares         = "least squares"
	WeightedLeastSquares = "weighted least squares"
	BothVariables        = "errors in both variables"
)

// Calibration is the line by which a caliper's readings are corrected, and
// what is known of it. Its JSON is that of the command "seamfit calibrate",
// and holds all that At needs.
type Calibration struct {
	N            int           `json:"n"`
	PivotMM      float64       `json:"pivot_mm"`
	OffsetMM     float64       `json:"offset_mm"` // correction at the pivot
	OffsetSEMM   float64       `json:"offset_se_mm"`
	Slope        float64       `json:"slope"`
	SlopeSE      float64       `json:"slope_se"`
	Correlation  float64       `json:"correlation"`
	ResidualSDMM float64       `json:"residual_sd_mm"`
	DOF          float64       `json:"dof"`
	LackOfFit    LackOfFitJSON `json:"lack_of_fit"`
	// RepeatabilityMM is the SD of single readings within rods; null when no
	// rod was read twice.
	RepeatabilityMM *float64       `json:"repeatability_mm"`
	Rods            []RodResult    `json:"rods"`
	Asked           []CorrectionAt `json:"at"` // see Ask
	Conforms        bool           `json:"conforms"`

	Method     string  `json:"method"`
	LowMM      float64 `json:"low_mm"` // what the rods cover
	HighMM     float64 `json:"high_mm"`
	CommonUMM  float64 `json:"common_u_mm"`
	RodsUMM    float64 `json:"rods_u_mm"`    // the rods' own, of the correction at the pivot
	RodsUSlope float64 `json:"rods_u_slope"` // the same, of the slope
	// RodsUCorrelation is that of the two; nil in a calibration that was stored
	// when rods were taken to err together, where it is 1.
	RodsUCorrelation *float64 `json:"rods_u_correlation,omitempty"`

	Readings []ReadingResidual `json:"readings"`
	Warnings []string          `json:"warnings"`
}

// LackOfFitJSON is the test of the straight line; null where it can't be made.
type LackOfFitJSON struct {
	F *float64 `json:"f"`
	P *float64 `json:"p"`
}

// RodResult is what one rod says.
type RodResult struct {
	ReferenceMM float64 `json:"reference_mm"`
	N           int     `json:"n"`
	MeanErrorMM float64 `json:"mean_error_mm"` // reading − reference
	ExpandedMM  float64 `json:"expanded_mm"`
	Conforms    bool    `json:"conforms"`
}

// CorrectionAt is the correction of one reading.
type CorrectionAt struct {
	ReadingMM    float64 `json:"reading_mm"`
	CorrectionMM float64 `json:"correction_mm"`
	UMM          float64 `json:"u_mm"`
	Extrapolated bool    `json:"extrapolated"`
}

// ReadingResidual is how far one reading's correction lies off the line.
type ReadingResidual struct {
	ReferenceMM float64 `json:"reference_mm"`
	ReadingMM   float64 `json:"reading_mm"`
	ResidualMM  float64 `json:"residual_mm"`
	// Suspect marks the reading that Grubbs' test at 1 % calls outlying. It is
	// used like the others.
	Suspect bool `json:"suspect"`
}

// At returns the correction to add to a reading x in millimetres, the standard
// uncertainty of the line there and its degrees of freedom, the standard
// uncertainty that comes from the rods, and whether x lies outside what they
// cover:
//
//	c = y₁ + y₂(x−x₀),   u²(line) = s²(y₁) + (x−x₀)²s²(y₂) + 2(x−x₀)·r·s(y₁)s(y₂)
//
// (JCGM 100:2008, H.3.4). All are in millimetres.
func (c Calibration) At(x float64) (correction, uLine, dofLine, uRods float64, extrapolated bool) {
	line := Line{
		Pivot: c.PivotMM, Offset: c.OffsetMM, Slope: c.Slope, OffsetSE: c.OffsetSEMM, SlopeSE: c.SlopeSE,
		Covariance: c.Correlation * c.OffsetSEMM * c.SlopeSE,
	}
	correction, uLine = line.At(x)
	uRods = math.Hypot(c.rodsOwn(x), c.CommonUMM)
	return correction, uLine, c.DOF, uRods, x < c.LowMM || x > c.HighMM
}

// rodsOwn returns the standard uncertainty in millimetres that the rods' own
// uncertainties give the correction at x.
func (c Calibration) rodsOwn(x float64) float64 {
	together := 1.0
	if c.RodsUCorrelation != nil {
		together = *c.RodsUCorrelation
	}
	slope := c.RodsUSlope * (x - c.PivotMM)
	return math.Sqrt(max(0, c.RodsUMM*c.RodsUMM+2*together*c.RodsUMM*slope+slope*slope))
}

// Ask returns the calibration with the corrections of these readings, in
// millimetres, listed in Asked. It returns ErrNotFinite.
func (c Calibration) Ask(readings []float64) (Calibration, error) {
	if err := finite("reading", readings); err != nil {
		return c, err
	}
	c.Asked = make([]CorrectionAt, 0, len(readings))
	for _, x := range readings {
		correction, uLine, _, uRods, extrapolated := c.At(x)
		c.Asked = append(c.Asked, CorrectionAt{x, correction, math.Hypot(uLine, uRods), extrapolated})
	}
	return c, nil
}

func (c *Calibration) setLine(l Line) {
	c.OffsetMM, c.OffsetSEMM, c.Slope, c.SlopeSE = l.Offset, l.OffsetSE, l.Slope, l.SlopeSE
	c.Correlation, c.ResidualSDMM, c.DOF = l.Correlation(), l.ResidualSD, l.DOF
	c.Asked = []CorrectionAt{}
}

func (c *Calibration) setLackOfFit(l LackOfFit) {
	if s, known := l.Repeatability(); known {
		c.RepeatabilityMM = &s
	}
	if l.Testable() && allFinite(l.F, l.P) {
		c.LackOfFit = LackOfFitJSON{&l.F, &l.P}
	}
}

// suspectAt is the significance of Grubbs' test on the residuals.
const suspectAt = 0.01

func (c *Calibration) setResiduals(rows []RodReading) {
	residuals := make([]float64, len(rows))
	for i, r := range rows {
		correction, _, _, _, _ := c.At(r.Reading.MM())
		residuals[i] = (r.Reference - r.Reading).MM() - correction
	}
	outlier, err := Grubbs(residuals, suspectAt)
	for i, r := range rows {
		c.Readings = append(c.Readings, ReadingResidual{
			ReferenceMM: r.Reference.MM(), ReadingMM: r.Reading.MM(), ResidualMM: residuals[i],
			Suspect: err == nil && outlier.Outlying && outlier.Index == i,
		})
	}
}

// narrowSpan is the number of residual SDs that the rods should span at least
// for the slope to be more than noise.
const narrowSpan = 20

func (c Calibration) warnings(l LackOfFit, setup CalibrationSetup) []string {
	warnings := []string{}
	add := func(format string, args ...any) { warnings = append(warnings, fmt.Sprintf(format, args...)) }
	if c.HighMM-c.LowMM < narrowSpan*c.ResidualSDMM {
		add("the rods span %.3f mm, less than %d times the scatter of %.4f mm: take rods farther apart", c.HighMM-c.LowMM, narrowSpan, c.ResidualSDMM)
	}
	if c.LackOfFit.P != nil && *c.LackOfFit.P < 1-coverage {
		add("the errors do not lie on a straight line (p = %.2g): look at the residuals", *c.LackOfFit.P)
	}
	if l.Groups < 3 {
		add("two rods can't show whether the errors lie on a straight line: take a third between them")
	}
	if l.DOFLine > 0 && l.DOFPure > 0 && l.SSRepeats == 0 {
		add("the repeats of each rod are all alike, so that they can't show whether the errors lie on a straight line: look at the residuals")
	}
	if l.DOFPure == 0 {
		add("no rod was read twice: repeatability is taken from the scatter about the line")
	}
	if step := Resolution(setup.Resolution.MM()); c.ResidualSDMM < step/2 {
		add("the readings scatter less than the display rounds (%.4f mm, step/√12 is %.4f mm): the line's uncertainty leaves that out", c.ResidualSDMM, step)
	}
	for _, r := range c.Readings {
		if r.Suspect {
			add("the reading %.3f mm of the rod of %.3f mm lies off by %+.3f mm, farther than chance explains; it is used like the others", r.ReadingMM, r.ReferenceMM, r.ResidualMM)
		}
	}
	return warnings
}
