package main

import (
	"bytes"
	"fmt"

	"github.com/spf13/cobra"

	"seamfit/internal/catalogue"
	"seamfit/internal/report"
)

func (a *app) sheetCommand() *cobra.Command {
	var out string
	var pages int
	cmd := &cobra.Command{
		Use:   "sheet --out sheet.html",
		Short: "Write a sheet of paper for when there is no power",
		Long: `Write a sheet of paper that asks for what the station asks for, with the readings
and further measures of the settings. Print it on A4 across; afterwards it is
typed in with seamfit station --late.`,
		Args: cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error {
			if out == "" {
				return usagef("--out is missing; name the file to write, like sheet.html")
			}
			return a.sheet(out, pages)
		},
	}
	cmd.Flags().StringVar(&out, "out", "", "the new HTML file")
	cmd.Flags().IntVar(&pages, "pages", 1, "how many pages, of ten birds each")
	return cmd
}

func (a *app) sheet(out string, pages int) error {
	files, err := a.load()
	if err != nil {
		return err
	}
	s := report.Sheet{
		Bench: files.settings.Bench.Name, Readings: files.settings.Bench.Readings,
		Findings: findingsByLetter(files.setup.Book), Closures: files.setup.Book.Closures, Pages: pages,
	}
	for _, m := range files.settings.Measure.Further {
		s.Further = append(s.Further, m.Name+", "+m.Unit)
	}
	var page bytes.Buffer
	if err := report.WriteSheet(&page, s); err != nil {
		return err
	}
	if err := writeNew(out, page.Bytes()); err != nil {
		return err
	}
	if a.json() {
		return a.writeJSON(map[string]any{"out": out, "pages": pages})
	}
	return a.printf("wrote the sheet to %s, pages: %d\n", out, pages)
}

// findingsByLetter returns what a look finds, each with the letter that stands
// for it at the station too.
func findingsByLetter(book *catalogue.Book) []string {
	letters := findingLetters(book)
	list := []string{"f flush"}
	for _, f := range book.Findings {
		list = append(list, fmt.Sprintf("%c %s", letters[f.ID], f.Name))
	}
	return list
}
