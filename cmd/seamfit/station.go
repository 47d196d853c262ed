package main

import (
	"context"
	"errors"
	"io"

	"github.com/spf13/cobra"

	"seamfit/internal/bench"
	"seamfit/internal/store"
	"seamfit/station"
)

// stationFlags are the flags of the command station.
type stationFlags struct {
	simulate, late   bool
	level            int
	goesOn           bool // the run that was begun last is taken up again
	seed             uint64
	caliper, scanner string
}

func (a *app) stationCommand() *cobra.Command {
	var f stationFlags
	cmd := &cobra.Command{
		Use:   "station",
		Short: "Work at the bench, full screen",
		Long: `Work at the bench, full screen. Readings arrive from the caliper by themselves;
numbers are scanned or typed. Nothing is lost when it ends in any way: open birds
are taken up again where they stood.

With --simulate the caliper is simulated (the space bar squeezes it), the records
go into a training database of their own, and a coach leads through three birds.
With --level 1, 2 or 3 the bands are of metal that springs, and answer to what you
do with the pliers: see for yourself whether a seam is flush. The same --seed gives
the same run; one that was left in the middle is taken up again where it stood. It
ends with a score, of what was done since the station was started, and is no licence.

With --late a sheet of paper (seamfit sheet) is typed in afterwards: the station asks
for its date, who types, and each bird's time. What happened keeps its own time and
its bander; when it was entered and by whom stands beside.

With --caliper capture:FILE a recording takes the caliper's place, at its own pace.`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error { return a.station(cmd.Context(), f) },
	}
	flags := cmd.Flags()
	flags.BoolVar(&f.simulate, "simulate", false, "train with a simulated caliper and a database of its own")
	flags.BoolVar(&f.late, "late", false, "type in a sheet of paper afterwards")
	flags.IntVar(&f.level, "level", 0, "train with bands that spring: 1 soft metal, 2 hard metal, 3 large bands and flaws (with --simulate)")
	flags.Uint64Var(&f.seed, "seed", 0, "makes the same run again (with --level; default: by the clock)")
	flags.StringVar(&f.caliper, "caliper", "", "serial port of the caliper, or capture:FILE (default: the settings')")
	flags.StringVar(&f.scanner, "scanner", "", "serial port of the scanner (default: the settings')")
	return cmd
}

func (a *app) station(ctx context.Context, f stationFlags) (err error) {
	if f.simulate && f.caliper+f.scanner != "" {
		return usagef("--simulate has its own caliper; leave --caliper and --scanner out")
	}
	if f.late && (f.simulate || f.caliper != "") {
		return usagef("--late types in what was measured before; leave --simulate and --caliper out")
	}
	if err := f.checkRun(); err != nil {
		return err
	}
	files, err := a.load()
	if err != nil {
		return err
	}
	if err := a.chooseRun(ctx, files.setup, &f); err != nil {
		return err
	}
	devices, err := a.devices(files.settings, f)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, devices.Close()) }()
	records, err := a.openStationRecords(ctx, files.setup, f)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, records.Close()) }()
	if err := files.calibrated(ctx, records, a.now()); err != nil {
		return err
	}
	if err := files.practised(ctx, records, a.now()); err != nil {
		return err
	}
	cfg, err := a.stationConfig(ctx, files, records, f)
	if err != nil {
		return err
	}
	devices.equip(&cfg)
	if cfg.Screen, err = station.OpenTerminal(a.env("TERM"), a.now); err != nil {
		return err
	}
	err = station.Run(ctx, cfg)
	var crash *station.CrashError
	if errors.As(err, &crash) {
		// The terminal is whole again by now; the stack is for the report.
		if _, printed := io.WriteString(a.stderr, crash.Stack+"\n"); printed != nil {
			return errors.Join(err, printed)
		}
	}
	return err
}

// openStationRecords opens the bench's records, or the training records.
func (a *app) openStationRecords(ctx context.Context, setup *bench.Setup, f stationFlags) (*store.Store, error) {
	if !f.simulate {
		return a.openRecords(ctx, setup, false)
	}
	path := a.dbPath
	if path == "" {
		var err error
		if path, err = a.dataFile(f.trainingFile()); err != nil {
			return nil, err
		}
	}
	return store.Open(ctx, path, store.Options{Closures: setup.Book.Closures, Training: true, Now: a.now})
}

// stationConfig is all but the devices and the screen.
func (a *app) stationConfig(ctx context.Context, files benchFiles, records *store.Store, f stationFlags) (station.Config, error) {
	start, untold, err := a.resume(ctx, records, files.setup)
	if err != nil {
		return station.Config{}, err
	}
	b := files.settings.Bench
	options := station.Options{
		HandlingLimit: b.HandlingLimit(), ClosingsLimit: b.ClosingsLimit, Theme: station.ThemeColour,
		Silent: b.RedTheme || !b.Bell, ScanPrefix: files.settings.Scanner.Prefix, ScanSuffix: files.settings.Scanner.Suffix,
		People: files.settings.People.Names(), ScanCheck: files.settings.Scanner.Code39Check,
	}
	options.Usual = usual(files.settings)
	limits := seamLimits(files.settings.Seam)
	options.SeamLimits, options.SpotOnLeg = &limits, files.settings.Seam.OnLeg
	switch {
	case a.env("NO_COLOR") != "":
		options.Theme = station.ThemeNone
	case b.RedTheme:
		options.Theme = station.ThemeRed
	}
	options.Late = f.late
	if !f.late { // nothing is measured now
		if options.Doubts, err = files.doubts(ctx, records, a.now()); err != nil {
			return station.Config{}, err
		}
	}
	options.Doubts = append(options.Doubts, untold...)
	shift := ""
	if start.Shift != nil {
		shift = start.Shift.ID
	}
	if options.Earlier, options.Numbers, err = records.Numbering(ctx, shift); err != nil {
		return station.Config{}, err
	}
	if err := f.train(&start, &options); err != nil {
		return station.Config{}, err
	}
	return station.Config{Keeper: records, History: records.History, Offer: records.Offer, String: records.LastMeasures, Trace: tracer(files.setup.Pattern, records), Inspect: records.QuickCheck, Start: start, Options: options, Clock: a.now, NewID: a.newID}, nil
}
