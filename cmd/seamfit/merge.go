package main

import (
	"context"
	"errors"
	"maps"
	"os"
	"slices"

	"github.com/spf13/cobra"

	"seamfit/internal/store"
)

// mergeFlags are the flags of merge.
type mergeFlags struct {
	by, settle, reason string
	conflicts, retell  bool
}

func (a *app) mergeCommand() *cobra.Command {
	var f mergeFlags
	cmd := &cobra.Command{
		Use:   "merge FILE",
		Short: "Take in the records of another bench",
		Long: `Take in the records of another bench's FILE, which is verified first and never
changed. A copy of these records is made before. What is here already is left
alone: a second merge of the same file does nothing. The order of several files
makes no difference, except that of two that can't stand together the first stands.

Nothing is overwritten. Two birds under one number are both disputed; what can't
stand beside what is here (a string received twice, a bird's record continued
differently, a submission of the same place) is kept aside. Both are listed until
a person decides:

  merge --conflicts                     what waits for a decision
  merge --settle KEY --reason REASON    what stands here is true
  merge --settle KEY --retell --reason REASON
                                        and what the other bench told of the
                                        stock happened too: it is told again

A number on two birds is settled with bands settle.`,
		Args: cobra.MaximumNArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			switch asked := len(args) > 0; {
			case f.retell && f.settle == "":
				return usagef("--retell goes with --settle; name what is settled")
			case f.conflicts && !asked && f.settle == "":
				return a.mergeConflicts(cmd.Context())
			case f.settle != "" && !asked && !f.conflicts:
				return a.mergeSettle(cmd.Context(), f)
			case asked && !f.conflicts && f.settle == "":
				return a.merge(cmd.Context(), args[0], f)
			default:
				return usagef("merge takes either the file of another bench, or --conflicts, or --settle; see merge --help")
			}
		},
	}
	flags := cmd.Flags()
	flags.BoolVar(&f.conflicts, "conflicts", false, "list what waits for a decision")
	flags.StringVar(&f.settle, "settle", "", "the key, from --conflicts, of what is decided: what stands here is true")
	flags.BoolVar(&f.retell, "retell", false, "with --settle: tell again what the other bench told of the stock")
	flags.StringVar(&f.reason, "reason", "", "how that is known")
	flags.StringVar(&f.by, "by", "", "who does this (default: the last shift's bander)")
	return cmd
}

// withRecords opens the bench's own records to work with them.
func (a *app) withRecords(ctx context.Context, work func(benchFiles, *store.Store) error) (err error) {
	files, err := a.load()
	if err != nil {
		return err
	}
	records, err := a.openForWork(ctx, files.setup)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, records.Close()) }()
	return work(files, records)
}

func (a *app) merge(ctx context.Context, other string, f mergeFlags) error {
	return a.withRecords(ctx, func(files benchFiles, records *store.Store) (failed error) {
		by, err := person(ctx, f.by, records)
		if err != nil {
			return err
		}
		// A copy of records that stayed as they were must push no other out.
		kept, all := "", files.settings.Backup
		all.Keep = 0
		joined, err := records.Merge(ctx, other, store.Joining{ID: a.newID(), At: a.now(), By: by, Copy: func(ctx context.Context) (err error) {
			kept, err = backUp(ctx, records, all)
			return err
		}})
		switch changed := err == nil && len(joined.Added)+len(joined.Kept) > 0; {
		case changed:
			// The records are joined, whatever becomes of the older copies.
			defer func() { failed = errors.Join(failed, records.Prune(kept, files.settings.Backup.Keep)) }()
		case kept != "":
			err = errors.Join(err, os.Remove(kept))
			kept = ""
		}
		if err != nil {
			return err
		}
		conflicts, err := records.Conflicts(ctx)
		if err != nil {
			return err
		}
		if a.json() {
			return a.writeJSON(map[string]any{"added": joined.Added, "kept": joined.Kept, "backup": kept, "conflicts": conflicts})
		}
		if kept == "" {
			return errors.Join(a.printf("%s: nothing new in it\n", other), a.printConflicts(conflicts))
		}
		if err := a.printf("these records as they were: %s\n", kept); err != nil {
			return err
		}
		for _, list := range []struct {
			what string
			n    map[string]int
		}{{"taken in", joined.Added}, {"kept aside", joined.Kept}} {
			for _, kind := range slices.Sorted(maps.Keys(list.n)) {
				if err := a.printf("%s: %s %d\n", list.what, kind, list.n[kind]); err != nil {
					return err
				}
			}
		}
		return a.printConflicts(conflicts)
	})
}

func (a *app) mergeConflicts(ctx context.Context) error {
	return a.withRecords(ctx, func(_ benchFiles, records *store.Store) error {
		conflicts, err := records.Conflicts(ctx)
		if err != nil {
			return err
		}
		if a.json() {
			return a.writeJSON(map[string]any{"conflicts": conflicts})
		}
		if len(conflicts) == 0 {
			return a.printf("nothing waits for a decision\n")
		}
		return a.printConflicts(conflicts)
	})
}

func (a *app) mergeSettle(ctx context.Context, f mergeFlags) error {
	if err := shown("--reason", f.reason); err != nil {
		return err
	}
	if err := said("--reason", f.reason); err != nil {
		return err
	}
	return a.withRecords(ctx, func(_ benchFiles, records *store.Store) error {
		by, err := a.who(ctx, f.by, records)
		if err != nil {
			return err
		}
		left, err := records.SettleMerge(ctx, store.MergeSettlement{ID: a.newID(), Key: f.settle, At: a.now(), By: by, Reason: f.reason, Retell: f.retell})
		if err != nil {
			return err
		}
		if a.json() {
			return a.writeJSON(map[string]any{"settled": f.settle, "left": append([]string{}, left...)})
		}
		if err := a.printf("settled: %s\n", f.settle); err != nil {
			return err
		}
		for _, number := range left {
			if err := a.printf("left as it is: %s, to which that can't happen any more\n", number); err != nil {
				return err
			}
		}
		return nil
	})
}
