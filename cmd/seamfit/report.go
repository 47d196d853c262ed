package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"github.com/spf13/cobra"

	"seamfit/internal/bench"
	"seamfit/internal/metrology"
	"seamfit/internal/report"
	"seamfit/internal/store"
)

// checksShown is how many of the newest checks a day sheet's chart holds.
const checksShown = 40

func (a *app) reportCommand() *cobra.Command {
	var out, date string
	var only bench.Selection
	cmd := &cobra.Command{
		Use:   "report --out day.html [--shift ID | --date DAY]",
		Short: "Write the day sheet",
		Long: `Write the day sheet of a shift or a day: one HTML page that needs no network and
prints on A4. Open matters come first; then the birds, sizes chosen against
recommended, leg widths among the bands' inner diameters, the caliper's
calibration and checks, closings, incidents and numbers. Without --shift or
--date it is about the shift that began last.`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			switch {
			case out == "":
				return usagef("--out is missing; name the file to write, like day.html")
			case only.Shift != "" && date != "":
				return usagef("--shift and --date are both given; take one of them out")
			case date == "" && only.Shift == "":
				only.Shift = "last"
			}
			only.From, only.To = date, date
			return a.report(cmd.Context(), out, only)
		},
	}
	flags := cmd.Flags()
	flags.StringVar(&out, "out", "", "the new HTML file")
	flags.StringVar(&only.Shift, "shift", "", `the shift, by its identifier, or "last"`)
	flags.StringVar(&date, "date", "", "the day on which the birds were taken up, 2026-05-17")
	return cmd
}

func (a *app) report(ctx context.Context, out string, only bench.Selection) (err error) {
	files, err := a.load()
	if err != nil {
		return err
	}
	records, err := a.openForReading(ctx)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, records.Close()) }()
	if only, err = a.selection(ctx, records, files.setup, only); err != nil {
		return err
	}
	day, err := a.day(ctx, records, files, only)
	if err != nil {
		return err
	}
	var page bytes.Buffer
	if err := records.View(ctx, func(v *store.View) error { return report.WriteDay(ctx, &page, v.Only(only), day) }); err != nil {
		return err
	}
	if err := writeNew(out, page.Bytes()); err != nil {
		return err
	}
	if a.json() {
		return a.writeJSON(map[string]any{"out": out, "training": day.Training})
	}
	return a.printf("wrote %s\n", out)
}

// day reads what a day sheet is about, beside the birds.
func (a *app) day(ctx context.Context, records *store.Store, files benchFiles, only bench.Selection) (report.Day, error) {
	d := report.Day{
		Title: only.From, Training: records.Training(), Made: a.now(), Version: programVersion(),
		Book: files.setup.Book, Catalogue: files.setup.Catalogue,
	}
	var err error
	if d.Shifts, err = shiftsOf(ctx, records, only); err != nil {
		return d, err
	}
	if d.Title == "" && len(d.Shifts) == 1 {
		d.Title = fmt.Sprintf("%s, %s", d.Shifts[0].Started.Format("2006-01-02"), d.Shifts[0].Place)
	}
	// What was known of the caliper then, not what was found later.
	caliper, until := files.settings.Caliper.Name, a.until(only, d.Shifts)
	if d.Calibration, err = records.LastCalibration(ctx, caliper, until); err != nil {
		return d, err
	}
	if d.Checks, err = records.Checks(ctx, caliper, "", checksShown); err != nil {
		return d, err
	}
	d.Checks = slices.DeleteFunc(d.Checks, func(c metrology.Check) bool { return c.At.After(until) })
	slices.Reverse(d.Checks) // the newest came first
	account, err := records.Reconcile(ctx)
	d.Stock = account.Strings
	return d, err
}

// until is when a day or shift was certainly over: a day after it began, or now.
func (a *app) until(only bench.Selection, shifts []bench.Shift) time.Time {
	end := a.now()
	began, err := time.ParseInLocation(time.DateOnly, only.To, end.Location())
	switch {
	case err == nil:
	case len(shifts) > 0:
		began = shifts[len(shifts)-1].Started
	default:
		return end
	}
	if over := began.Add(24 * time.Hour); over.Before(end) {
		return over
	}
	return end
}

// shiftsOf returns the shifts of a selection, those without a bird too when
// they are asked for by name.
func shiftsOf(ctx context.Context, records *store.Store, only bench.Selection) ([]bench.Shift, error) {
	ids := []string{only.Shift}
	if only.Shift == "" {
		ids = nil
		if err := records.View(ctx, func(v *store.View) error {
			return v.Only(only).Rows(ctx, "shifts", []string{"id"}, func(values []any) error {
				ids = append(ids, fmt.Sprint(values[0]))
				return nil
			})
		}); err != nil {
			return nil, err
		}
	}
	var shifts []bench.Shift
	for _, id := range ids {
		shift, err := records.ShiftNamed(ctx, id)
		if err != nil {
			return nil, err
		}
		if shift != nil {
			shifts = append(shifts, *shift)
		}
	}
	return shifts, nil
}
