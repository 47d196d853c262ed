package seam

import (
	"fmt"
	"math"

	"seamfit/internal/length"
)

// Dimension is one value as it was read, before any correction.
type Dimension struct {
	Value      length.Length
	Resolution length.Length // the step of the display; 0 counts as none
}

// Closed is what was measured on one closed band.
type Closed struct {
	// Widths are outer widths at equal angles over half a turn: the first
	// through the seam, of three the others 60° to either side.
	Widths    []Dimension
	Thickness length.Length
	Outer     Outer
	// Height and StringHeight are this band's and that of its string; both 0:
	// not measured.
	Height, StringHeight Dimension
	// Leg is the leg's width and LegU its standard uncertainty; 0: not known.
	// A leg without LegU counts as one reading.
	Leg  Dimension
	LegU length.Length
	// String names the string the band is of; "" when nobody said.
	String string
}

// Basis is where an outer diameter comes from.
type Basis string

// The bases of an outer diameter.
const (
	// Measured: read with the same caliper on flush bands of the same string.
	Measured Basis = "measured"
	// Stated: given together with its uncertainty.
	Stated Basis = "stated"
	// Nominal: computed from the inner diameter and the thickness, because no
	// band of the string was measured.
	Nominal Basis = "nominal"
)

// Outer is the outer diameter of bands of the string when closed flush.
type Outer struct {
	Basis Basis
	// Diameters are one a band (Measured), or what is stated.
	Diameters []Dimension
	U         length.Length // of what is stated: its standard uncertainty
	Inner     length.Length // of a Nominal one: the inner diameter
	// String names the string it holds for; "" when nobody said.
	String string
}

// Correction is a calibration in force. At gives, for a reading x in
// millimetres, the correction c to add to it, the standard uncertainty of the
// fitted line there with its degrees of freedom, the standard uncertainty that
// comes from the rods, and whether x lies outside what the rods covered.
type Correction interface {
	At(x float64) (c, uLine, dofLine, uRods float64, extrapolated bool)
}

// Caliper is what is known of the caliper that read the band.
type Caliper struct {
	// RepeatabilitySD is the SD of single readings in millimetres, and
	// RepeatabilityDOF its degrees of freedom; 0 or +Inf: a setting.
	RepeatabilitySD  float64
	RepeatabilityDOF float64
	// MPE is the limit of its error, in force while Correction is nil.
	MPE        length.Length
	Correction Correction
}

// InputError is something from which no judgement can be made.
type InputError struct {
	What string // what is wrong, naming the value
	Mend string // what the person can do
}

// Error returns "what; mend".
func (e *InputError) Error() string { return e.What + "; " + e.Mend }

func refuse(mend, what string, args ...any) error {
	return &InputError{What: fmt.Sprintf(what, args...), Mend: mend}
}

// Bounds of what can be a closed band; anything outside is a slip.
const (
	largest      = 60 * length.Millimetre
	fewestWidths = 2
	mostWidths   = 36
	// farthest is the part of the outer diameter by which the mean width can
	// be off it on a band that is closed at all: beyond it, the diameter is
	// another string's. It is the bench's own bound.
	farthest = 0.15
)

func (c Closed) check() error {
	switch n := len(c.Widths); {
	case n < fewestWidths:
		return refuse("measure three: the first through the seam, the others 60° to either side",
			"%s can't tell a gap from an overlap", [...]string{"no width", "one width"}[n])
	case n > mostWidths:
		return refuse("measure three", "%d widths are more than the %d that are taken", n, mostWidths)
	case c.Thickness <= 0 || c.Thickness > largest:
		return refuse("give the thickness of the band's metal", "the thickness is %v", c.Thickness)
	case c.String != "" && c.Outer.String != "" && c.String != c.Outer.String:
		return refuse("measure the outer diameter on a flush band of the same string",
			"the outer diameter is of the string %q, the band of %q", c.Outer.String, c.String)
	}
	for i, w := range c.Widths {
		if err := w.check(fmt.Sprintf("width %d", i+1), true); err != nil {
			return err
		}
		if w.Value <= 2*c.Thickness {
			return refuse("check both, and the unit: a band has metal on two sides and a leg between",
				"width %d is %v, not above twice the thickness of %v", i+1, w.Value, c.Thickness)
		}
	}
	for _, err := range []error{
		c.Outer.check(c.Thickness), c.Leg.check("the leg width", false),
		c.Height.check("the height", false), c.StringHeight.check("the string's height", false),
	} {
		if err != nil {
			return err
		}
	}
	switch {
	case (c.Height.Value == 0) != (c.StringHeight.Value == 0):
		return refuse("give both, or neither", "one of the band's height and its string's height is missing")
	case c.LegU < 0 || c.LegU > largest:
		return refuse("give it as 0 or a positive length", "the leg width's uncertainty is %v", c.LegU)
	}
	return nil
}

func (d Dimension) check(what string, required bool) error {
	switch {
	case d.Value == 0 && !required && d.Resolution >= 0:
		return nil
	case d.Value <= 0:
		return refuse("zero the caliper with its jaws closed and read again", "%s is %v, not above 0", what, d.Value)
	case d.Value > largest:
		return refuse("check the unit and the decimal mark, and read again", "%s is %v, over the %v that a band can have", what, d.Value, largest)
	case d.Resolution < 0 || d.Resolution > largest:
		return refuse("give the step of the caliper's display, such as 0.01 mm", "%s has a resolution of %v", what, d.Resolution)
	}
	return nil
}

func (o Outer) check(t length.Length) error {
	switch o.Basis {
	case Measured, Stated:
		if len(o.Diameters) == 0 {
			return refuse("measure a flush band of the same string", "there is no outer diameter")
		}
	case Nominal:
		if err := (Dimension{Value: o.Inner}).check("the inner diameter", true); err != nil {
			return err
		}
	default:
		return refuse("measure a flush band of the same string, or give the inner diameter", "where the outer diameter comes from is not said")
	}
	for i, d := range o.Diameters {
		if err := d.check(fmt.Sprintf("outer diameter %d", i+1), true); err != nil {
			return err
		}
		if d.Value <= 2*t {
			return refuse("check both, and the unit", "outer diameter %d is %v, not above twice the thickness of %v", i+1, d.Value, t)
		}
	}
	if o.U < 0 || o.U > largest {
		return refuse("give it as 0 or a positive length", "the outer diameter's uncertainty is %v", o.U)
	}
	return nil
}

func (c Caliper) check() error {
	if !(c.RepeatabilitySD >= 0) || c.RepeatabilitySD > largest.MM() || !(c.RepeatabilityDOF >= 0) {
		return refuse("set both to 0 or a positive number", "the caliper's repeatability is %g mm with %g degrees of freedom", c.RepeatabilitySD, c.RepeatabilityDOF)
	}
	if c.MPE < 0 || c.MPE > largest {
		return refuse("set it to 0 or a positive length", "the caliper's limit of error is %v", c.MPE)
	}
	return nil
}

// dof returns the degrees of freedom of the repeatability.
func (c Caliper) dof() float64 {
	if c.RepeatabilityDOF == 0 {
		return math.Inf(1)
	}
	return c.RepeatabilityDOF
}
