package main

import (
	"bytes"
	"slices"

	"github.com/spf13/cobra"

	"seamfit/internal/bench"
	"seamfit/internal/report"
	"seamfit/station"
)

func (a *app) cardsCommand() *cobra.Command {
	var out string
	cmd := &cobra.Command{
		Use:   "cards --out cards.html",
		Short: "Write command cards for the scanner",
		Long: `Write a sheet of command cards, bar codes that do at the station what a key does:
the next bird, the other bird, left the hand, a reading, complete. Print it at
100 %.`,
		Args: cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error {
			if out == "" {
				return usagef("--out is missing; name the file to write, like cards.html")
			}
			return a.cards(out)
		},
	}
	cmd.Flags().StringVar(&out, "out", "", "the new HTML file")
	return cmd
}

func (a *app) cards(out string) error {
	files, err := a.load()
	if err != nil {
		return err
	}
	cards := slices.DeleteFunc(bench.Cards(files.setup.Book, bench.State{Setup: files.setup}.Catalogue()), func(c bench.Card) bool { return !station.Obeys(c) })
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
