package main

import (
	"bytes"
	"fmt"
	"slices"

	"github.com/spf13/cobra"

	"seamfit/internal/bench"
	"seamfit/internal/catalogue"
	"seamfit/internal/report"
)

func (a *app) cardsCommand() *cobra.Command {
	var out string
	var species []string
	cmd := &cobra.Command{
		Use:   "cards --out cards.html",
		Short: "Write command cards for the scanner",
		Long: `Write a sheet of command cards, bar codes that do at the station what a key does,
so that a bird can be taken from capture to release by scanner and caliper
alone. There is a card for each finding, statement, metal and size, for each
person that the settings name under people.banders, and for each species that
--species names. Print it at 100 %.`,
		Args: cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error {
			if out == "" {
				return usagef("--out is missing; name the file to write, like cards.html")
			}
			return a.cards(out, species)
		},
	}
	cmd.Flags().StringVar(&out, "out", "", "the new HTML file")
	cmd.Flags().StringSliceVar(&species, "species", nil, "species to print cards for, apart by commas, by any of their names")
	return cmd
}

func (a *app) cards(out string, species []string) error {
	files, err := a.load()
	if err != nil {
		return err
	}
	wanted, err := speciesNamed(files.setup.Book, species)
	if err != nil {
		return err
	}
	cards := bench.Cards(files.setup.Book, bench.State{Setup: files.setup}.Catalogue(), files.settings.People.Names())
	cards = slices.DeleteFunc(cards, func(c bench.Card) bool { return c.Act == bench.CardSpecies && !slices.Contains(wanted, c.Value) })
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

// speciesNamed returns the scientific names of species that are told by any of
// their names.
func speciesNamed(book *catalogue.Book, names []string) ([]string, error) {
	var found []string
	for _, name := range names {
		sp, ok := book.SpeciesNamed(name)
		if !ok {
			return nil, fmt.Errorf("no species %q is on the list; see seamfit catalogue show", name)
		}
		found = append(found, sp.Scientific)
	}
	return found, nil
}
