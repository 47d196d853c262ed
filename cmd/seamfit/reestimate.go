package main

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/spf13/cobra"

	"seamfit/internal/bench"
	"seamfit/internal/fit"
	"seamfit/internal/store"
)

// reestimateFlags are the flags of the command calibrate reestimate.
type reestimateFlags struct {
	since, until, why, by, caliper string
	dry                            bool
}

func (a *app) reestimateCommand() *cobra.Command {
	var f reestimateFlags
	cmd := &cobra.Command{
		Use:   "reestimate --since 2026-05-01 --why REASON",
		Short: "Estimate legs anew by a calibration that was done after them",
		Long: `Estimate anew, by the caliper's last calibration, the legs of birds that were
measured before it: after a season's first calibration came late, or a worn
caliper was found out. Readings, choices and old estimates stay as they are; each
new estimate names the one it replaces, and why. An open bird that waits for its
first estimate gets it, and its size can be chosen then. Leave the station first.

A size that was chosen and that the new estimate calls tight, or in doubt, is
listed with a mark.`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error { return a.reestimate(cmd.Context(), f) },
	}
	flags := cmd.Flags()
	flags.StringVar(&f.since, "since", "", "first day of the birds, like 2026-05-01")
	flags.StringVar(&f.until, "until", "", "last day of the birds (default: the day of the calibration)")
	flags.StringVar(&f.why, "why", "", "the reason, kept with each new estimate")
	flags.StringVar(&f.by, "by", "", "who answers for it (default: the bander of the last shift)")
	flags.StringVar(&f.caliper, "caliper", "", "the caliper's name in the records (default: the settings')")
	flags.BoolVar(&f.dry, "dry-run", false, "only show what would change")
	return cmd
}

// span returns the times between which the birds were begun.
func (f reestimateFlags) span(now, calibrated time.Time) (from, to time.Time, err error) {
	if f.since == "" {
		return from, to, usagef("--since is missing; give the first day of the birds, like 2026-05-01")
	}
	if from, err = time.ParseInLocation(time.DateOnly, f.since, now.Location()); err != nil {
		return from, to, usagef("--since %q is no date; write it like 2026-01-31", f.since)
	}
	if f.until == "" {
		return from, calibrated, nil
	}
	if to, err = time.ParseInLocation(time.DateOnly, f.until, now.Location()); err != nil {
		return from, to, usagef("--until %q is no date; write it like 2026-01-31", f.until)
	}
	return from, to.AddDate(0, 0, 1), nil
}

// reestimated is one bird's estimate, old and new.
type reestimated struct {
	Handling string `json:"handling"`
	Opened   string `json:"opened"`
	Species  string `json:"species"`
	// MeanMM and ExpandedMM are of the old estimate; null: there was none.
	MeanMM        *float64 `json:"mean_mm"`
	ExpandedMM    *float64 `json:"expanded_mm"`
	NewMeanMM     float64  `json:"new_mean_mm"`
	NewExpandedMM float64  `json:"new_expanded_mm"`
	Size          string   `json:"size"`
	Verdict       string   `json:"verdict"`
	NewVerdict    string   `json:"new_verdict"`
}

// worse reports whether the chosen size is in doubt now.
func (r reestimated) worse() bool {
	v := fit.Verdict(r.NewVerdict)
	return r.NewVerdict != r.Verdict && (v == fit.Tight || v == fit.Slips || v == fit.Borderline)
}

func (a *app) reestimate(ctx context.Context, f reestimateFlags) (err error) {
	if err := shown("--why", f.why); err != nil {
		return err
	}
	files, err := a.load()
	if err != nil {
		return err
	}
	if f.caliper != "" {
		files.settings.Caliper.Name = f.caliper
	}
	records, err := a.openRecords(ctx, files.setup, true)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, records.Close()) }()
	by, err := a.who(ctx, f.by, records)
	if err != nil {
		return err
	}
	if err := files.calibrated(ctx, records, a.now()); err != nil {
		return err
	}
	calibration := files.setup.Calibration
	if calibration == nil {
		return fmt.Errorf("caliper %q has no calibration; calibrate it first", files.settings.Caliper.Name)
	}
	from, to, err := f.span(a.now(), calibration.At)
	if err != nil {
		return err
	}
	ids, err := records.MeasuredBy(ctx, files.settings.Caliper.Name, from, to)
	if err != nil {
		return err
	}
	done := []reestimated{}
	for _, id := range ids {
		r, changed, err := a.reestimateOne(ctx, files, records, id, by, f)
		if err != nil {
			return err
		}
		if changed {
			done = append(done, r)
		}
	}
	return a.printReestimated(done, f.dry)
}

// reestimateOne estimates one leg anew, and saves that unless it is only to
// be shown.
func (a *app) reestimateOne(ctx context.Context, files benchFiles, records *store.Store, id, by string, f reestimateFlags) (reestimated, bool, error) {
	h, err := records.Load(ctx, id)
	if err != nil {
		return reestimated{}, false, err
	}
	shift, err := records.ShiftNamed(ctx, h.Shift)
	if err != nil {
		return reestimated{}, false, err
	}
	if widths, _ := h.Counted(); len(widths) == 0 {
		return reestimated{}, false, nil // every reading was set aside
	}
	state := bench.State{Setup: files.setup, Shift: shift, Handlings: []bench.Handling{h}, Active: id}
	next, facts, blockers := bench.Apply(state, bench.ReEstimate{When: bench.When{At: a.now(), By: by}, Why: f.why})
	if len(blockers) > 0 {
		return reestimated{}, false, fmt.Errorf("the bird of %s: %s", h.Opened.Format("2006-01-02 15:04"), blockers[0].Mend)
	}
	if len(facts) == 0 {
		return reestimated{}, false, nil
	}
	now, ok := next.Handling(id)
	if !ok || now.Estimate == nil {
		return reestimated{}, false, fmt.Errorf("the bird of %s has lost its estimate; verify the records", h.Opened.Format("2006-01-02 15:04"))
	}
	r := reestimated{
		Handling: id, Opened: h.Opened.Format(time.RFC3339), Species: h.Bird.Species,
		NewMeanMM: now.Estimate.Leg.MeanMM, NewExpandedMM: now.Estimate.Leg.ExpandedMM,
	}
	if old := h.Estimate; old != nil {
		r.MeanMM, r.ExpandedMM = &old.Leg.MeanMM, &old.Leg.ExpandedMM
	}
	if h.Choice != nil {
		r.Size, r.Verdict = h.Choice.Size, h.Choice.Verdict
		if result, err := state.FitLate(h); err == nil {
			for _, c := range result.Sizes {
				if c.Size == r.Size {
					r.NewVerdict = string(c.Verdict)
				}
			}
		}
	}
	if f.dry {
		return r, true, nil
	}
	return r, true, records.Save(ctx, facts)
}

func (a *app) printReestimated(done []reestimated, dry bool) error {
	if a.json() {
		return a.writeJSON(map[string]any{"reestimated": done, "stored": !dry})
	}
	if len(done) == 0 {
		return a.printf("no estimate of that time is to be made anew\n")
	}
	for _, r := range done {
		mark := ""
		if r.worse() {
			mark = "  ! LOOK AGAIN"
		}
		old := "no estimate"
		if r.MeanMM != nil {
			old = fmt.Sprintf("%.3f ± %.3f", *r.MeanMM, *r.ExpandedMM)
		}
		if err := a.printf("%s  %-24s %s → %.3f ± %.3f mm", r.Opened[:min(16, len(r.Opened))], r.Species, old, r.NewMeanMM, r.NewExpandedMM); err != nil {
			return err
		}
		if r.Size != "" {
			if err := a.printf("  size %s: %s → %s", r.Size, orDash(r.Verdict), orDash(r.NewVerdict)); err != nil {
				return err
			}
		}
		if err := a.printf("%s\n", mark); err != nil {
			return err
		}
	}
	if dry {
		return a.printf("%d estimates would be made anew; nothing was stored\n", len(done))
	}
	return a.printf("%d estimates made anew; the old ones stay\n", len(done))
}
