package main

import (
	"context"
	"errors"

	"github.com/spf13/cobra"

	"seamfit/internal/export"
	"seamfit/internal/store"
)

func (a *app) exportCommand() *cobra.Command {
	var as, out string
	cmd := &cobra.Command{
		Use:   "export --as csv --out FOLDER",
		Short: "Write the records as linked tables",
		Long: `Write the records as linked tables, one CSV file each (RFC 4180), into a new
folder. Rows of all tables are joined by the column handling, and within a
handling by seq. Nothing is rounded and nothing is left out.`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error { return a.export(cmd.Context(), as, out) },
	}
	cmd.Flags().StringVar(&as, "as", "csv", "form of the export: csv")
	cmd.Flags().StringVar(&out, "out", "", "the new folder")
	return cmd
}

func (a *app) export(ctx context.Context, as, out string) (err error) {
	if as != "csv" {
		return usagef("--as %q is unknown; use csv", as)
	}
	if out == "" {
		return usagef("--out is missing; name the folder to write into")
	}
	files, err := a.load()
	if err != nil {
		return err
	}
	records, err := a.openRecords(ctx, files.setup, true)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, records.Close()) }()
	if err := records.View(ctx, func(v *store.View) error { return export.CSV(ctx, v, out) }); err != nil {
		return err
	}
	if a.json() {
		return a.writeJSON(map[string]string{"as": as, "out": out})
	}
	return a.printf("exported to %s\n", out)
}
