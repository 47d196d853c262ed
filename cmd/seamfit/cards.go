package main

import (
	"bytes"
	"fmt"

	"github.com/spf13/cobra"

	"seamfit/internal/bench"
	"seamfit/internal/report"
)

func (a *app) cardsCommand() *cobra.Command {
	var out, sizes string
	cmd := &cobra.Command{
		Use:   "cards --out cards.html",
		Short: "Write command cards for the scanner",
		Long: `Write a sheet of command cards, bar codes that tell the bench what was seen or
done, so that scanner and caliper alone can run it. Print it at 100 %.`,
		Args: cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error {
			if out == "" {
				return usagef("--out is missing; name the file to write, like cards.html")
			}
			return a.cards(out, sizes)
		},
	}
	cmd.Flags().StringVar(&out, "out", "", "the new HTML file")
	cmd.Flags().StringVar(&sizes, "catalogue", "", "the table of sizes (default: the settings')")
	return cmd
}

func (a *app) cards(out, sizes string) error {
	files, err := a.load()
	if err != nil {
		return err
	}
	if sizes == "" {
		sizes = files.setup.Catalogue
	}
	c, ok := files.setup.Book.Catalogue(sizes)
	if !ok {
		return fmt.Errorf("there is no catalogue %q; use one of %s", sizes, catalogueNames(files.setup.Book))
	}
	cards := bench.Cards(files.setup.Book, c)
	var page bytes.Buffer
	if err := report.WriteCards(&page, cards); err != nil {
		return err
	}
	if err := writeNew(out, page.Bytes()); err != nil {
		return err
	}
	if a.json() {
		return a.writeJSON(map[string]any{"out": out, "cards": len(cards)})
	}
	return a.printf("wrote %d cards to %s\n", len(cards), out)
}
