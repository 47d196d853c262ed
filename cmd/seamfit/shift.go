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

func (a *app) shiftCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "shift",
		Short: "Show or close the shift",
		Args:  cobra.NoArgs,
		RunE:  func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	var f bandsFlags
	var note string
	var strict bool
	show := &cobra.Command{
		Use:   "show",
		Short: "Show what the last shift came to, and what is open",
		Args:  cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return a.withStock(cmd.Context(), bandsFlags{}, true, func(st stock) error { return a.showShift(cmd.Context(), st) })
		},
	}
	closing := &cobra.Command{
		Use:   "close",
		Short: "Close the last shift",
		Long: `Close the last shift. It is refused while a bird of it has no fate yet; what else
is open (closures unconfirmed, escapes, disputes, numbers not accounted for) is
listed, stays open, and closes with its own reason. Then the records are copied to the
folder that the settings name under [backup], and the copy is verified.

With --strict it fails, after all that, while anything is open.`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return a.withStock(cmd.Context(), f, true, func(st stock) error { return a.closeShift(cmd.Context(), st, note, strict) })
		},
	}
	closing.Flags().StringVar(&f.by, "by", "", "who closes it (default: its bander)")
	closing.Flags().StringVar(&f.at, "at", "", "when, like 2026-05-17T11:00:00+02:00 (default: now)")
	closing.Flags().StringVar(&note, "note", "", "anything worth keeping about the shift")
	closing.Flags().BoolVar(&strict, "strict", false, "fail, once it is closed, while any matter is open")
	cmd.AddCommand(show, closing)
	return cmd
}

// shiftTold is a shift as a tool reads it.
type shiftTold struct {
	Place  string       `json:"place"`
	Bander string       `json:"bander"`
	Scribe string       `json:"scribe"`
	Permit string       `json:"permit"`
	People bench.People `json:"people"`
	// Position, Watch and ClockBehindS are null where they were not told.
	Position     *bench.Point       `json:"position"`
	Watch        *bench.WatchCheck  `json:"watch"`
	ClockBehindS *float64           `json:"clock_behind_s"` // behind that watch
	Instruments  []bench.Instrument `json:"instruments"`
	Started      time.Time          `json:"started"`
	Closed       *time.Time         `json:"closed"` // null: open
	Count        store.ShiftCount   `json:"count"`
	Open         []store.OpenMatter `json:"open"`
	Numbers      *store.Account     `json:"numbers"` // null: no stock is kept
	Backup       string             `json:"backup"`  // the copy made when it was closed; empty: none
	details      []string           // the same in words
}

// tellShift reads what the last shift came to.
func (st stock) tellShift(ctx context.Context) (*bench.Shift, shiftTold, error) {
	told := shiftTold{Open: []store.OpenMatter{}}
	sh, err := st.records.LastShift(ctx)
	if err != nil {
		return nil, told, err
	}
	if sh == nil {
		return nil, told, errors.New("no shift has been opened in these records; open one at the station")
	}
	told.tellDetails(*sh)
	told.Place, told.Bander, told.Scribe, told.Permit, told.Started = sh.Place, sh.Bander, sh.Scribe, sh.Permit, sh.Started
	closed, err := st.records.Closed(ctx, sh.ID)
	if err != nil {
		return nil, told, err
	}
	if !closed.IsZero() {
		told.Closed = &closed
	}
	if told.Count, err = st.records.CountShift(ctx, sh.ID); err != nil {
		return nil, told, err
	}
	open, err := st.records.OpenMatters(ctx, sh.ID)
	if err != nil {
		return nil, told, err
	}
	told.Open = append(told.Open, open...)
	account, err := st.records.Reconcile(ctx)
	if len(account.Strings) > 0 {
		told.Numbers = &account
	}
	return sh, told, err
}

func (a *app) showShift(ctx context.Context, st stock) error {
	_, told, err := st.tellShift(ctx)
	if err != nil {
		return err
	}
	if a.json() {
		return a.writeJSON(told)
	}
	return a.printShift(st.files.setup.Pattern, told)
}

func (a *app) closeShift(ctx context.Context, st stock, note string, strict bool) error {
	if !printable(note) {
		return usagef("--note holds a character that can't be seen; write it again without")
	}
	sh, told, err := st.tellShift(ctx)
	if err != nil {
		return err
	}
	if told.Closed != nil {
		return fmt.Errorf("the shift at %s is closed since %s; open the next one at the station", told.Place, told.Closed.Format("2006-01-02 15:04"))
	}
	err = st.records.CloseShift(ctx, sh.ID, st.at, st.by, strings.TrimSpace(note))
	if errors.Is(err, bench.ErrRefused) {
		waiting := 0
		for _, m := range told.Open {
			if strings.HasPrefix(m.Matter, "open: ") {
				waiting++
			}
		}
		if !a.json() {
			if err := a.printMatters(told.Open); err != nil {
				return err
			}
		}
		return fmt.Errorf("%d of the shift's birds have no fate yet; tell at the station how each left the hand, then close", waiting)
	}
	if err != nil {
		return err
	}
	told.Closed = &st.at
	copied, failed := backUp(ctx, st.records, st.files.settings.Backup)
	if failed != nil {
		failed = fmt.Errorf("the shift is closed, and its backup failed: %w", failed)
	}
	told.Backup = copied
	if a.json() {
		err = a.writeJSON(told)
	} else {
		err = a.printShift(st.files.setup.Pattern, told)
	}
	if err := errors.Join(err, failed); err != nil {
		return err
	}
	if n := told.waiting(); strict && n > 0 {
		return fmt.Errorf("the shift is closed, with open matters: %d; settle them at the station or with seamfit bands", n)
	}
	return nil
}

func (a *app) printShift(pattern *bands.Pattern, told shiftTold) error {
	state := "open"
	if told.Closed != nil {
		state = "closed " + told.Closed.Format("2006-01-02 15:04")
	}
	if err := a.printf("%s, from %s, %s\nbander %s, scribe %s, permit %s\n", told.Place,
		told.Started.Format("2006-01-02 15:04"), state, told.Bander, orDash(told.Scribe), orDash(told.Permit)); err != nil {
		return err
	}
	for _, line := range told.details {
		if err := a.printf("%s\n", line); err != nil {
			return err
		}
	}
	if err := a.printf("birds %d, complete %d", told.Count.Birds, told.Count.Complete); err != nil {
		return err
	}
	if n := told.Count.Resolved; n > 0 {
		if err := a.printf(", resolved %d", n); err != nil {
			return err
		}
	}
	for _, fate := range bench.Fates() {
		if n := told.Count.Fates[string(fate)]; n > 0 {
			if err := a.printf(", %s %d", fate.Words(), n); err != nil {
				return err
			}
		}
	}
	if err := a.printf("\n"); err != nil {
		return err
	}
	if err := a.printMatters(told.Open); err != nil {
		return err
	}
	if told.Backup != "" {
		if err := a.printf("copied and verified: %s\n", told.Backup); err != nil {
			return err
		}
	}
	if told.Numbers == nil {
		return a.printf("no stock of numbers is kept\n")
	}
	return a.printAccount(pattern, *told.Numbers, nil)
}

func (a *app) printMatters(open []store.OpenMatter) error {
	if len(open) == 0 {
		return a.printf("nothing is open\n")
	}
	for _, m := range open {
		if err := a.printf("OPEN  %s  %s  %s, %s: %s\n", orDash(m.Species), orDash(m.Number), m.Opened.Format("2006-01-02 15:04"), m.Place, m.Matter); err != nil {
			return err
		}
	}
	return nil
}
