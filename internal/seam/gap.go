package seam

import (
	"fmt"
	"math"

	"seamfit/internal/metrology"
)

// Component is one line of a gap's budget: its standard uncertainty in the
// mean width or the outer diameter, in millimetres, and its degrees of
// freedom. The gap's is π times that.
type Component struct {
	Name string
	UMM  float64
	DOF  metrology.DOF
}

// outline is what the widths come to once corrected, in millimetres.
type outline struct {
	widths       []float64
	first        float64 // through the seam
	others       float64 // mean of the rest
	low, high    float64
	mean         float64
	read         float64 // mean before correction
	lowRead      float64 // the smallest before correction
	perimeter    float64
	resolution   float64 // the coarsest among the widths
	extrapolated bool
}

func (c Closed) outline(cal Caliper) (outline, error) {
	o := outline{low: math.Inf(1), high: math.Inf(-1), lowRead: math.Inf(1)}
	reads := make([]float64, len(c.Widths))
	for i, w := range c.Widths {
		reads[i] = w.Value.MM()
		correction, outside := cal.correction(reads[i])
		o.widths = append(o.widths, reads[i]+correction)
		o.extrapolated = o.extrapolated || outside
		o.low, o.high = min(o.low, o.widths[i]), max(o.high, o.widths[i])
		o.lowRead = min(o.lowRead, reads[i])
		o.resolution = max(o.resolution, w.Resolution.MM())
	}
	all, err := metrology.Summarise(o.widths)
	if err != nil {
		return outline{}, fmt.Errorf("the corrected widths: %w", err)
	}
	before, err := metrology.Summarise(reads)
	if err != nil {
		return outline{}, fmt.Errorf("the widths: %w", err)
	}
	rest, err := metrology.Summarise(o.widths[1:])
	if err != nil {
		return outline{}, fmt.Errorf("the corrected widths: %w", err)
	}
	o.mean, o.read, o.first, o.others = all.Mean, before.Mean, o.widths[0], rest.Mean
	o.perimeter, err = Perimeter(o.widths)
	return o, err
}

// diameter is the flush outer diameter in millimetres and the components of
// the gap's budget that it brings.
type diameter struct {
	value        float64
	parts        []Component
	extrapolated bool
}

func (c Closed) diameter(o outline, cal Caliper, l Limits) (diameter, error) {
	infinite := metrology.Infinite()
	if c.Outer.Basis == Nominal {
		parts := append(cal.at(o.read), Component{"outer diameter, computed", l.NominalU.MM(), infinite})
		return diameter{value: c.Outer.Inner.MM() + 2*c.Thickness.MM(), parts: parts}, nil
	}
	values := make([]float64, len(c.Outer.Diameters))
	resolution := 0.0
	for i, d := range c.Outer.Diameters {
		values[i], resolution = d.Value.MM(), max(resolution, d.Resolution.MM())
	}
	read, err := metrology.Summarise(values)
	if err != nil {
		return diameter{}, fmt.Errorf("the outer diameter: %w", err)
	}
	if c.Outer.Basis == Stated {
		parts := append(cal.at(o.read), Component{"outer diameter, as stated", c.Outer.U.MM(), infinite})
		return diameter{value: read.Mean, parts: parts}, nil
	}
	correction, outside := cal.correction(read.Mean)
	sd, dof := l.OuterSD.MM(), math.Inf(1)
	if read.N > 1 && read.SD > sd {
		sd, dof = read.SD, read.DOF()
	}
	parts := append(cal.between(o.read, read.Mean),
		Component{"bands of the string", sd * math.Sqrt(1+1/float64(read.N)), metrology.DOF(dof)},
		Component{"resolution, outer diameter", metrology.Resolution(resolution), infinite},
	)
	return diameter{value: read.Mean + correction, parts: parts, extrapolated: outside}, nil
}

// budget returns the components of the gap's uncertainty, and u(g) with its
// effective degrees of freedom:
//
//	u²(g) = π²[s_r²/k + s_b²(1+1/m) + 2d²/12 + u²(c(w̄)−c(OD))]   OD measured on m bands
//	u²(g) = π²[s_r²/k + d²/12 + u²(c(w̄)) + u²(OD)]               OD stated or computed
//
// s_b is the larger of the m bands' own SD (m−1 degrees of freedom) and the
// setting (infinite), because two bands that happen to be equal prove nothing.
func (c Closed) budget(o outline, d diameter, cal Caliper) (parts []Component, u, nu float64, err error) {
	parts = append([]Component{
		{cal.repeats(), cal.RepeatabilitySD / math.Sqrt(float64(len(o.widths))), metrology.DOF(cal.dof())},
		{"resolution, widths", metrology.Resolution(o.resolution), metrology.Infinite()},
	}, d.parts...)
	scaled := make([]metrology.Component, len(parts))
	for i, p := range parts {
		scaled[i] = metrology.Component{U: math.Pi * p.UMM, DOF: float64(p.DOF)}
	}
	if u, nu, err = metrology.Combine(scaled); err != nil {
		return nil, 0, 0, fmt.Errorf("the gap's uncertainty: %w", err)
	}
	return parts, u, nu, nil
}

// repeats names the repeatability by where it comes from.
func (c Caliper) repeats() string {
	if math.IsInf(c.dof(), 1) {
		return "repeatability, the setting's"
	}
	return fmt.Sprintf("repeatability, the bench's own (%.0f dof)", math.Floor(c.dof()))
}

// correction returns what to add to a reading, and whether it lies outside
// what the calibration covers.
func (c Caliper) correction(x float64) (mm float64, outside bool) {
	if c.Correction == nil {
		return 0, false
	}
	mm, _, _, _, outside = c.Correction.At(x)
	return mm, outside
}

// at returns the uncertainty of the correction of one reading.
func (c Caliper) at(x float64) []Component {
	if c.Correction == nil {
		return []Component{{"limit of error, uncalibrated", metrology.Rectangular(c.MPE.MM()), metrology.Infinite()}}
	}
	_, line, dof, rods, _ := c.Correction.At(x)
	return []Component{
		{"calibration line", line, metrology.DOF(dof)},
		{"calibration rods", rods, metrology.Infinite()},
	}
}

// between returns the uncertainty of the difference of two readings'
// corrections. With a calibration most of it is common and drops out:
//
//	u²(c(a)−c(b)) = (a−b)²·s²(y₂) + (u_rods(a)−u_rods(b))²
//
// where the slope's variance s²(y₂) is half the second derivative of the
// line's variance, s²(y₁) + (x−x₀)²s²(y₂) + 2(x−x₀)cov (JCGM 100:2008, H.3).
// Without one, the two errors may be anything within ±MPE, independently:
// √2·MPE/√3.
func (c Caliper) between(a, b float64) []Component {
	if c.Correction == nil {
		u := math.Sqrt2 * metrology.Rectangular(c.MPE.MM())
		return []Component{{"limit of error, uncalibrated", u, metrology.Infinite()}}
	}
	h := b / 2
	_, low, _, _, _ := c.Correction.At(b - h)
	_, middle, dof, rodsB, _ := c.Correction.At(b)
	_, high, _, _, _ := c.Correction.At(b + h)
	_, _, _, rodsA, _ := c.Correction.At(a)
	slope := math.Sqrt(max(0, high*high-2*middle*middle+low*low) / 2 / (h * h))
	return []Component{
		{"calibration, difference of two widths", math.Hypot(slope*(a-b), rodsA-rodsB), metrology.DOF(dof)},
	}
}

// exceeds returns the probability that a value estimated as x with standard
// uncertainty u and nu degrees of freedom is above a limit. Without
// uncertainty it is 0 or 1.
func exceeds(x, limit, u, nu float64) float64 {
	if u == 0 {
		if x > limit {
			return 1
		}
		return 0
	}
	return metrology.StudentCDF((x-limit)/u, nu)
}
