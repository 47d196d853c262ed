package main

import (
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"seamfit/internal/length"
	"seamfit/internal/metrology"
)

// calibrateFlags are the flags of the command calibrate.
type calibrateFlags struct {
	from                                string
	pivot, mpe, at, resolution, commonU string
	bothVariables                       bool
}

func (a *app) calibrateCommand() *cobra.Command {
	var f calibrateFlags
	cmd := &cobra.Command{
		Use:   "calibrate --from readings.csv",
		Short: "Calibrate a caliper against reference rods",
		Long: `Calibrate a caliper against reference rods of certified diameter: the correction
as a straight line with its uncertainty, the test of that line, the caliper's
repeatability, and a verdict for each rod: |error| + U within the limit of error
(ISO 14253-1).

The file is CSV with the columns reference_mm, reading_mm and, if you know it,
rod_u_mm, the rod's standard uncertainty.`,
		Args: cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error { return a.calibrate(f) },
	}
	flags := cmd.Flags()
	flags.StringVar(&f.from, "from", "", "readings of the rods, a CSV file")
	flags.StringVar(&f.pivot, "pivot", "0", "reading at which the offset is stated, in mm")
	flags.StringVar(&f.mpe, "mpe", "", "limit of error in mm (default: DIN 862, 0.02 up to 100 mm, 0.03 beyond)")
	flags.StringVar(&f.at, "at", "", "readings whose corrections are asked for, like 6,8,10")
	flags.StringVar(&f.resolution, "resolution", "", "step of the caliper's display (default: the settings', else the readings')")
	flags.StringVar(&f.commonU, "common-u", "", "standard uncertainty that all rods share, in mm")
	flags.BoolVar(&f.bothVariables, "both-variables", false, "fit with the rods' uncertainty in the line (York), where it is not small")
	return cmd
}

func (a *app) calibrate(f calibrateFlags) error {
	if f.from == "" {
		return usagef("--from is missing; give the file of readings")
	}
	rows, finest, err := a.rodReadings(f.from)
	if err != nil {
		return err
	}
	setup, at, err := a.calibrationSetup(f, finest)
	if err != nil {
		return err
	}
	calibration, err := metrology.Calibrate(rows, setup)
	var row *metrology.RowError
	if errors.As(err, &row) {
		return fmt.Errorf("%s: %w", f.from, err)
	}
	if err != nil {
		return err
	}
	if calibration, err = calibration.Ask(at); err != nil {
		return err
	}
	if a.json() {
		return a.writeJSON(calibration)
	}
	return a.printCalibration(calibration)
}

// rodReadings reads the file of readings, and the step of their last digits.
func (a *app) rodReadings(path string) (rows []metrology.RodReading, finest length.Length, err error) {
	table, err := a.readTable(path, "reference_mm", "reading_mm")
	if err != nil {
		return nil, 0, err
	}
	for _, line := range table.lines {
		row := metrology.RodReading{Line: line.number}
		var step length.Length
		for _, c := range []struct {
			name string
			into *length.Length
			step *length.Length
		}{{"reference_mm", &row.Reference, nil}, {"reading_mm", &row.Reading, &step}} {
			typed, err := length.ParsePerson(line.values[c.name], length.MM)
			if err != nil {
				return nil, 0, fmt.Errorf("%s: line %d: %s %q: %w; write millimetres like 8.00", path, line.number, c.name, line.values[c.name], err)
			}
			*c.into = typed.Value
			if c.step != nil {
				*c.step = typed.Step
			}
		}
		if text := line.values["rod_u_mm"]; text != "" {
			typed, err := length.ParsePerson(text, length.MM)
			if err != nil || typed.Value < 0 {
				return nil, 0, fmt.Errorf("%s: line %d: rod_u_mm %q is no uncertainty; write millimetres like 0.001", path, line.number, text)
			}
			row.RodU = typed.Value.MM()
		}
		if finest == 0 || step < finest {
			finest = step
		}
		rows = append(rows, row)
	}
	return rows, finest, nil
}

func (a *app) calibrationSetup(f calibrateFlags, finest length.Length) (metrology.CalibrationSetup, []float64, error) {
	s, err := a.loadSettings()
	if err != nil {
		return metrology.CalibrationSetup{}, nil, err
	}
	p := lengthParser{unit: length.MM}
	setup := metrology.CalibrationSetup{MPE: metrology.DIN862(), Resolution: s.Measure.Resolution.Length, BothVariables: f.bothVariables}
	if setup.Resolution == 0 {
		setup.Resolution = finest
	}
	pivot, err := p.one("--pivot", f.pivot)
	if err != nil {
		return setup, nil, err
	}
	setup.Pivot = pivot.MM()
	if f.mpe != "" {
		limit, err := p.one("--mpe", f.mpe)
		if err != nil {
			return setup, nil, err
		}
		if limit <= 0 {
			return setup, nil, usagef("--mpe %q is no limit; give millimetres above 0", f.mpe)
		}
		setup.MPE = metrology.MPETable{{UpTo: 1000 * length.Millimetre, Limit: limit}}
	}
	if f.resolution != "" {
		if setup.Resolution, err = p.one("--resolution", f.resolution); err != nil {
			return setup, nil, err
		}
	}
	if f.commonU != "" {
		common, err := p.one("--common-u", f.commonU)
		if err != nil {
			return setup, nil, err
		}
		setup.CommonU = common.MM()
	}
	var at []float64
	for _, text := range strings.FieldsFunc(f.at, func(r rune) bool { return r == ',' || r == ';' }) {
		x, err := p.one("--at", text)
		if err != nil {
			return setup, nil, err
		}
		at = append(at, x.MM())
	}
	return setup, at, nil
}

func (a *app) printCalibration(c metrology.Calibration) error {
	line := []struct {
		name, text string
	}{
		{"readings", fmt.Sprintf("%d on %d rods, %s", c.N, len(c.Rods), c.Method)},
		{"correction", fmt.Sprintf("%+.5f mm %+.6f · (reading − %g mm)", c.OffsetMM, c.Slope, c.PivotMM)},
		{"", fmt.Sprintf("s(offset) %.5f mm, s(slope) %.6f, correlation %+.3f", c.OffsetSEMM, c.SlopeSE, c.Correlation)},
		{"residuals", fmt.Sprintf("SD %.5f mm, %g degrees of freedom", c.ResidualSDMM, c.DOF)},
	}
	if c.RepeatabilityMM != nil {
		line = append(line, struct{ name, text string }{"repeats", fmt.Sprintf("SD within rods %.5f mm", *c.RepeatabilityMM)})
	}
	if c.LackOfFit.P != nil {
		line = append(line, struct{ name, text string }{"line", fmt.Sprintf("lack of fit F = %.3f, p = %.3f", *c.LackOfFit.F, *c.LackOfFit.P)})
	}
	for _, l := range line {
		if err := a.printf("%-11s %s\n", l.name, l.text); err != nil {
			return err
		}
	}
	if err := a.printf("\n   rod mm   n   mean error       U\n"); err != nil {
		return err
	}
	for _, r := range c.Rods {
		verdict := "DOES NOT CONFORM"
		if r.Conforms {
			verdict = "conforms"
		}
		if err := a.printf("%9.3f %3d   %+10.4f  %.4f  %s\n", r.ReferenceMM, r.N, r.MeanErrorMM, r.ExpandedMM, verdict); err != nil {
			return err
		}
	}
	for _, at := range c.Asked {
		note := ""
		if at.Extrapolated {
			note = "  extrapolated"
		}
		if err := a.printf("at %.3f mm: correction %+.5f mm, u %.5f mm%s\n", at.ReadingMM, at.CorrectionMM, at.UMM, note); err != nil {
			return err
		}
	}
	for _, w := range c.Warnings {
		if err := a.printf("! %s\n", w); err != nil {
			return err
		}
	}
	return nil
}
