package main

import (
	"errors"
	"fmt"
	"os"

	"github.com/spf13/cobra"

	"seamfit/internal/catalogue"
)

func (a *app) catalogueCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "catalogue",
		Short: "Show the tables of sizes and species, check a file of your own, bring in an office's list",
		Long: `Show the tables of band sizes and species, check a file of your own, or bring in
an office's list. Your own files are laid over the embedded tables in the order
in which the settings name them (catalogue_files).`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	cmd.AddCommand(a.catalogueShowCommand(), a.catalogueCheckCommand(), a.catalogueImportCommand())
	return cmd
}

// readFile reads a whole file that a command names.
func readFile(path string) ([]byte, error) {
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, fmt.Errorf("%w; check the file's name", err)
	}
	return data, nil
}

// writeNew writes a file that must not be there yet: nothing of the user's is
// written over. When it fails, no file is left.
func writeNew(path string, data []byte) (err error) {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if errors.Is(err, os.ErrExist) {
		return fmt.Errorf("%s is there already and is not written over; name another file", path)
	}
	if err != nil {
		return fmt.Errorf("%w; check the folder", err)
	}
	defer func() {
		if err != nil {
			err = errors.Join(fmt.Errorf("%w; make room on the disk and try again", err), os.Remove(path))
		}
	}()
	if _, err := f.Write(data); err != nil {
		return errors.Join(err, f.Close())
	}
	if err := f.Sync(); err != nil {
		return errors.Join(err, f.Close())
	}
	return f.Close()
}

// trust says how far a row can be trusted, and where it comes from.
func trust(mark catalogue.Mark, source string) string {
	if advice := mark.Advice(); advice != "" {
		return advice
	}
	return string(mark) + ": " + source
}
