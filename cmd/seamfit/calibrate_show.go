package main

import (
	"context"
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"seamfit/internal/metrology"
)

func (a *app) calibrateShowCommand() *cobra.Command {
	var f calibrateFlags
	cmd := &cobra.Command{
		Use:   "show",
		Short: "Show the caliper's last calibration, and write its record",
		Args:  cobra.NoArgs,
		RunE:  func(cmd *cobra.Command, _ []string) error { return a.calibrateShow(cmd.Context(), f) },
	}
	flags := cmd.Flags()
	flags.StringVar(&f.caliper, "caliper", "", "the caliper's name in the records (default: the settings')")
	flags.StringVar(&f.at, "at", "", "readings whose corrections are asked for, like 6,8,10")
	f.define(cmd)
	return cmd
}

func (a *app) calibrateShow(ctx context.Context, f calibrateFlags) (err error) {
	files, err := a.load()
	if err != nil {
		return err
	}
	if f.caliper != "" {
		files.settings.Caliper.Name = f.caliper
	}
	if err := f.check(); err != nil {
		return err
	}
	f.pivot = "0"
	_, at, err := f.setup(files.settings)
	if err != nil {
		return err
	}
	records, err := a.existing(ctx, files.setup)
	if err != nil {
		return err
	}
	var last *metrology.Record
	if records != nil {
		defer func() { err = errors.Join(err, records.Close()) }()
		if last, err = records.LastCalibration(ctx, files.settings.Caliper.Name, a.now()); err != nil {
			return err
		}
	}
	if last == nil {
		return fmt.Errorf("no calibration of caliper %q is in the records; calibrate it with seamfit calibrate", files.settings.Caliper.Name)
	}
	if last.Result, err = last.Result.Ask(at); err != nil {
		return err
	}
	if err := f.write(*last); err != nil {
		return err
	}
	if err := a.printCalibration(*last, true); err != nil || a.json() || last.InForce(a.now()) {
		return err
	}
	return a.printf("! EXPIRED on %s: calibrate the caliper\n", last.ValidUntil.Format("2006-01-02"))
}
