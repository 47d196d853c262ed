package metrology

import (
	"fmt"
	"math"

	"seamfit/internal/length"
)

// RodReading is one reading of a caliper on a rod.
type RodReading struct {
	Reference length.Length // certified diameter, at the temperature of the comparison
	Reading   length.Length
	RodU      float64 // the rod's own standard uncertainty in mm; 0 = none given
	Line      int     // line of the file it comes from, for messages; 0 = none
}

// MPEStep is one row of a table of limits of error: Limit holds for diameters
// up to and including UpTo.
type MPEStep struct{ UpTo, Limit length.Length }

// MPETable is a table of limits of error, by ascending UpTo. The last row
// holds beyond its UpTo as well.
type MPETable []MPEStep

// DIN862 returns the limits of error of a digital caliper that shows 0.01 mm:
// 20 µm up to 100 mm, 30 µm beyond (DIN 862, by two summaries).
func DIN862() MPETable {
	return MPETable{
		{100 * length.Millimetre, 20 * length.Micrometre},
		{300 * length.Millimetre, 30 * length.Micrometre},
	}
}

// Limit returns the limit of error at a diameter; 0 for an empty table.
func (t MPETable) Limit(diameter length.Length) length.Length {
	for _, step := range t {
		if diameter <= step.UpTo {
			return step.Limit
		}
	}
	if len(t) == 0 {
		return 0
	}
	return t[len(t)-1].Limit
}

// CalibrationSetup is what a calibration rests on besides its readings.
type CalibrationSetup struct {
	Pivot      float64       // x₀ in mm, where the offset is stated
	MPE        MPETable      // empty: no rod is judged to conform
	Resolution length.Length // step of the caliper's display
	CommonU    float64       // standard uncertainty common to all rods, in mm
	// BothVariables fits by York's line instead of least squares, for rods
	// whose uncertainty is not small against the caliper's repeatability.
	BothVariables bool
}

// RowError is a reading that no calibration can use.
type RowError struct {
	Line int // 0: not from a file, or the data as a whole
	What string
	Mend string
}

// Error returns "line n: what; mend".
func (e *RowError) Error() string {
	if e.Line > 0 {
		return fmt.Sprintf("line %d: %s; %s", e.Line, e.What, e.Mend)
	}
	return e.What + "; " + e.Mend
}

// fewestReadings is the least number of readings of a calibration: two
// parameters and one to spare.
const fewestReadings = 3

// coverage is the level of expanded uncertainties.
const coverage = 0.95

// Calibrate fits the correction c = reference − reading as a straight line of
// the reading,
//
//	c(x) = y₁ + y₂·(x − x₀),
//
// by least squares over all readings (JCGM 100:2008, H.3), with weights
// 1/(s_r² + d²/12 + u_rod²) when the rods' own uncertainties differ; or by
// York's line through the rods' means when the setup says so. Repeatability
// and lack of fit come from the error regressed on the reference, because
// readings vary within a rod. Each rod conforms when |mean error| + U ≤ MPE
// (ISO 14253-1) with
//
//	U = t₀.₉₇₅(ν)·√(s_r²/m + u_rod² + d²/12),
//
// where s_r is the SD within rods, or without repeats the SD about the line.
//
// It returns a *RowError for fewer than three readings, rods of one diameter,
// a reading in another unit or far off unlike the others, or a rod whose
// uncertainty is given twice with different values; ErrDomain or ErrNotFinite
// for a setup without sense.
func Calibrate(rows []RodReading, setup CalibrationSetup) (Calibration, error) {
	if err := checkSetup(setup); err != nil {
		return Calibration{}, err
	}
	if err := checkRows(rows); err != nil {
		return Calibration{}, err
	}
	rods := groupRods(rows)
	// Errors and readings differ by the reference itself, so that either one
	// regressed on it leaves the same sums of squares; readings, as typed, have
	// all their digits.
	xs, groups := make([]float64, len(rods)), make([][]float64, len(rods))
	for i, r := range rods {
		xs[i], groups[i] = r.reference.MM(), r.readings
	}
	lack, err := FitLackOfFit(xs, groups)
	if err != nil {
		return Calibration{}, err
	}
	c := Calibration{N: len(rows), PivotMM: setup.Pivot, CommonUMM: setup.CommonU, Method: LeastSquares}
	c.setLackOfFit(lack)
	sr, _ := lack.Repeatability()
	c.LowMM, c.HighMM = covered(rows)
	if setup.BothVariables {
		err = c.fitBoth(rods, sr, lack, setup)
	} else {
		err = c.fitLeastSquares(rows, sr, lack.DOFPure > 0, setup)
	}
	if err != nil {
		return Calibration{}, err
	}
	c.setResiduals(rows)
	c.judgeRods(rods, sr, lack, setup)
	c.Warnings = c.warnings(lack, setup)
	return c, nil
}

func checkSetup(s CalibrationSetup) error {
	if !allFinite(s.Pivot, s.CommonU) {
		return fmt.Errorf("pivot %g, common uncertainty %g: %w", s.Pivot, s.CommonU, ErrNotFinite)
	}
	if s.CommonU < 0 || s.Resolution < 0 {
		return fmt.Errorf("common uncertainty %g, resolution %v: %w", s.CommonU, s.Resolution, ErrDomain)
	}
	for i, step := range s.MPE {
		if step.Limit <= 0 || i > 0 && step.UpTo <= s.MPE[i-1].UpTo {
			return fmt.Errorf("row %d of the limits of error: %w", i+1, ErrDomain)
		}
	}
	return nil
}

// rod is one reference with what was read on it, in millimetres.
type rod struct {
	reference length.Length
	u         float64
	readings  []float64
	errors    []float64 // reading − reference
}

// groupRods puts the readings of each diameter together, in order of first
// appearance.
func groupRods(rows []RodReading) []rod {
	var rods []rod
	index := map[length.Length]int{}
	for _, row := range rows {
		i, seen := index[row.Reference]
		if !seen {
			i = len(rods)
			index[row.Reference] = i
			rods = append(rods, rod{reference: row.Reference, u: row.RodU})
		}
		rods[i].readings = append(rods[i].readings, row.Reading.MM())
		rods[i].errors = append(rods[i].errors, (row.Reading - row.Reference).MM())
	}
	return rods
}

// covered returns the range within which corrections are no extrapolation.
func covered(rows []RodReading) (low, high float64) {
	l, h := rows[0].Reference, rows[0].Reference
	for _, r := range rows {
		l, h = min(l, r.Reference, r.Reading), max(h, r.Reference, r.Reading)
	}
	return l.MM(), h.MM()
}

// fitLeastSquares fits the line over single readings. Each rod errs by itself,
// by u_j, and what all share is the common part: with aᵢ(x) the line's weight of
// reading i,
//
//	u²(x) = Σⱼ Wⱼ(x)²·uⱼ²,   Wⱼ(x) = Σ aᵢ(x) over the readings of rod j
//
// (JCGM 100:2008, 5.1.2), a square in x that three numbers hold.
func (c *Calibration) fitLeastSquares(rows []RodReading, sr float64, repeated bool, setup CalibrationSetup) error {
	xs, ys, us := make([]float64, len(rows)), make([]float64, len(rows)), make([]float64, len(rows))
	same := true
	for i, r := range rows {
		xs[i], ys[i], us[i] = r.Reading.MM(), (r.Reference - r.Reading).MM(), r.RodU
		same = same && r.RodU == rows[0].RodU
	}
	line, err := FitLine(xs, ys, nil, setup.Pivot)
	if err != nil {
		return &RowError{What: fmt.Sprintf("the readings give no line (%v)", err), Mend: "check them, and read rods of different diameters"}
	}
	var weights []float64
	if !same {
		if !repeated {
			sr = line.ResidualSD
		}
		weights = rodWeights(us, sr, Resolution(setup.Resolution.MM()))
		if line, err = FitLine(xs, ys, weights, setup.Pivot); err != nil {
			return err
		}
		c.Method = WeightedLeastSquares
	}
	c.setLine(line)
	return c.setRods(rows, xs, weights)
}

// setRods sets what the rods' own uncertainties give the line of the readings xs. A
// rod's share Wⱼ is the line of what is 1 at its readings and 0 at the others.
func (c *Calibration) setRods(rows []RodReading, xs, weights []float64) error {
	var offset, slope, both float64
	is := make([]float64, len(rows))
	for _, rod := range groupRods(rows) {
		for i, r := range rows {
			is[i] = 0
			if r.Reference == rod.reference {
				is[i] = 1
			}
		}
		share, err := FitLine(xs, is, weights, c.PivotMM)
		if err != nil {
			return err
		}
		a, b := share.Offset*rod.u, share.Slope*rod.u
		offset, slope, both = offset+a*a, slope+b*b, both+a*b
	}
	c.RodsUMM, c.RodsUSlope = math.Sqrt(offset), math.Sqrt(slope)
	correlation := 0.0
	if product := c.RodsUMM * c.RodsUSlope; product > 0 {
		correlation = min(max(both/product, -1), 1)
	}
	c.RodsUCorrelation = &correlation
	return nil
}

// rodWeights returns 1/(s_r² + d²/12 + u²) for each reading; equal ones when
// one of them would be infinite.
func rodWeights(us []float64, sr, display float64) []float64 {
	weights := make([]float64, len(us))
	for i, u := range us {
		variance := sr*sr + display*display + u*u
		if variance == 0 {
			return nil
		}
		weights[i] = 1 / variance
	}
	return weights
}

// fitBoth fits York's line of reference on mean reading. When the points
// scatter more than their uncertainties explain, the standard errors are
// widened by the square root of that ratio (Birge 1932, Physical Review
// 40:207–227).
func (c *Calibration) fitBoth(rods []rod, sr float64, lack LackOfFit, setup CalibrationSetup) error {
	var xs, ys, ux, uy []float64
	display := Resolution(setup.Resolution.MM())
	for _, r := range rods {
		s, err := Summarise(r.readings)
		if err != nil {
			return err
		}
		if !(r.u > 0) {
			return &RowError{What: fmt.Sprintf("the rod of %v has no uncertainty", r.reference), Mend: "give one for every rod, or fit by least squares"}
		}
		u := math.Hypot(sr/math.Sqrt(float64(s.N)), display)
		if !(u > 0) {
			return &RowError{What: "the readings repeat without any scatter and the resolution is not given", Mend: "give the resolution, or fit by least squares"}
		}
		xs, ux = append(xs, s.Mean-setup.Pivot), append(ux, u)
		ys, uy = append(ys, r.reference.MM()-setup.Pivot), append(uy, r.u)
	}
	york, err := FitYork(xs, ys, ux, uy)
	if err != nil {
		return &RowError{What: fmt.Sprintf("no line through %d rods (%v)", len(rods), err), Mend: "measure three rods or more of different diameters"}
	}
	widen := math.Sqrt(max(1, york.Goodness))
	line := Line{
		N: c.N, Pivot: setup.Pivot, Offset: york.Intercept, Slope: york.Slope - 1,
		OffsetSE: york.InterceptSE * widen, SlopeSE: york.SlopeSE * widen,
		Covariance: york.Covariance * widen * widen, DOF: max(lack.DOFPure, float64(len(rods)-2)),
	}
	var squares accumulator
	for _, r := range rods {
		for i, x := range r.readings {
			y, _ := line.At(x)
			e := -r.errors[i] - y
			squares.add(e * e)
		}
	}
	line.ResidualSD = math.Sqrt(squares.total() / float64(c.N-2))
	c.setLine(line)
	c.Method = BothVariables
	return nil
}

// judgeRods fills in each rod's verdict.
func (c *Calibration) judgeRods(rods []rod, sr float64, lack LackOfFit, setup CalibrationSetup) {
	dof := lack.DOFPure
	if dof == 0 {
		sr, dof = c.ResidualSDMM, float64(c.N-2)
	}
	c.Conforms = len(setup.MPE) > 0
	for _, r := range rods {
		var total accumulator
		for _, e := range r.errors {
			total.add(e)
		}
		m := float64(len(r.errors))
		parts := []Component{
			{sr / math.Sqrt(m), dof},
			{math.Hypot(r.u, setup.CommonU), math.Inf(1)},
			{Resolution(setup.Resolution.MM()), math.Inf(1)},
		}
		// The components were checked above; what is left can't fail.
		u, nu, err := Combine(parts)
		result := RodResult{ReferenceMM: r.reference.MM(), N: len(r.errors), MeanErrorMM: total.total() / m}
		result.ExpandedMM = CoverageFactor(coverage, nu) * u
		limit := setup.MPE.Limit(r.reference)
		// A nanometre's rounding must not decide.
		result.Conforms = err == nil && limit > 0 && math.Abs(result.MeanErrorMM)+result.ExpandedMM <= limit.MM()*(1+1e-12)
		c.Conforms = c.Conforms && result.Conforms
		c.Rods = append(c.Rods, result)
	}
}
