package main

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"seamfit/internal/bands"
	"seamfit/internal/bench"
	"seamfit/internal/store"
)

// bandsFlags are the flags that the commands of the stock share.
type bandsFlags struct {
	from, by, at, reason string
}

func (f *bandsFlags) add(cmd *cobra.Command) {
	cmd.Flags().StringVar(&f.from, "from", "", `a CSV file with the column numbers ("-" for standard input)`)
	cmd.Flags().StringVar(&f.by, "by", "", "who says so (default: the last shift's bander)")
	cmd.Flags().StringVar(&f.at, "at", "", "when, like 2026-05-17 or 2026-05-17T06:30:00+02:00 (default: now)")
}

const numbersHelp = `
Numbers are given as arguments, each one number or a run: 888-88801,
"888-88801..900", "888-88801 to 888-88900", "888-88801 100"; as a CSV file with
--from; or, with the argument -, a line each on standard input, as a scanner
sends them. All of it is done, or none.`

func (a *app) bandsCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "bands",
		Short: "Keep the stock of band numbers",
		Long:  "Keep the stock of band numbers: each is in exactly one state, from receipt to its bird.",
		Args:  cobra.NoArgs,
		RunE:  func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	cmd.AddCommand(a.receiveCommand(), a.inspectCommand(), a.openCommand(), a.tellCommand(), a.showBandsCommand(),
		a.reconcileCommand(), a.settleCommand(), a.planCommand(), a.labelsCommand())
	return cmd
}

// stock is what a command of the stock works with.
type stock struct {
	files   benchFiles
	records *store.Store
	by      string
	at      time.Time
	entered time.Time
}

// withStock opens the records, works with them, and closes them.
func (a *app) withStock(ctx context.Context, f bandsFlags, mustExist bool, work func(stock) error) (err error) {
	files, err := a.load()
	if err != nil {
		return err
	}
	st := stock{files: files, by: bands.Holder(f.by), entered: a.now()}
	if st.at, err = a.when(f.at); err != nil {
		return err
	}
	if text := f.by + f.reason; !printable(text) {
		return usagef("%q holds a character that can't be seen; write it again without", text)
	}
	st.records, err = a.openRecords(ctx, files.setup, mustExist)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, st.records.Close()) }()
	if st.by == "" {
		last, err := st.records.LastShift(ctx)
		if err != nil {
			return err
		}
		if last != nil {
			st.by = last.Bander
		}
	}
	return work(st)
}

// when reads a time as the flags take it.
func (a *app) when(text string) (time.Time, error) {
	now := a.now()
	if text == "" {
		return now, nil
	}
	for _, layout := range []string{time.RFC3339, "2006-01-02T15:04", "2006-01-02 15:04", time.DateOnly} {
		if t, err := time.ParseInLocation(layout, text, now.Location()); err == nil {
			return t, nil
		}
	}
	return now, usagef("--at %q is no time; write it like 2026-05-17 or 2026-05-17T06:30:00+02:00", text)
}

// sizeAndMetal checks a size and a metal against the catalogue in use, and
// returns them as it writes them.
func (st stock) sizeAndMetal(size, metal string) (label, name string, err error) {
	state := bench.State{Setup: st.files.setup}
	s, ok := state.Catalogue().Size(size)
	if !ok {
		return "", "", fmt.Errorf("the catalogue %s has no size %q; name one of its sizes, or another catalogue in the settings", state.Catalogue().Name, size)
	}
	m, ok := st.files.setup.Book.Metal(metal)
	if !ok {
		return "", "", fmt.Errorf("no metal %q is known; say aluminium, stainless steel, incoloy, monel or titanium", metal)
	}
	return s.Label, m.Name, nil
}

// recordEvent records an event of numbers and says so.
func (a *app) recordEvent(ctx context.Context, st stock, e store.StockEvent, runs []bands.Run) error {
	e.At, e.Entered, e.By = st.at, st.entered, st.by
	e.Numbers = numbersOf(runs)
	if err := st.records.Record(ctx, []store.StockEvent{e}); err != nil {
		return err
	}
	return a.sayNumbers(string(e.Kind), runs)
}

func (a *app) sayNumbers(what string, runs []bands.Run) error {
	if a.json() {
		return a.writeJSON(map[string]any{"event": what, "numbers": numbersOf(runs)})
	}
	for _, r := range runs {
		if err := a.printf("%s: %s (%d)\n", what, r.String(), r.Count()); err != nil {
			return err
		}
	}
	return nil
}

func numbersOf(runs []bands.Run) []string {
	numbers := []string{}
	for _, r := range runs {
		for n := range r.All() {
			numbers = append(numbers, n.String())
		}
	}
	return numbers
}

func printable(text string) bool {
	return !strings.ContainsFunc(text, func(r rune) bool { return r < ' ' || r == 0x7f || (r >= 0x80 && r < 0xa0) || r == '\ufffd' })
}
