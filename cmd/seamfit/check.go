package main

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"seamfit/internal/metrology"
	"seamfit/internal/settings"
	"seamfit/internal/store"
)

// checkFlags are the flags of the command check.
type checkFlags struct {
	caliperFlags
	rod, readings, by     string
	celsius, reason, goOn string
}

func (a *app) checkCommand() *cobra.Command {
	var f checkFlags
	cmd := &cobra.Command{
		Use:   "check [--rod NAME]",
		Short: "Check the caliper on one rod before a shift",
		Long: `Check the caliper on one rod before a shift: some readings of one rod, corrected
by the calibration in force, against control limits from the checks before.

Out of limits, the exit code is 1, and the station shows it until the caliper is
calibrated anew or somebody states why the bench goes on (--go-on REASON).`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if f.goOn != "" {
				return a.goOn(cmd.Context(), f)
			}
			return a.check(cmd.Context(), f)
		},
	}
	flags := cmd.Flags()
	flags.StringVar(&f.caliper, "caliper", "", caliperUsage)
	flags.StringVar(&f.port, "port", "", "serial port of the caliper (default: the settings')")
	flags.StringVar(&f.rod, "rod", "", "the rod (default: that of the last check, else asked for)")
	flags.StringVar(&f.readings, "readings", "", "the readings, like 8.01,8.00,8.01 (default: taken live)")
	flags.StringVar(&f.by, "by", "", "who checks (default: the bander of the last shift, else asked for)")
	flags.StringVar(&f.celsius, "celsius", "", "temperature of rod and caliper in °C")
	flags.StringVar(&f.reason, "reason", "", "why the bench goes on even if the check is out of limits")
	flags.StringVar(&f.goOn, "go-on", "", "state this reason for a check that is out of limits, without a new check")
	return cmd
}

// checking is what a check rests on.
type checking struct {
	f        checkFlags
	s        settings.Settings
	records  *store.Store
	last     *metrology.Record // calibration in force; nil: none
	earlier  metrology.Checks
	rod      metrology.PlannedRod
	repeats  metrology.Repeats
	dialogue *dialogue // nil: all is given
}

// manyChecks bounds how far back the history of checks goes.
const manyChecks = 500

func (a *app) check(ctx context.Context, f checkFlags) (err error) {
	files, err := a.load()
	if err != nil {
		return err
	}
	if err := errors.Join(f.apply(&files.settings), said("--reason", f.reason)); err != nil {
		return err
	}
	records, err := a.existing(ctx, files.setup)
	if err != nil {
		return err
	}
	if records != nil {
		defer func() { err = errors.Join(err, records.Close()) }()
	}
	rods, warnings, err := a.rodsInUse(ctx, records, f.rod)
	if err != nil {
		return err
	}
	c := &checking{f: f, s: files.settings, records: records}
	if err := c.load(ctx, a.now()); err != nil {
		return err
	}
	if f.readings == "" {
		d, end, err := a.converse(ctx, files.settings)
		if err != nil {
			return err
		}
		defer func() { err = errors.Join(err, end()) }()
		c.dialogue = d
	}
	return a.runCheck(ctx, c, rods, warnings)
}

// load reads the calibration in force and the checks before.
func (c *checking) load(ctx context.Context, now time.Time) error {
	name := c.s.Caliper.Name
	last, err := c.records.LastCalibration(ctx, name, now)
	if err != nil {
		return err
	}
	c.repeats = metrology.Repeats{SD: repeatsKnown(last, c.s.Calibration), Resolution: c.s.Measure.Resolution.Length}
	if last != nil && last.InForce(now) {
		c.last = last
	}
	checks, err := c.records.Checks(ctx, name, "", manyChecks)
	c.earlier = checks
	return err
}

func (a *app) runCheck(ctx context.Context, c *checking, rods []metrology.Rod, warnings []string) error {
	rod, err := c.chooseRod(ctx, rods)
	if err != nil {
		return err
	}
	check := metrology.Check{ID: a.newID(), Caliper: c.s.Caliper.Name, Rod: rod.Name, Reason: c.f.reason}
	if check.By, err = c.person(ctx); err != nil {
		return err
	}
	temperatures, err := calibrateFlags{celsius: c.f.celsius}.temperatures(c.s.Calibration)
	if err != nil {
		return err
	}
	if c.rod, err = metrology.PlanRod(rod, temperatures); err != nil {
		return err
	}
	if c.last == nil {
		warnings = append(warnings, "no calibration of the caliper is in force: its readings are not corrected")
	} else {
		check.Calibration = c.last.ID
	}
	if c.dialogue != nil {
		for _, w := range warnings {
			c.dialogue.say("! %s", w)
		}
	}
	if err := c.read(ctx, a.now, &check); err != nil {
		return err
	}
	result, err := c.judge(a.now(), &check)
	if err != nil {
		return err
	}
	result.Warnings = append([]string{}, warnings...)
	if err := a.printRodCheck(c, result); err != nil {
		return err
	}
	if !check.InLimits && check.Reason == "" && c.dialogue != nil {
		if check.Reason, err = c.whyGoOn(ctx); err != nil {
			return err
		}
	}
	if err := c.records.SaveCheck(ctx, check); err != nil {
		return err
	}
	if a.json() {
		result.Reason = check.Reason
		if err := a.writeJSON(result); err != nil {
			return err
		}
	}
	if !check.InLimits && check.Reason == "" {
		return fmt.Errorf("%s; wipe jaws and rod, set zero, check again; calibrate the caliper, or state why the bench goes on with seamfit check --go-on REASON", check.Words())
	}
	return nil
}

// whyGoOn asks why the bench goes on after a check that is out of limits;
// empty: it does not.
func (c *checking) whyGoOn(ctx context.Context) (string, error) {
	for {
		reason, err := c.dialogue.question(ctx, "Why does the bench go on? (Enter: it does not)")
		if err != nil && !errors.Is(err, errInputEnded) {
			return "", err
		}
		bad := said("the reason", reason)
		switch {
		case bad == nil:
			return reason, nil
		case err != nil:
			return "", nil //nolint:nilerr // the input has ended, and no reason was given
		}
		c.dialogue.say("  %v", bad)
	}
}

// chooseRod returns the rod that was named, the only one, or that of the last
// check, and asks where that leaves a choice.
func (c *checking) chooseRod(ctx context.Context, rods []metrology.Rod) (metrology.Rod, error) {
	if len(rods) == 1 {
		return rods[0], nil
	}
	if c.f.rod != "" {
		return metrology.Rod{}, usagef("--rod %q names more than one rod; a check is on one", c.f.rod)
	}
	named := func(name string) int {
		return slices.IndexFunc(rods, func(r metrology.Rod) bool { return r.Name == name })
	}
	usual := len(rods) / 2
	for _, check := range c.earlier {
		if i := named(check.Rod); i >= 0 {
			return rods[i], nil
		}
	}
	if c.dialogue == nil {
		return metrology.Rod{}, usagef("--rod is missing; say which rod was read")
	}
	names := make([]string, len(rods))
	for i, r := range rods {
		names[i] = r.Name
	}
	for {
		answer, err := c.dialogue.question(ctx, fmt.Sprintf("Which rod? %s (Enter: %s)", strings.Join(names, ", "), names[usual]))
		if err != nil {
			return metrology.Rod{}, err
		}
		if answer == "" {
			return rods[usual], nil
		}
		if i := named(answer); i >= 0 {
			return rods[i], nil
		}
		c.dialogue.say("  no rod %q is in use", answer)
	}
}

func (c *checking) person(ctx context.Context) (string, error) {
	by, err := person(ctx, c.f.by, c.records)
	if err != nil || strings.TrimSpace(by) != "" {
		return by, err
	}
	if c.dialogue == nil {
		return "", usagef("--by is missing; say who checks, like --by \"A. Holm\"")
	}
	for {
		if by, err = c.dialogue.question(ctx, "Who checks?"); err != nil {
			return "", err
		}
		if by != "" && visible("the name", by) == nil {
			return by, nil
		}
	}
}

// goOn states why the bench goes on after a check out of limits.
func (a *app) goOn(ctx context.Context, f checkFlags) (err error) {
	if err := errors.Join(shown("--go-on", f.goOn), said("--go-on", f.goOn)); err != nil {
		return err
	}
	files, err := a.load()
	if err != nil {
		return err
	}
	if err := f.apply(&files.settings); err != nil {
		return err
	}
	nothing := fmt.Errorf("no check of caliper %q stands out of limits; there is nothing to state a reason for", files.settings.Caliper.Name)
	records, err := a.existing(ctx, files.setup)
	if err != nil || records == nil {
		return errors.Join(err, nothing)
	}
	defer func() { err = errors.Join(err, records.Close()) }()
	by, err := a.who(ctx, f.by, records)
	if err != nil {
		return err
	}
	open, err := openChecks(ctx, records, files.settings.Caliper.Name, a.now())
	if err != nil {
		return err
	}
	if f.rod != "" {
		open = slices.DeleteFunc(open, func(c metrology.Check) bool { return c.Rod != f.rod })
	}
	if len(open) == 0 {
		return nothing
	}
	for _, check := range open {
		answer := check
		answer.ID, answer.At, answer.By, answer.Reason, answer.Answers = a.newID(), a.now(), by, f.goOn, check.ID
		answer.Readings = nil
		if err := records.SaveCheck(ctx, answer); err != nil {
			return err
		}
		if !a.json() {
			if err := a.printf("stated for the check on rod %s of %s: %s\n", check.Rod, check.At.Format("2006-01-02 15:04"), f.goOn); err != nil {
				return err
			}
		}
	}
	if a.json() {
		return a.writeJSON(map[string]any{"stated": len(open), "reason": f.goOn})
	}
	return nil
}

// openChecks returns the checks of a caliper that stand out of limits since
// its last calibration.
func openChecks(ctx context.Context, records *store.Store, caliper string, now time.Time) ([]metrology.Check, error) {
	last, err := records.LastCalibration(ctx, caliper, now)
	if err != nil {
		return nil, err
	}
	checks, err := records.Checks(ctx, caliper, "", manyChecks)
	if err != nil {
		return nil, err
	}
	var since time.Time
	if last != nil {
		since = last.At
	}
	return metrology.Checks(checks).Open(since), nil
}
