package main

import (
	"context"
	"errors"
	"strings"

	"github.com/spf13/cobra"

	"seamfit/internal/bands"
	"seamfit/internal/length"
	"seamfit/internal/store"
)

func (a *app) showBandsCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "show [NUMBER]",
		Short: "Show the stock, or all that the records tell of a number",
		Long: `Show the strings of the stock; or, for a number, its whole history. Write ? for
each digit that can't be read: all numbers are listed that it could be.`,
		Args: cobra.MaximumNArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.withStock(cmd.Context(), bandsFlags{}, true, func(st stock) error {
				if len(args) == 0 {
					return a.showStock(cmd.Context(), st)
				}
				return a.showNumber(cmd.Context(), st, args[0])
			})
		},
	}
}

func (a *app) showStock(ctx context.Context, st stock) error {
	account, err := st.records.Reconcile(ctx)
	if err != nil {
		return err
	}
	if a.json() {
		return a.writeJSON(map[string]any{"strings": account.Strings})
	}
	return a.printStrings(account.Strings)
}

func (a *app) showNumber(ctx context.Context, st stock, text string) error {
	read, err := st.files.setup.Pattern.Read(text)
	if err != nil {
		return err
	}
	histories, err := numbersRead(ctx, st.records, read)
	if err != nil {
		return err
	}
	if a.json() {
		return a.writeJSON(map[string]any{"numbers": histories})
	}
	if len(histories) == 0 {
		st, err := st.records.Standing(ctx, string(read))
		if err != nil || st.Meant == "" {
			return errors.Join(err, a.printf("%s: not in the records\n", string(read)))
		}
		return a.printf("%s: not in the records; is it %s (%s)?\n", string(read), st.Meant, string(bands.SlipBetween(string(read), st.Meant)))
	}
	for _, h := range histories {
		if err := a.printHistory(ctx, st, h); err != nil {
			return err
		}
	}
	return nil
}

// numbersRead returns what the records tell of each number that an inscription
// could be.
func numbersRead(ctx context.Context, records *store.Store, read bands.Inscription) ([]store.NumberHistory, error) {
	numbers := []string{string(read)}
	if !read.Complete() {
		var err error
		if numbers, err = records.NumbersLike(ctx, read); err != nil {
			return nil, err
		}
	}
	histories := []store.NumberHistory{}
	for _, number := range numbers {
		h, err := records.NumberHistory(ctx, number)
		if err != nil {
			return nil, err
		}
		if len(h.Entries) > 0 {
			histories = append(histories, h)
		}
	}
	return histories, nil
}

// entryWords write one thing that the records tell of a number.
func entryWords(e store.NumberEntry) string {
	what := e.What
	if e.Detail != "" {
		what += ": " + e.Detail
	}
	if e.Species != "" {
		what += ", " + e.Species
	}
	if e.Leg != "" {
		what += ", " + e.Leg + " leg"
	}
	return what + "  (" + orDash(e.By) + ")"
}

func (a *app) printHistory(ctx context.Context, st stock, h store.NumberHistory) error {
	parts := []string{orDash(string(h.State))}
	if h.Size != "" {
		parts = append(parts, "size "+h.Size, h.Metal)
	}
	if h.Holder != "" && h.State == bands.Opened {
		parts = append(parts, "issued to "+h.Holder)
	}
	if err := a.printf("%s  %s\n", h.Number, strings.Join(parts, ", ")); err != nil {
		return err
	}
	for _, e := range h.Entries {
		if err := a.printf("  %s  %s\n", e.At.Format("2006-01-02 15:04"), entryWords(e)); err != nil {
			return err
		}
	}
	measures, err := st.records.LastMeasures(ctx, h.Number)
	if err != nil {
		return err
	}
	for _, m := range []struct {
		name   string
		values []length.Length
	}{{"outer diameter", measures.Outer}, {"height", measures.Height}, {"thickness", measures.Thickness}} {
		if len(m.values) == 0 {
			continue
		}
		if err := a.printf("  its string: %s %s mm, mean of %d\n", m.name, length.Mean(m.values).Format(length.MM, 3), len(m.values)); err != nil {
			return err
		}
	}
	return nil
}
