package seam

import (
	"seamfit/internal/catalogue"
	"seamfit/internal/length"
)

// StringMeasures are what was measured on some closed bands of a string.
type StringMeasures struct {
	Outer     []length.Length `json:"outer_nm,omitempty"`
	Height    []length.Length `json:"height_nm,omitempty"`
	Thickness []length.Length `json:"thickness_nm,omitempty"`
}

// Complete returns c with what was not given of it taken from its string, or
// for want of that from its size: the thickness, the flush outer diameter and,
// where its own height was measured, the string's. Took says what the string
// gave. Step is the resolution of the caliper that measured the string. What
// stays unknown is left at 0.
func (m StringMeasures) Complete(c Closed, size catalogue.Size, step length.Length) (whole Closed, took []string) {
	if c.Thickness == 0 {
		if c.Thickness = mean(m.Thickness); c.Thickness > 0 {
			took = append(took, "thickness")
		} else {
			c.Thickness = size.Thickness
		}
	}
	if c.Outer.Basis == "" {
		c.Outer = Outer{Basis: Nominal, Inner: size.Inner, String: c.String}
		if len(m.Outer) > 0 {
			took = append(took, "outer diameter")
			c.Outer.Basis = Measured
			for _, v := range m.Outer {
				c.Outer.Diameters = append(c.Outer.Diameters, Dimension{Value: v, Resolution: step})
			}
		}
	}
	if c.Height.Value > 0 && c.StringHeight.Value == 0 && len(m.Height) > 0 {
		took = append(took, "height")
		c.StringHeight = Dimension{Value: mean(m.Height), Resolution: step}
	}
	return c, took
}

// mean returns the mean of lengths, 0 for none.
func mean(values []length.Length) (m length.Length) {
	for _, v := range values {
		m += v
	}
	return m / length.Length(max(len(values), 1))
}
