package main

import (
	"context"
	"fmt"
	"slices"

	"github.com/spf13/cobra"

	"seamfit/internal/bands"
	"seamfit/internal/store"
)

// reconcileFlags are the flags of bands reconcile.
type reconcileFlags struct {
	bandsFlags
}

func (a *app) reconcileCommand() *cobra.Command {
	var f reconcileFlags
	cmd := &cobra.Command{
		Use:   "reconcile [NUMBERS...]",
		Short: "Account for every number of every string",
		Long: `Account for every number of every string: each in exactly one state, adding up to
what was received; the doubtful ones with the reason; and what is elsewhere than
at the last count.

With numbers it is a physical count: they are the bands that are here, in stock or
opened, of the strings that they belong to. The count is kept, and its differences
are told.
` + numbersHelp,
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.withStock(cmd.Context(), f.bandsFlags, true, func(st stock) error { return a.reconcile(cmd.Context(), st, f, args) })
		},
	}
	f.add(cmd)
	return cmd
}

// reconciled is the result; numbers of a physical count are told beside.
type reconciled struct {
	store.Account
	Count *counted `json:"count,omitempty"`
}

// counted is what a physical count found: bands that are not here though they
// ought to be, and bands that are here though they ought not to.
type counted struct {
	Seen    int            `json:"seen"`
	Missing []string       `json:"missing"`
	Extra   []store.Change `json:"extra"`
	Doubled []string       `json:"doubled"` // counted more than once
	gaps    []bands.Run    // the missing ones, in runs
}

func (a *app) reconcile(ctx context.Context, st stock, f reconcileFlags, args []string) error {
	var count *counted
	if len(args) > 0 || f.from != "" {
		var err error
		if count, err = a.countStock(ctx, st, f, args); err != nil {
			return err
		}
	}
	account, err := st.records.Reconcile(ctx)
	if err != nil {
		return err
	}
	if count != nil {
		account.Balanced = account.Balanced && len(count.Missing)+len(count.Extra) == 0
	}
	if a.json() {
		return a.writeJSON(reconciled{account, count})
	}
	return a.printAccount(st.files.setup.Pattern, account, count)
}

// countStock keeps a physical count and compares it with the records.
func (a *app) countStock(ctx context.Context, st stock, f reconcileFlags, args []string) (*counted, error) {
	runs, err := a.numbersGiven(st.files.setup.Pattern, args, f.from)
	if err != nil {
		return nil, err
	}
	seen := numbersOf(runs)
	e := store.StockEvent{Kind: bands.EventCounted, Numbers: seen, At: st.at, Entered: st.entered, By: st.by}
	if err := st.records.Record(ctx, []store.StockEvent{e}); err != nil {
		return nil, err
	}
	strings, err := st.records.NumbersBeside(ctx, seen)
	if err != nil {
		return nil, err
	}
	slices.Sort(seen)
	count := &counted{Missing: []string{}, Extra: []store.Change{}, Doubled: []string{}}
	for i := 1; i < len(seen); i++ {
		if seen[i] == seen[i-1] && !slices.Contains(count.Doubled, seen[i]) {
			count.Doubled = append(count.Doubled, seen[i])
		}
	}
	seen = slices.Compact(seen)
	count.Seen = len(seen)
	var missing []bands.Number
	for _, n := range strings {
		_, here := slices.BinarySearch(seen, n.Number)
		switch ought := n.State.Usable(); {
		case ought && !here:
			count.Missing = append(count.Missing, n.Number)
			if number, err := st.files.setup.Pattern.Parse(n.Number); err == nil {
				missing = append(missing, number)
			}
		case here && !ought:
			count.Extra = append(count.Extra, store.Change{Number: n.Number, Seen: true, State: n.State})
		}
	}
	count.gaps = bands.Runs(missing)
	return count, nil
}

func (a *app) printAccount(pattern *bands.Pattern, account store.Account, count *counted) error {
	if err := a.printStrings(account.Strings); err != nil {
		return err
	}
	for _, d := range account.Doubts {
		if err := a.printf("doubtful: %s, %s\n", d.Number, d.Why); err != nil {
			return err
		}
	}
	if count != nil {
		if err := a.printCount(*count); err != nil {
			return err
		}
	} else {
		if err := a.printChanges(pattern, account.Changed); err != nil {
			return err
		}
	}
	if account.Balanced {
		return a.printf("balanced: every number is accounted for\n")
	}
	return a.printf("NOT BALANCED: see the doubtful numbers and the count\n")
}

// printChanges prints what is elsewhere than at the last count, numbers that follow
// one another and are alike in one line.
func (a *app) printChanges(pattern *bands.Pattern, changes []store.Change) error {
	line := func(numbers string, c store.Change) error {
		was := "not seen"
		if c.Seen {
			was = "seen"
		}
		return a.printf("since the last count: %s, %s then, is %s\n", numbers, was, string(c.State))
	}
	var alike []bands.Number
	for i, c := range changes {
		if number, err := pattern.Parse(c.Number); err == nil {
			alike = append(alike, number)
		} else if err := line(c.Number, c); err != nil { // received under another pattern
			return err
		}
		if i+1 < len(changes) && changes[i+1].Seen == c.Seen && changes[i+1].State == c.State {
			continue
		}
		for _, run := range bands.Runs(alike) {
			numbers := run.First().String()
			if run.Count() > 1 {
				numbers = fmt.Sprintf("%s (%d)", run, run.Count())
			}
			if err := line(numbers, c); err != nil {
				return err
			}
		}
		alike = nil
	}
	return nil
}

func (a *app) printCount(c counted) error {
	if err := a.printf("counted: %d\n", c.Seen); err != nil {
		return err
	}
	for _, run := range c.gaps {
		if err := a.printf("not here, and ought to be: %s (%d)\n", run, run.Count()); err != nil {
			return err
		}
	}
	for _, number := range c.Doubled {
		if err := a.printf("counted more than once: %s\n", number); err != nil {
			return err
		}
	}
	for _, e := range c.Extra {
		if err := a.printf("here, and by the records %s: %s\n", string(e.State), e.Number); err != nil {
			return err
		}
	}
	return nil
}

func (a *app) printStrings(strings []bands.StringCount) error {
	if len(strings) == 0 {
		return a.printf("no string has been received\n")
	}
	if err := a.printf("%-26s %-8s %-16s %8s %8s %6s %7s %9s %5s %8s %8s %8s\n", "string", "size", "metal",
		"received", "in stock", "opened", "on bird", "destroyed", "lost", "rejected", "returned", "doubtful"); err != nil {
		return err
	}
	for _, s := range strings {
		if err := a.printf("%-26s %-8s %-16s %8d %8d %6d %7d %9d %5d %8d %8d %8d\n", fmt.Sprintf("%s to %s", s.First, s.Last), s.Size, s.Metal,
			s.Received, s.InStock, s.Opened, s.OnBird, s.Destroyed, s.Lost, s.Rejected, s.Returned, len(s.Doubtful)); err != nil {
			return err
		}
	}
	return nil
}
