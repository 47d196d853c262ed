package fit

import (
	"fmt"
	"math"

	"seamfit/internal/length"
)

// Width is one reading of the caliper as it was read: before any correction.
type Width struct {
	Value      length.Length
	Resolution length.Length // the step of the display; 0 counts as none
}

// Pooled is a standard deviation of single readings in millimetres that rests
// on many birds' repeats, and its degrees of freedom (0: none known).
type Pooled struct {
	SD  float64
	DOF float64
}

// pooledEnough is the number of degrees of freedom from which a pooled SD
// replaces the sample's own and the setting.
const pooledEnough = 10

// Correction is a calibration in force. At gives, for a reading x in
// millimetres, the correction c to add to it, the standard uncertainty of the
// fitted line there with its degrees of freedom, the standard uncertainty
// that comes from the rods (infinite degrees of freedom), and whether x lies
// outside what the rods covered.
type Correction interface {
	At(x float64) (c, uLine, dofLine, uRods float64, extrapolated bool)
}

// Model is everything about instrument, bench and limits that an estimate and
// its verdicts rest on. Lengths ending in SD, and Allowance and BetweenBander,
// are in millimetres.
type Model struct {
	// RepeatabilitySD is the setting for the SD of single readings, used while
	// there is no pooled one.
	RepeatabilitySD float64
	// Pooled is the bench's own, by class of width: under 5 mm, 5 to 10 mm,
	// over 10 mm.
	Pooled [3]Pooled
	// MPE is the limit of the caliper's error, in force while Correction is nil.
	MPE length.Length
	// Correction is the calibration in force; nil means uncalibrated.
	Correction Correction
	// Allowance is the most by which a bander may read low (the widest axis
	// missed, skin pressed): the estimate takes the error as anywhere from 0 to
	// it with equal probability.
	Allowance float64
	// BetweenBander is the SD between banders who measure the same leg.
	BetweenBander float64
	// MinPlay, MaxPlay and TargetPlay are relative: (inner − leg)/leg.
	MinPlay, MaxPlay, TargetPlay float64
	// AbsurdOver is the width above which a reading can't be a leg's.
	AbsurdOver length.Length
}

// DefaultModel returns the model of a bench that has set and measured nothing:
// repeatability 0.03 mm and error limit 0.02 mm (bench settings), play from
// 6 % to 60 % with 32 % as target ("Tarsus program: towards a uniform
// criterion to determine recommended ring sizes for birds in the Aranzadi
// Ringing Scheme", Ringing & Migration: mean play 32 %, below 6 % too narrow,
// above 50–60 % too wide), readings over 60 mm refused (bench setting).
func DefaultModel() Model {
	return Model{
		RepeatabilitySD: 0.03,
		MPE:             20 * length.Micrometre,
		MinPlay:         0.06,
		MaxPlay:         0.60,
		TargetPlay:      0.32,
		AbsurdOver:      60 * length.Millimetre,
	}
}

// check returns an InputError for a model that no formula holds for.
func (m Model) check() error {
	for _, v := range []struct {
		name  string
		value float64
	}{
		{"repeatability SD", m.RepeatabilitySD},
		{"one-sided allowance", m.Allowance},
		{"SD between banders", m.BetweenBander},
		{"limit of error", m.MPE.MM()},
		{"pooled SD under 5 mm", m.Pooled[0].SD},
		{"pooled SD from 5 to 10 mm", m.Pooled[1].SD},
		{"pooled SD over 10 mm", m.Pooled[2].SD},
		{"degrees of freedom of the pooled SD under 5 mm", m.Pooled[0].DOF},
		{"degrees of freedom of the pooled SD from 5 to 10 mm", m.Pooled[1].DOF},
		{"degrees of freedom of the pooled SD over 10 mm", m.Pooled[2].DOF},
	} {
		// Infinite degrees of freedom make sense; an infinite SD does not.
		if math.IsNaN(v.value) || v.value < 0 || v.value > 1e9 && !math.IsInf(v.value, 1) {
			return &InputError{
				What: fmt.Sprintf("the %s is %g", v.name, v.value),
				Mend: "set it to 0 or a positive number",
			}
		}
	}
	for _, sd := range []float64{m.RepeatabilitySD, m.Allowance, m.BetweenBander, m.Pooled[0].SD, m.Pooled[1].SD, m.Pooled[2].SD} {
		if math.IsInf(sd, 0) {
			return &InputError{What: "an SD or allowance of the settings is infinite", Mend: "set it in millimetres"}
		}
	}
	if !(m.MinPlay >= 0 && m.MinPlay < m.TargetPlay && m.TargetPlay < m.MaxPlay && m.MaxPlay <= 10) {
		return &InputError{
			What: fmt.Sprintf("the limits on play are %g, %g and %g", m.MinPlay, m.TargetPlay, m.MaxPlay),
			Mend: "set minimum < target < maximum, as parts of the leg's width (0.06, 0.32, 0.60)",
		}
	}
	if m.AbsurdOver <= 0 {
		return &InputError{What: "the width above which readings are refused is not above 0", Mend: "set it, for instance to 60 mm"}
	}
	return nil
}

// InputError is a reading or setting that no estimate can be made from.
type InputError struct {
	What string // what is wrong, naming the value
	Mend string // what the person can do
}

// Error returns "what; mend".
func (e *InputError) Error() string { return e.What + "; " + e.Mend }
