package metrology

import (
	"fmt"
	"math"
	"strings"

	"seamfit/internal/length"
)

// Class is a tolerance class of cylindrical plug and pin gauges.
type Class string

// The classes of ASME B89.1.5, from the widest tolerance to the narrowest.
const (
	ClassZZ  Class = "ZZ"
	ClassZ   Class = "Z"
	ClassY   Class = "Y"
	ClassX   Class = "X"
	ClassXX  Class = "XX"
	ClassXXX Class = "XXX"
)

// ParseClass reads a class in either case. It returns ErrDomain for any other
// text.
func ParseClass(s string) (Class, error) {
	c := Class(strings.ToUpper(strings.TrimSpace(s)))
	switch c {
	case ClassZZ, ClassZ, ClassY, ClassX, ClassXX, ClassXXX:
		return c, nil
	default:
		return "", fmt.Errorf("tolerance class %q, not one of ZZ, Z, Y, X, XX, XXX: %w", s, ErrDomain)
	}
}

// Tolerance returns the tolerance of a pin gauge of this class and diameter
// (ASME B89.1.5). It returns ErrDomain for an unknown class or a diameter
// outside 0.254 to 114.55 mm.
func (c Class) Tolerance(diameter length.Length) (length.Length, error) {
	// In nanometres, for diameters above the one and up to the other.
	table := [...]struct {
		above, upTo          length.Length
		xxx, xx, x, y, z, zz length.Length
	}{
		{254_000, 20_960_000, 250, 510, 1_020, 1_780, 2_540, 5_080},
		{20_960_000, 38_350_000, 380, 760, 1_520, 2_290, 3_050, 6_100},
		{38_350_000, 63_750_000, 510, 1_020, 2_030, 3_050, 4_060, 8_130},
		{63_750_000, 114_550_000, 640, 1_270, 2_540, 3_810, 5_080, 10_160},
	}
	for i, row := range table {
		if diameter > row.upTo || diameter < row.above || i > 0 && diameter == row.above {
			continue
		}
		switch c {
		case ClassZZ:
			return row.zz, nil
		case ClassZ:
			return row.z, nil
		case ClassY:
			return row.y, nil
		case ClassX:
			return row.x, nil
		case ClassXX:
			return row.xx, nil
		case ClassXXX:
			return row.xxx, nil
		}
	}
	return 0, fmt.Errorf("no tolerance of class %q at %v: %w", string(c), diameter, ErrDomain)
}

// U returns the standard uncertainty in millimetres of a rod of this class and
// diameter, of which nothing but the class is known: T/√3. Its errors are
// Tolerance's.
func (c Class) U(diameter length.Length) (float64, error) {
	t, err := c.Tolerance(diameter)
	return Rectangular(t.MM()), err
}

// SteelExpansion is the coefficient of linear expansion of steel per kelvin.
const SteelExpansion = 11.5e-6

// ReferenceTemperature is the temperature at which lengths are stated, in
// degrees Celsius (ISO 1).
const ReferenceTemperature = 20.0

// Thermal is what temperature does to a comparison: expansion coefficients per
// kelvin and temperatures in degrees Celsius of the rod and of the caliper's
// scale, and the standard uncertainty of the temperatures.
type Thermal struct {
	RodExpansion, RodTemperature     float64
	ScaleExpansion, ScaleTemperature float64
	TemperatureU                     float64
}

// check returns ErrDomain for values that no bench sees: expansion outside 0
// to 1e-4 per kelvin, temperatures outside −60 to 100 °C.
func (t Thermal) check() error {
	for _, alpha := range []float64{t.RodExpansion, t.ScaleExpansion} {
		if !(alpha >= 0 && alpha <= 1e-4) {
			return fmt.Errorf("an expansion coefficient of %g per kelvin: %w", alpha, ErrDomain)
		}
	}
	for _, c := range []float64{t.RodTemperature, t.ScaleTemperature} {
		if !(c >= -60 && c <= 100) {
			return fmt.Errorf("a temperature of %g °C: %w", c, ErrDomain)
		}
	}
	if !(t.TemperatureU >= 0 && t.TemperatureU <= 50) {
		return fmt.Errorf("an uncertainty of temperature of %g K: %w", t.TemperatureU, ErrDomain)
	}
	return nil
}

// Reference returns what a perfect scale at its temperature shows for a rod of
// the given diameter at 20 °C,
//
//	L·(1 + α_rod·(t_rod − 20)) / (1 + α_scale·(t_scale − 20)),
//
// and the standard uncertainty of that in millimetres from the temperatures',
// L·u_t·√(α_rod² + α_scale²) (JCGM 100:2008, H.1.2). It returns ErrDomain for
// a diameter not above 0 or values that no bench sees.
func (t Thermal) Reference(diameter length.Length) (length.Length, float64, error) {
	if err := t.check(); err != nil {
		return 0, 0, err
	}
	if diameter <= 0 {
		return 0, 0, fmt.Errorf("a rod of %v: %w", diameter, ErrDomain)
	}
	factor := (1 + t.RodExpansion*(t.RodTemperature-ReferenceTemperature)) /
		(1 + t.ScaleExpansion*(t.ScaleTemperature-ReferenceTemperature))
	// The change alone is rounded to a nanometre; the diameter stays exact.
	change, err := length.FromMM(diameter.MM() * (factor - 1))
	if err != nil {
		return 0, 0, fmt.Errorf("a rod of %v: %w", diameter, err)
	}
	u := diameter.MM() * t.TemperatureU * math.Hypot(t.RodExpansion, t.ScaleExpansion)
	return diameter + change, u, nil
}
