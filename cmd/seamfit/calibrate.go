package main

import (
	"context"
	"errors"
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"seamfit/internal/bench"
	"seamfit/internal/length"
	"seamfit/internal/metrology"
	"seamfit/internal/settings"
	"seamfit/internal/store"
)

// calibrateFlags are the flags of the command calibrate.
type calibrateFlags struct {
	caliperFlags
	outputFlags
	from                                string
	pivot, mpe, at, resolution, commonU string
	bothVariables, pivotGiven           bool

	store      bool
	by, note   string
	validDays  int // −1: the settings'
	celsius    string
	rodCelsius string
	rods       string
	readings   int    // 0: the settings'
	usual      string // the caliper of the settings
}

func (a *app) calibrateCommand() *cobra.Command {
	var f calibrateFlags
	cmd := &cobra.Command{
		Use:   "calibrate [--from readings.csv]",
		Short: "Calibrate a caliper against reference rods",
		Long: `Calibrate a caliper against reference rods of certified diameter: the correction
as a straight line with its uncertainty, the test of that line, the caliper's
repeatability, and a verdict for each rod: |error| + U within the limit of error
(ISO 14253-1).

Without --from it leads through the rods of the register, line by line: it says
which rod comes next, takes the readings from the caliper or as they are typed,
shows how far each lies off, and asks about one that disagrees. Nothing is stored
before you say so at the end.

With --from the readings come from a CSV file with the columns reference_mm,
reading_mm and, if you know it, rod_u_mm, the rod's standard uncertainty; a
column rod names rods of the register, which give it. --store keeps the result.`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			f.pivotGiven = cmd.Flags().Changed("pivot")
			return a.calibrate(cmd.Context(), f)
		},
	}
	flags := cmd.Flags()
	flags.StringVar(&f.from, "from", "", "readings of the rods, a CSV file (- for standard input)")
	flags.StringVar(&f.caliper, "caliper", "", caliperUsage)
	flags.StringVar(&f.port, "port", "", "serial port of the caliper (default: the settings')")
	flags.StringVar(&f.rods, "rods", "", "names of the rods to use, apart by commas (default: all of the register in use)")
	flags.IntVar(&f.readings, "readings", 0, "readings of each rod (default: the settings')")
	flags.StringVar(&f.by, "by", "", "who calibrates (default: the bander of the last shift, else asked for)")
	flags.StringVar(&f.celsius, "celsius", "", "temperature of the caliper, and of the rods, in °C; references are corrected for it")
	flags.StringVar(&f.rodCelsius, "rod-celsius", "", "temperature of the rods in °C, where it is another")
	flags.IntVar(&f.validDays, "valid-days", -1, "days for which the calibration holds; 0: without end (default: the settings')")
	flags.StringVar(&f.note, "note", "", "anything to be kept with the calibration")
	flags.BoolVar(&f.store, "store", false, "store the calibration that --from gives; it is in force from then on")
	flags.StringVar(&f.pivot, "pivot", "0", "reading at which the offset is stated, in mm (live: the middle of the rods)")
	flags.StringVar(&f.mpe, "mpe", "", "limit of error in mm (default: the settings' table; DIN 862, 0.02 up to 100 mm, 0.03 beyond)")
	flags.StringVar(&f.at, "at", "", "readings whose corrections are asked for, like 6,8,10")
	flags.StringVar(&f.resolution, "resolution", "", "step of the caliper's display (default: the settings', else the readings')")
	flags.StringVar(&f.commonU, "common-u", "", "standard uncertainty that all rods share, in mm")
	flags.BoolVar(&f.bothVariables, "both-variables", false, "fit with the rods' uncertainty in the line (York), where it is not small")
	f.define(cmd)
	cmd.AddCommand(a.rodsCommand(), a.calibrateShowCommand(), a.reestimateCommand())
	return cmd
}

func (a *app) calibrate(ctx context.Context, f calibrateFlags) error {
	files, err := a.load()
	if err != nil {
		return err
	}
	f.usual = files.settings.Caliper.Name
	if err := f.apply(&files.settings); err != nil {
		return err
	}
	if err := f.check(); err != nil {
		return err
	}
	if f.validDays < 0 {
		f.validDays = files.settings.Calibration.ValidDays
	}
	if f.from == "" {
		return a.calibrateLive(ctx, f, files)
	}
	return a.calibrateFrom(ctx, f, files)
}

// setup reads what a calibration rests on besides its readings. The resolution
// stays 0 where neither flag nor settings give one.
func (f calibrateFlags) setup(s settings.Settings) (setup metrology.CalibrationSetup, at []float64, err error) {
	p := lengthParser{unit: length.MM}
	setup = metrology.CalibrationSetup{MPE: mpeTable(s.Calibration.MPE), Resolution: s.Measure.Resolution.Length, BothVariables: f.bothVariables}
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
		if setup.Resolution, err = p.step(f.resolution); err != nil {
			return setup, nil, err
		}
	}
	if f.commonU != "" {
		common, err := p.uncertainty("--common-u", f.commonU)
		if err != nil {
			return setup, nil, err
		}
		setup.CommonU = common.MM()
	}
	for _, text := range strings.FieldsFunc(f.at, func(r rune) bool { return r == ',' || r == ';' }) {
		x, err := p.one("--at", text)
		if err != nil {
			return setup, nil, err
		}
		at = append(at, x.MM())
	}
	return setup, at, nil
}

func mpeTable(steps []settings.MPEStep) metrology.MPETable {
	table := make(metrology.MPETable, len(steps))
	for i, s := range steps {
		table[i] = metrology.MPEStep{UpTo: s.UpTo.Length, Limit: s.Limit.Length}
	}
	return table
}

// temperatures reads the flags; those not given are not known.
func (f calibrateFlags) temperatures(s settings.Calibration) (metrology.Temperatures, error) {
	if f.celsius == "" {
		if f.rodCelsius != "" {
			return metrology.Temperatures{}, usagef("--rod-celsius needs --celsius, the caliper's temperature; give both")
		}
		return metrology.Temperatures{}, nil
	}
	t := metrology.Temperatures{Known: true, U: s.TemperatureU, ScaleExpansion: s.ScaleExpansion}
	var err error
	if t.Scale, err = celsius("--celsius", f.celsius); err != nil {
		return t, err
	}
	t.Rods = t.Scale
	if f.rodCelsius != "" {
		t.Rods, err = celsius("--rod-celsius", f.rodCelsius)
	}
	return t, err
}

// celsius reads a temperature at which a bench is worked.
func celsius(what, text string) (float64, error) {
	number := strings.TrimSpace(strings.TrimRight(strings.TrimSpace(text), "°C"))
	v, err := strconv.ParseFloat(strings.Replace(number, ",", ".", 1), 64)
	if err != nil || !(v >= -40 && v <= 60) {
		return 0, usagef("%s %q is no temperature of a bench; give degrees Celsius from -40 to 60, like 18.5", what, text)
	}
	return v, nil
}

// existing opens the bench's records if there are any; nil when there are
// none. It never makes a file.
func (a *app) existing(ctx context.Context, setup *bench.Setup) (*store.Store, error) {
	there, err := a.recordsExist()
	if err != nil || !there {
		return nil, err
	}
	return a.openRecords(ctx, setup, true)
}

// rodsInUse returns the rods of the register that are not retired, or those
// named; and a warning for each whose certificate has run out.
func (a *app) rodsInUse(ctx context.Context, records *store.Store, named string) (rods []metrology.Rod, warnings []string, err error) {
	var register []metrology.Rod
	if records != nil {
		if register, err = records.Rods(ctx); err != nil {
			return nil, nil, err
		}
	}
	wanted := map[string]bool{}
	for _, name := range strings.Split(named, ",") {
		if name = strings.TrimSpace(name); name != "" {
			wanted[name] = true
		}
	}
	all := len(wanted) == 0
	for _, r := range register {
		if r.Retired != "" && wanted[r.Name] {
			return nil, nil, fmt.Errorf("rod %s is out of use (%s); use another", r.Name, r.Retired)
		}
		if r.Retired != "" || !all && !wanted[r.Name] {
			continue
		}
		delete(wanted, r.Name)
		rods = append(rods, r)
		warnings = append(warnings, metrology.Overdue([]metrology.PlannedRod{{Rod: r}}, a.now())...)
	}
	for name := range wanted {
		return nil, nil, fmt.Errorf("no rod %q is in the register; see seamfit calibrate rods list", name)
	}
	if len(rods) == 0 {
		return nil, nil, errors.New("no rod is in the register; enter each with seamfit calibrate rods add NAME --diameter 8.0003 --expanded 0.001 --due 2030-01-31")
	}
	return rods, warnings, nil
}
