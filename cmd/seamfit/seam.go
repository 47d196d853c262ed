package main

import (
	"context"
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"seamfit/internal/length"
	"seamfit/internal/seam"
	"seamfit/internal/settings"
	"seamfit/internal/store"
)

// seamFlags are the flags of the command seam.
type seamFlags struct {
	widths, outer, outerU, inner string
	thickness                    string
	height, stringHeight, leg    string
	bandString, outerString      string
	unit, resolution             string
}

func (a *app) seamCommand() *cobra.Command {
	var f seamFlags
	cmd := &cobra.Command{
		Use:   "seam --width 11.42,11.47,11.44 --outer 11.40 --thickness 1.02",
		Short: "Judge a closed band from its widths",
		Long: `Judge a closed band from its widths, on a practice dowel or off the bird: how far
the edges stand apart, whether one may ride on the other, how round the band is,
whether the edges are out of line sideways, and what room it leaves the leg.

The first width goes through the seam; of three, the others are taken 60° to
either side. The outer diameter is that of flush bands of the same string, one
value for each band that was measured, or one with its uncertainty. With --string
and a number of the stock, outer diameter, thickness and the string's height are
those that were measured of its string (seamfit bands inspect); where nobody has
measured, the outer diameter is the size's inner diameter + 2 × thickness.

It is no way to pass a band: widths can't see every overlap, and what an eye sees
wrong stands. All limits are bench settings.`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error { return a.seam(cmd.Context(), f) },
	}
	flags := cmd.Flags()
	flags.StringVar(&f.widths, "width", "", "outer widths at equal angles, as read; the first through the seam")
	flags.StringVar(&f.outer, "outer", "", "outer diameter of flush bands of the same string, one value a band")
	flags.StringVar(&f.outerU, "outer-u", "", "standard uncertainty of --outer, where it is stated and was not measured with this caliper")
	flags.StringVar(&f.inner, "inner", "", "inner diameter, where no band of the string was measured (instead of --outer)")
	flags.StringVar(&f.thickness, "thickness", "", "thickness of the band's metal")
	flags.StringVar(&f.height, "height", "", "height of the closed band over both rims, with --string-height")
	flags.StringVar(&f.stringHeight, "string-height", "", "height of bands of the same string before closing")
	flags.StringVar(&f.leg, "leg", "", "leg width, or the dowel's diameter")
	flags.StringVar(&f.bandString, "string", "", "the string that the band is of: any of its numbers, or a name of your own")
	flags.StringVar(&f.outerString, "outer-string", "", "the string that --outer was measured on")
	flags.StringVar(&f.unit, "unit", "mm", "unit of values that name none: mm or in")
	flags.StringVar(&f.resolution, "resolution", "", "step of the caliper's display (default: the settings', else the last digit's)")
	return cmd
}

func (a *app) seam(ctx context.Context, f seamFlags) (err error) {
	files, err := a.load()
	if err != nil {
		return err
	}
	p := lengthParser{resolution: files.settings.Measure.Resolution.Length}
	if p.unit, err = length.ParseUnit(f.unit); err != nil {
		return usagef("--unit %q is no unit; use mm or in", f.unit)
	}
	if f.resolution != "" {
		if p.resolution, err = p.step(f.resolution); err != nil {
			return err
		}
	}
	closed, err := f.closed(p)
	if err != nil {
		return err
	}
	records, err := a.existing(ctx, files.setup)
	if err != nil {
		return err
	}
	if records != nil {
		defer func() { err = errors.Join(err, records.Close()) }()
		if err := files.calibrated(ctx, records, a.now()); err != nil {
			return err
		}
	}
	note, err := f.fromStock(ctx, files, records, &closed)
	if err != nil {
		return err
	}
	judgement, err := files.judged(a, closed, note)
	if err != nil {
		return err
	}
	if a.json() {
		return a.writeJSON(judgement)
	}
	_, err = fmt.Fprint(a.stdout, seam.Table(judgement, 80))
	return err
}

// fromStock takes from the stock what the flags leave out, and refuses what
// then is still missing. A string that is no number is a name, and known to
// nobody else.
func (f seamFlags) fromStock(ctx context.Context, files benchFiles, records *store.Store, c *seam.Closed) (note string, err error) {
	if f.bandString != "" {
		known, unknown := files.stringOf(ctx, records, f.bandString)
		switch {
		case unknown == nil:
			note = known.complete(c)
		case c.Thickness == 0 || c.Outer.Basis == "":
			return "", fmt.Errorf("--string %w", unknown)
		}
	}
	switch {
	case c.Thickness == 0:
		return note, usagef("--thickness is missing; give the thickness of the band's metal, like --thickness 1.02")
	case c.Outer.Basis == "":
		return note, usagef("give --outer, measured on flush bands of the same string, or else --inner; one of the two")
	case (c.Height.Value == 0) != (c.StringHeight.Value == 0):
		return note, usagef("--height and --string-height belong together; give both or neither")
	}
	return note, nil
}

// closed reads the flags.
func (f seamFlags) closed(p lengthParser) (seam.Closed, error) {
	c := seam.Closed{String: f.bandString}
	var err error
	if c.Widths, err = p.dimensions("--width", f.widths); err != nil {
		return c, err
	}
	if f.thickness != "" {
		if c.Thickness, err = p.one("--thickness", f.thickness); err != nil {
			return c, err
		}
	}
	if c.Outer, err = f.outerDiameter(p); err != nil {
		return c, err
	}
	for _, v := range []struct {
		flag, text string
		into       *seam.Dimension
	}{
		{"--height", f.height, &c.Height}, {"--string-height", f.stringHeight, &c.StringHeight}, {"--leg", f.leg, &c.Leg},
	} {
		if v.text == "" {
			continue
		}
		if *v.into, err = p.dimension(v.flag, v.text); err != nil {
			return c, err
		}
	}
	return c, nil
}

func (f seamFlags) outerDiameter(p lengthParser) (seam.Outer, error) {
	o := seam.Outer{String: f.outerString}
	var err error
	switch {
	case f.outer != "" && f.inner != "":
		return o, usagef("give --outer, measured on flush bands of the same string, or else --inner; one of the two")
	case f.outer == "" && f.inner == "" && f.outerU != "":
		return o, usagef("--outer-u belongs to --outer; leave it out")
	case f.outer == "" && f.inner == "":
		return o, nil
	}
	if f.inner != "" {
		if f.outerU != "" {
			return o, usagef("--outer-u belongs to --outer; leave it out")
		}
		o.Basis = seam.Nominal
		o.Inner, err = p.one("--inner", f.inner)
		return o, err
	}
	o.Basis = seam.Measured
	if o.Diameters, err = p.dimensions("--outer", f.outer); err != nil {
		return o, err
	}
	if f.outerU != "" {
		o.Basis = seam.Stated
		o.U, err = p.one("--outer-u", f.outerU)
	}
	return o, err
}

// dimension reads one length above 0, with a decimal comma if need be.
func (p lengthParser) dimension(flag, text string) (seam.Dimension, error) {
	typed, err := length.ParsePerson(text, p.unit)
	if err != nil {
		return seam.Dimension{}, usagef("%s %q: %w; write it like 8.42", flag, text, err)
	}
	if typed.Value <= 0 {
		return seam.Dimension{}, usagef("%s is %v, not above 0; measure it again, or leave it out", flag, typed.Value)
	}
	if p.resolution > 0 {
		typed.Step = p.resolution
	}
	return seam.Dimension{Value: typed.Value, Resolution: typed.Step}, nil
}

// dimensions reads lengths apart by commas or semicolons, as list does.
func (p lengthParser) dimensions(flag, text string) ([]seam.Dimension, error) {
	widths, err := p.list(flag, text)
	if err != nil {
		return nil, err
	}
	values := make([]seam.Dimension, len(widths))
	for i, w := range widths {
		values[i] = seam.Dimension{Value: w.Value, Resolution: w.Resolution}
	}
	return values, nil
}

func seamLimits(s settings.Seam) seam.Limits {
	return seam.Limits{
		Gap: s.Gap.Length, Overlap: s.Overlap.Length, OutOfRound: s.OutOfRound.Length,
		Offset: s.Offset.Length, Clearance: s.Clearance.Length, Risk: s.FlushRisk,
		OuterSD: s.OuterSD.Length, NominalU: s.NominalU.Length, ThicknessU: s.ThicknessU.Length,
	}
}
