package main

import (
	"fmt"
	"strings"

	"seamfit/internal/length"
	"seamfit/internal/metrology"
	"seamfit/internal/seam"
)

// dowelOf reads shape and width of a dowel.
func dowelOf(shape, width string) (seam.Dowel, error) {
	d := seam.Dowel{Shape: seam.DowelShape(strings.ToLower(strings.TrimSpace(shape)))}
	switch d.Shape {
	case "":
		d.Shape = seam.Round
	case seam.Round, seam.Oval, seam.Sleeved:
	default:
		return d, usagef("--dowel %q is none; use round, oval or sleeved, and never a certified rod", shape)
	}
	if width == "" {
		return d, nil
	}
	typed, err := length.ParsePerson(width, length.MM)
	if err != nil || typed.Value <= 0 {
		return d, usagef("--dowel-width %q is no width; write millimetres like 7.2", width)
	}
	d.Width = typed.Value
	return d, nil
}

// rodLike is how near to a rod's certified diameter a round dowel looks like
// the rod itself: dowels are measured with a caliper.
const rodLike = 30 * length.Micrometre

// mayBeRod warns of a round dowel as wide as a rod of the register: squeezing
// metal on a rod spoils it. It returns "" for any other.
func mayBeRod(d seam.Dowel, register []metrology.Rod) string {
	if d.Shape != seam.Round || d.Width == 0 {
		return ""
	}
	for _, rod := range register {
		if rod.Retired == "" && max(d.Width-rod.Diameter, rod.Diameter-d.Width) <= rodLike {
			return fmt.Sprintf("the dowel is as wide as the certified rod %q (%s): a rod that metal was squeezed on is certified no more; take another piece", rod.Name, rod.Diameter)
		}
	}
	return ""
}
