package main

import (
	"context"
	"errors"

	"github.com/spf13/cobra"

	"seamfit/internal/store"
)

func (a *app) verifyCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "verify",
		Short: "Look for anything wrong in the records",
		Long: `Look for anything wrong in the records: the file's structure, its guards, the
digests by which a changed fact is found, and what must hold of every record.
Nothing is changed: a file of an earlier program is read through a copy that has
been brought to this one's schema. The exit code is 1 when something is found.`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error { return a.verify(cmd.Context()) },
	}
}

// errFound ends a verification that found something; what, is printed before.
var errFound = errors.New("the records are not whole; keep the file as it is and restore the last backup")

func (a *app) verify(ctx context.Context) error {
	path, err := a.recordsFile()
	if err != nil {
		return err
	}
	findings := []store.Finding{}
	if err := a.findings(ctx, path, func(f store.Finding) error {
		findings = append(findings, f)
		if a.json() {
			return nil
		}
		return a.printf("%s: %s\n", f.What, f.Where)
	}); err != nil {
		return err
	}
	if a.json() {
		if err := a.writeJSON(map[string]any{"ok": len(findings) == 0, "findings": findings}); err != nil {
			return err
		}
	} else if len(findings) == 0 {
		if err := a.printf("%s: nothing wrong was found\n", path); err != nil {
			return err
		}
	}
	if len(findings) > 0 {
		return errFound
	}
	return nil
}

// findings calls found for each thing that is wrong in a file. That the file
// can't be opened because it is not whole is one of them.
func (a *app) findings(ctx context.Context, path string, found func(store.Finding) error) (err error) {
	records, err := store.OpenReadOnly(ctx, path, store.Options{EitherKind: true, Now: a.now}, true)
	var told *store.Error
	if (errors.Is(err, store.ErrDamaged) || errors.Is(err, store.ErrTampered)) && errors.As(err, &told) {
		return found(store.Finding{What: "the file can't be opened", Where: told.Err.Error()})
	}
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, records.Close()) }()
	return records.Verify(ctx, found)
}
