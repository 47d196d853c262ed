package main

import (
	"bytes"

	"github.com/spf13/cobra"

	"seamfit/internal/report"
)

func (a *app) labelsCommand() *cobra.Command {
	var numbers, out string
	cmd := &cobra.Command{
		Use:   "labels --string FIRST..LAST --out labels.html",
		Short: "Write bar-code labels for numbers",
		Long: `Write a page of Code 128 labels, one for each number in order, so that a band
taken from its tubing is scanned and not typed. Print it at 100 %.`,
		Args: cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error {
			switch {
			case numbers == "":
				return usagef("--string is missing; name the numbers, like 1236-56701..56800")
			case out == "":
				return usagef("--out is missing; name the file to write, like labels.html")
			}
			return a.labels(numbers, out)
		},
	}
	cmd.Flags().StringVar(&numbers, "string", "", "the numbers, first to last")
	cmd.Flags().StringVar(&out, "out", "", "the new HTML file")
	return cmd
}

func (a *app) labels(numbers, out string) error {
	files, err := a.load()
	if err != nil {
		return err
	}
	run, err := files.setup.Pattern.ParseRun(numbers)
	if err != nil {
		return err
	}
	var page bytes.Buffer
	if err := report.WriteLabels(&page, run); err != nil {
		return err
	}
	if err := writeNew(out, page.Bytes()); err != nil {
		return err
	}
	if a.json() {
		return a.writeJSON(map[string]any{"out": out, "labels": run.Count()})
	}
	return a.printf("wrote %d labels to %s\n", run.Count(), out)
}
