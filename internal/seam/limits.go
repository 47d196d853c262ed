package seam

import "seamfit/internal/length"

// Limits is against what a closed band is judged, and what is assumed where
// nothing was measured. No published limit for a seam was found: every value
// is a bench setting, and the banding office's rules come first.
type Limits struct {
	Gap        length.Length // the gap that is seen outside, at most
	Overlap    length.Length // by how much the edges may have passed each other, seen outside
	OutOfRound length.Length // largest less smallest width
	Offset     length.Length // edges out of line sideways: height over the string's
	Clearance  length.Length // room between leg and band at the narrowest, at least
	// Risk is the probability of a gap over its limit, or of an overlap over
	// its, up to which a band is called flush.
	Risk float64
	// OuterSD is the SD of the outer diameter between bands of one string,
	// while those measured are too few to tell.
	OuterSD length.Length
	// NominalU is the standard uncertainty of an outer diameter that was
	// computed and not measured; ThicknessU that of the thickness.
	NominalU, ThicknessU length.Length
}

// DefaultLimits returns the limits of a bench that has set none; all are
// bench settings: gap and overlap 0.30 mm (about three times what a caliper's
// standard uncertainty of them is, so that a flush band passes), out of round
// 0.25 mm (half of the thinnest band, so that a riding edge under any of the
// widths shows), offset 0.20 mm, clearance at least 0.10 mm, risk 5 %; SD
// between bands 0.02 mm, computed outer diameters ± 0.10 mm, thickness
// ± 0.02 mm.
func DefaultLimits() Limits {
	um := func(n length.Length) length.Length { return n * length.Micrometre }
	return Limits{
		Gap: um(300), Overlap: um(300), OutOfRound: um(250), Offset: um(200), Clearance: um(100), Risk: 0.05,
		OuterSD: um(20), NominalU: um(100), ThicknessU: um(20),
	}
}

func (l Limits) check() error {
	for _, v := range []struct {
		name  string
		value length.Length
	}{
		{"gap", l.Gap},
		{"overlap", l.Overlap},
		{"out of round", l.OutOfRound},
		{"offset", l.Offset},
		{"clearance", l.Clearance},
		{"SD between bands", l.OuterSD},
		{"computed outer diameter's uncertainty", l.NominalU},
		{"thickness's uncertainty", l.ThicknessU},
	} {
		if v.value < 0 || v.value > largest {
			return refuse("set it to 0 or a positive length", "the setting for %s is %v", v.name, v.value)
		}
	}
	if !(l.Risk > 0 && l.Risk < 0.5) {
		return refuse("set it between 0 and 0.5, for instance to 0.05", "the risk at which a band is called flush is %g", l.Risk)
	}
	return nil
}
