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

// With returns m with what was measured later: a measure that was taken again
// replaces the earlier one.
func (m StringMeasures) With(later StringMeasures) StringMeasures {
	for _, part := range []struct {
		into  *[]length.Length
		newer []length.Length
	}{{&m.Outer, later.Outer}, {&m.Height, later.Height}, {&m.Thickness, later.Thickness}} {
		if len(part.newer) > 0 {
			*part.into = part.newer
		}
	}
	return m
}

// Complete returns c with what was not given of it taken from its string, or
// for want of that from its size: the thickness, the flush outer diameter and,
// where its own height was measured, the string's. Took says what the string
// gave. Step is the resolution of the caliper that measured the string. What
// stays unknown is left at 0.
func (m StringMeasures) Complete(c Closed, size catalogue.Size, step length.Length) (whole Closed, took []string) {
	if c.Thickness == 0 {
		if c.Thickness = length.Mean(m.Thickness); c.Thickness > 0 {
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
		c.StringHeight = Dimension{Value: length.Mean(m.Height), Resolution: step}
	}
	return c, took
}
