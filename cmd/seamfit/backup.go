package main

import (
	"context"
	"errors"
	"path/filepath"

	"github.com/spf13/cobra"

	"seamfit/internal/settings"
	"seamfit/internal/store"
)

func (a *app) backupCommand() *cobra.Command {
	var keep int
	var from string
	cmd := &cobra.Command{
		Use:   "backup [FOLDER]",
		Short: "Copy the records, or restore them from a copy",
		Long: `Copy the records to FOLDER (default: as the settings say), also while the station
runs. The copy is named by the time and the database, and is verified and on the
disk before it has its name; then the oldest copies beyond --keep go.

With --restore FILE the records are replaced by that copy, which is verified
first. What was there is kept beside it under another name.`,
		Args: cobra.MaximumNArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			if cmd.Flags().Changed("restore") {
				if from == "" {
					return usagef("--restore names no copy; give its file")
				}
				if len(args) > 0 || cmd.Flags().Changed("keep") {
					return usagef("--restore goes with neither a folder nor --keep; name only the copy")
				}
				return a.restore(cmd.Context(), from)
			}
			s, err := a.loadSettings()
			if err != nil {
				return err
			}
			if cmd.Flags().Changed("keep") {
				s.Backup.Keep = keep
			}
			if s.Backup.Keep < 0 {
				return usagef("--keep %d is out of range; use 0 to keep all, or a number of copies", keep)
			}
			if len(args) > 0 {
				s.Backup.Folder = args[0]
			}
			return a.backup(cmd.Context(), s.Backup)
		},
	}
	flags := cmd.Flags()
	flags.IntVar(&keep, "keep", 0, "copies to keep, 0 = all (default: as the settings say)")
	flags.StringVar(&from, "restore", "", "the copy that the records are restored from")
	return cmd
}

func (a *app) backup(ctx context.Context, to settings.Backup) (err error) {
	path, err := a.recordsFile()
	if err != nil {
		return err
	}
	records, err := store.OpenReadOnly(ctx, path, store.Options{EitherKind: true, Now: a.now}, true)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, records.Close()) }()
	copied, err := backUp(ctx, records, to)
	if err != nil {
		return err
	}
	if a.json() {
		return a.writeJSON(map[string]any{"path": copied, "verified": true})
	}
	return a.printf("%s: copied and verified\n", copied)
}

// backUp copies open records as the settings say, and returns the copy's name.
func backUp(ctx context.Context, records *store.Store, to settings.Backup) (string, error) {
	folder := to.Folder
	if folder == "" {
		folder = filepath.Join(filepath.Dir(records.Path()), "backups")
	}
	return records.Backup(ctx, folder, to.Keep)
}

func (a *app) restore(ctx context.Context, from string) error {
	path, err := a.recordsFile()
	if err != nil {
		return err
	}
	kept, err := store.Restore(ctx, path, from, store.Options{EitherKind: true, Now: a.now})
	if err != nil {
		return err
	}
	if a.json() {
		return a.writeJSON(map[string]any{"path": path, "from": from, "kept": kept})
	}
	if err := a.printf("%s: verified, and restored to %s\n", from, path); err != nil || kept == "" {
		return err
	}
	return a.printf("what was there is kept as %s\n", kept)
}
