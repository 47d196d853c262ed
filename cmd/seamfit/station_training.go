package main

import (
	"context"
	"errors"

	"seamfit/device/sim"
	"seamfit/internal/bench"
	"seamfit/internal/drill"
	"seamfit/station"
)

// checkRun checks the flags of a training run with a level.
func (f *stationFlags) checkRun() error {
	switch {
	case f.level == 0 && f.seed == 0:
		return nil
	case !f.simulate:
		return usagef("--level and --seed are for training; give --simulate too")
	case f.level == 0:
		return usagef("--seed is for a run with a level; give --level 1, 2 or 3")
	case f.level < 0 || f.level > drill.Levels:
		return usagef("--level %d: there is no such level; use 1, 2 or 3", f.level)
	}
	return nil
}

// chooseRun takes up the run of this level, and of this seed if one is given,
// that was left in the middle; else it begins one, by the clock where no seed is
// given.
func (a *app) chooseRun(ctx context.Context, setup *bench.Setup, f *stationFlags) (err error) {
	if f.level == 0 {
		return nil
	}
	records, err := a.openStationRecords(ctx, setup, *f)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, records.Close()) }()
	last, err := records.LastShift(ctx)
	if err != nil {
		return err
	}
	if last != nil {
		run, ok := drill.RunOf(*last)
		settled, err := records.Settled(ctx, last.ID)
		if err != nil {
			return err
		}
		if ok && run.Level() == f.level && (f.seed == 0 || f.seed == run.Seed()) && settled < run.Birds() {
			f.seed, f.goesOn = run.Seed(), true
		}
	}
	if f.seed == 0 {
		// Short, so that it can be said again.
		f.seed = 1 + uint64(a.now().UnixMilli())%9999
	}
	return nil
}

// trainingFile returns the name of the training records. The walk-through and
// the runs with a level have files of their own.
func (f stationFlags) trainingFile() string {
	if f.level > 0 {
		return "training-runs.db"
	}
	return "training.db"
}

// train sets up the training that the flags ask for. A run with a level that is
// not taken up again begins with a shift of its own, whatever was left open of
// earlier ones.
func (f stationFlags) train(start *bench.State, o *station.Options) error {
	if !f.simulate {
		return nil
	}
	if f.level == 0 {
		o.Trainer = drill.ThreeBirds()
		return nil
	}
	scenario, err := drill.NewScenario(f.seed, f.level)
	if err != nil {
		return err
	}
	o.Trainer = scenario
	if f.goesOn {
		return nil
	}
	o.Earlier, o.Numbers = 0, nil
	start.Shift, start.Handlings, start.Active = nil, nil, ""
	return nil
}

// roughen makes the simulated caliper as rough as the level: its readings
// scatter more, and at the highest it is silent at times, or shows the value
// before.
func (f stationFlags) roughen(cfg *sim.Config) {
	if f.level == 0 {
		return
	}
	cfg.Seed = f.seed
	cfg.NoiseSD = 0.005 + 0.005*float64(f.level)
	if f.level == drill.Levels {
		cfg.Rates = map[sim.Fault]float64{sim.Silence: 0.1, sim.Sticky: 0.1}
	}
}
