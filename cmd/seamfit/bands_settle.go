package main

import (
	"context"
	"fmt"
	"slices"

	"github.com/spf13/cobra"

	"seamfit/internal/bands"
	"seamfit/internal/bench"
)

// settleFlags are the flags of bands settle.
type settleFlags struct {
	bandsFlags
	slip   int64
	record string
}

func (a *app) settleCommand() *cobra.Command {
	var f settleFlags
	cmd := &cobra.Command{
		Use:   "settle NUMBER [NUMBER] --reason REASON",
		Short: "Settle records whose numbers stand against one another",
		Long: `Settle records whose numbers stand against one another, in one transaction:

  settle A B            the records of A and B swap their numbers
  settle A..F --slip 1  the numbers of a run that slipped by one are moved on
  settle A              the record of A keeps its number, freed of the dispute
  settle A B --record R of several records of A, the one named R has B

Nothing is settled while one of the records would still be disputed.`,
		Args: cobra.RangeArgs(1, 2),
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.withStock(cmd.Context(), f.bandsFlags, true, func(st stock) error { return a.settle(cmd.Context(), st, f, args) })
		},
	}
	flags := cmd.Flags()
	flags.StringVar(&f.by, "by", "", "who settles it (default: the last shift's bander)")
	flags.StringVar(&f.reason, "reason", "", "how it is known which band is on which bird")
	flags.Int64Var(&f.slip, "slip", 0, "by how many places the numbers are moved")
	flags.StringVar(&f.record, "record", "", "the one record meant, of several with that number, as merge --conflicts names it")
	return cmd
}

func (a *app) settle(ctx context.Context, st stock, f settleFlags, args []string) error {
	if err := said("--reason", f.reason); err != nil {
		return err
	}
	from, to, err := settledNumbers(st.files.setup.Pattern, args, f.slip)
	if err != nil {
		return err
	}
	if f.record != "" {
		if f.slip != 0 || len(args) != 2 {
			return usagef("--record goes with two numbers: the one in that record, and the one that is true")
		}
		from, to = from[:1], to[:1]
	}
	c := bench.Settle{When: bench.When{At: st.at, Entered: st.entered, By: st.by}, ID: a.newID(), Reason: f.reason}
	for i, was := range from {
		claimants, err := st.claimants(ctx, was, f, len(from) == 1)
		if err != nil {
			return err
		}
		for _, id := range claimants {
			h, err := st.records.Load(ctx, id)
			if err != nil {
				return err
			}
			standing, err := st.records.Standing(ctx, to[i].String())
			if err != nil {
				return err
			}
			c.Records = append(c.Records, bench.Renumbering{Handling: h, Was: was.String(), Number: to[i].String(), Standing: standing})
		}
	}
	_, facts, blockers := bench.Apply(bench.State{Setup: st.files.setup}, c)
	if len(blockers) > 0 {
		return fmt.Errorf("not settled: %s", blockers[0].Mend)
	}
	if err := st.records.Save(ctx, facts); err != nil {
		return err
	}
	if a.json() {
		return a.writeJSON(map[string]any{"settled": len(c.Records)})
	}
	for i, was := range from {
		if err := a.printf("settled: the record of %s has %s\n", was.String(), to[i].String()); err != nil {
			return err
		}
	}
	return nil
}

// claimants returns the records that a number is settled in: one, unless it is
// freed of its dispute alone.
func (st stock) claimants(ctx context.Context, was bands.Number, f settleFlags, alone bool) ([]string, error) {
	claimants, err := st.records.Claimants(ctx, was.String())
	switch {
	case err != nil:
		return nil, err
	case len(claimants) == 0:
		return nil, fmt.Errorf("%v is in no bird's record; read it again", was)
	case f.record != "" && !slices.Contains(claimants, f.record):
		return nil, fmt.Errorf("the record %s has no number %v; take the record from merge --conflicts", f.record, was)
	case f.record != "":
		return []string{f.record}, nil
	case len(claimants) > 1 && (f.slip != 0 || !alone):
		return nil, fmt.Errorf("%v is in %d records; tell one of them another number first, at its bird or with --record, and the reason", was, len(claimants))
	}
	return claimants, nil
}

// settledNumbers says which number each record has and which it ought to have.
func settledNumbers(pattern *bands.Pattern, args []string, slip int64) (from, to []bands.Number, err error) {
	if len(args) == 2 {
		if slip != 0 {
			return nil, nil, usagef("--slip moves one run; give it as one argument, like 888-88801..806")
		}
		if from, err = numbersListed(pattern, args); err != nil {
			return nil, nil, err
		}
		return from, []bands.Number{from[1], from[0]}, nil
	}
	r, err := parseRun(pattern, args[0])
	if err != nil {
		return nil, nil, err
	}
	for n := range r.All() {
		moved, err := n.Plus(slip)
		if err != nil {
			return nil, nil, err
		}
		from, to = append(from, n), append(to, moved)
	}
	return from, to, nil
}
