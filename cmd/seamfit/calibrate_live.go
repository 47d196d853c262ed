package main

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strings"

	"seamfit/internal/metrology"
	"seamfit/internal/settings"
	"seamfit/internal/store"
)

// calibrateLive leads through a calibration. Nothing is stored before the
// last question.
func (a *app) calibrateLive(ctx context.Context, f calibrateFlags, files benchFiles) (err error) {
	setup, at, err := f.liveSetup(files.settings)
	if err != nil {
		return err
	}
	records, err := a.existing(ctx, files.setup)
	if err != nil {
		return err
	}
	if records != nil {
		defer func() { err = errors.Join(err, records.Close()) }()
	}
	rods, warnings, err := a.rodsInUse(ctx, records, f.rods)
	if err != nil {
		return err
	}
	d, end, err := a.converse(ctx, files.settings)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, end()) }()
	d.say("Calibration of %q against %d rods of the register.", files.settings.Caliper.Name, len(rods))
	if f.usual != files.settings.Caliper.Name {
		d.say("! The station reads with %q, by the settings; this calibration is of another caliper.", f.usual)
	}
	for _, w := range warnings {
		d.say("! %s", w)
	}
	if d.feed == nil {
		d.say("The settings name no port of the caliper: type its readings.")
	}
	record, err := a.askConditions(ctx, d, &f, files.settings, records)
	if err != nil {
		return err
	}
	if record.Conditions.Rods, err = metrology.Plan(rods, record.Conditions.Temperatures); err != nil {
		return err
	}
	if !f.pivotGiven {
		setup.Pivot = middle(record.Conditions.Rods)
	}
	c, err := f.begin(ctx, d, record, setup, files.settings, records)
	if err != nil {
		return err
	}
	if err := c.read(ctx); err != nil {
		return err
	}
	if err := c.into(ctx, &record, at); err != nil {
		return err
	}
	return a.concludeCalibration(ctx, d, f, record, records)
}

// liveSetup checks the flags of a live calibration.
func (f calibrateFlags) liveSetup(s settings.Settings) (metrology.CalibrationSetup, []float64, error) {
	none := metrology.CalibrationSetup{}
	if f.store {
		return none, nil, usagef("--store is for --from; a live calibration asks at its end")
	}
	if f.readings < 0 || f.readings > 50 {
		return none, nil, usagef("--readings %d is out of range; use 1 to 50", f.readings)
	}
	if err := visible("--note", f.note); err != nil {
		return none, nil, err
	}
	if _, err := f.temperatures(s.Calibration); err != nil {
		return none, nil, err
	}
	return f.setup(s)
}

// middle is the whole millimetre in the middle of the rods, where offset and
// slope are nearly independent.
func middle(rods []metrology.PlannedRod) float64 {
	return math.Round((rods[0].Reference.MM() + rods[len(rods)-1].Reference.MM()) / 2)
}

// askConditions asks for the person and the temperature where no flag tells
// them.
func (a *app) askConditions(ctx context.Context, d *dialogue, f *calibrateFlags, s settings.Settings, records *store.Store) (metrology.Record, error) {
	r := metrology.Record{ID: a.newID(), Caliper: s.Caliper.Name, Note: f.note}
	var err error
	if r.By, err = person(ctx, f.by, records); err != nil {
		return r, err
	}
	for strings.TrimSpace(r.By) == "" {
		if r.By, err = d.question(ctx, "Who calibrates?"); err != nil {
			return r, err
		}
		if err := visible("the name", r.By); err != nil {
			d.say("  %s", err.Error())
			r.By = ""
		}
	}
	d.say("By %s.", r.By)
	for f.celsius == "" {
		answer, err := d.question(ctx, "Temperature of rods and caliper in °C (Enter: not taken)?")
		if err != nil {
			return r, err
		}
		if answer == "" {
			break
		}
		if _, err := celsius("the temperature", answer); err != nil {
			d.say("  %s", err.Error())
			continue
		}
		f.celsius = answer
	}
	r.Conditions.Temperatures, err = f.temperatures(s.Calibration)
	return r, err
}

// begin makes the guide: with the repeatability that the last calibration of
// the caliper measured, or else the settings'.
func (f calibrateFlags) begin(ctx context.Context, d *dialogue, r metrology.Record, setup metrology.CalibrationSetup, s settings.Settings, records *store.Store) (*calibrating, error) {
	last, err := records.LastCalibration(ctx, r.Caliper, d.now())
	if err != nil {
		return nil, err
	}
	c := &calibrating{d: d, fixed: setup.Resolution > 0}
	perRod := s.Calibration.ReadingsPerRod
	if f.readings > 0 {
		perRod = f.readings
	}
	c.guide, err = metrology.NewGuide(r.Conditions.Rods, perRod, repeatsKnown(last, s.Calibration), setup)
	if err != nil {
		return nil, err
	}
	d.say("Let rods and caliper lie together; wipe the jaws, close them, set zero.")
	d.say("Press the caliper's button, or type what it shows. Take the rod out between readings.")
	d.say("Other answers: aside REASON (the reading before; aside #2 REASON another) - next\n(enough of this rod) - quit")
	return c, nil
}

// fewestRepeats is the number of degrees of freedom from which a measured
// repeatability takes the place of the settings'.
const fewestRepeats = 5

// repeatsKnown returns the SD of single readings on a rod that is known
// before a calibration or a check.
func repeatsKnown(last *metrology.Record, s settings.Calibration) metrology.Component {
	if last != nil && last.Result.RepeatabilityMM != nil {
		dof := float64(last.Result.N - len(last.Result.Rods))
		if sd := *last.Result.RepeatabilityMM; sd > 0 && dof >= fewestRepeats {
			return metrology.Component{U: sd, DOF: dof}
		}
	}
	return metrology.Component{U: s.RepeatabilitySD.MM(), DOF: math.Inf(1)}
}

// concludeCalibration shows the result, and stores it when told to.
func (a *app) concludeCalibration(ctx context.Context, d *dialogue, f calibrateFlags, r metrology.Record, records *store.Store) error {
	holds := "without end"
	if f.validDays > 0 {
		r.ValidUntil = r.At.AddDate(0, 0, f.validDays)
		holds = "until " + r.ValidUntil.Format("2006-01-02")
	}
	d.say("")
	d.text(r.Table(80))
	keep, err := d.yes(ctx, fmt.Sprintf("Store it for caliper %q, in force from now %s?", r.Caliper, holds))
	if err != nil {
		return err
	}
	if !keep {
		d.say("Not stored.")
		if a.json() {
			return a.printCalibration(r, false)
		}
		return d.failed
	}
	if err := records.SaveCalibration(ctx, r); err != nil {
		return err
	}
	d.say("Stored.")
	if err := f.write(r); err != nil {
		return fmt.Errorf("the calibration is stored, but %w", err)
	}
	if a.json() {
		return a.printCalibration(r, true)
	}
	return d.failed
}
