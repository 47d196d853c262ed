package main

import (
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"seamfit/internal/catalogue"
)

func (a *app) catalogueImportCommand() *cobra.Command {
	var out, table string
	cmd := &cobra.Command{
		Use:   "import FILE.csv --out FILE.toml",
		Short: "Bring in an office's own list of species and sizes",
		Long: `Bring in an office's own list of species as a catalogue file: text with columns
apart by commas, semicolons or tabs, whose first line names them. Every row that
can't be taken is reported with its line and why; the others are written.

The columns, in any order; several values in one cell stand between bars:

` + officeColumns() + `
Rows of one species for different sexes or ages follow one another; what is said
of the species itself is said in the first of them.

Name the file that is written under catalogue_files in the settings.`,
		Args: cobra.ExactArgs(1),
		RunE: func(_ *cobra.Command, args []string) error { return a.catalogueImport(args[0], out, table) },
	}
	cmd.Flags().StringVar(&out, "out", "", "the catalogue file to write")
	cmd.Flags().StringVar(&table, "catalogue", "", "the table of sizes that the list means (default: the settings')")
	return cmd
}

// officeColumns lists the columns of an office's list with what they hold.
func officeColumns() string {
	var b strings.Builder
	for _, c := range catalogue.OfficeColumns() {
		fmt.Fprintf(&b, "  %-16s  %s\n", c.Name, c.About)
	}
	return b.String()
}

// importJSON is what became of a list.
type importJSON struct {
	Rows    int           `json:"rows"`
	Species int           `json:"species"`
	Out     string        `json:"out"` // "" when nothing was written
	Ignored []string      `json:"ignored_columns"`
	Refused []refusalJSON `json:"refused"`
}

type refusalJSON struct {
	Line   int    `json:"line"`
	Text   string `json:"text"`
	Reason string `json:"reason"`
	Mend   string `json:"mend"`
}

// errNothing ends an import of which no row could be taken.
var errNothing = errors.New("no row of the list could be taken; mend what the report names and import it again")

func (a *app) catalogueImport(path, out, table string) error {
	if out == "" {
		return usagef("--out is missing; name the catalogue file to write")
	}
	list, book, err := a.officeList(path, table)
	if err != nil {
		return err
	}
	if len(list.Species) == 0 {
		return errors.Join(a.importReport(list, ""), errNothing)
	}
	text, err := catalogue.MarshalSpecies(list.Species)
	if err != nil {
		return err
	}
	// What was written must be read back: better no file than one that the
	// bench then refuses.
	if _, err := book.With(text, out); err != nil {
		return err
	}
	if err := writeNew(out, text); err != nil {
		return err
	}
	return a.importReport(list, out)
}

// officeList reads an office's list for the tables of the settings.
func (a *app) officeList(path, table string) (*catalogue.OfficeList, *catalogue.Book, error) {
	files, err := a.load()
	if err != nil {
		return nil, nil, err
	}
	book := files.setup.Book
	if table == "" {
		table = files.setup.Catalogue
	}
	if _, ok := book.Catalogue(table); !ok {
		return nil, nil, usagef("the catalogue %q is unknown; use one of %s", table, catalogueNames(book))
	}
	data, err := readFile(path)
	if err != nil {
		return nil, nil, err
	}
	list, err := book.ReadOfficeList(data, path, table)
	return list, book, err
}

func (a *app) importReport(list *catalogue.OfficeList, out string) error {
	if a.json() {
		return a.writeJSON(importJSON{Rows: list.Rows, Species: len(list.Species), Out: out, Ignored: some(list.Ignored), Refused: refusals(list.Refused)})
	}
	if err := a.printf("%d rows read: %d species taken, %d rows refused\n", list.Rows, len(list.Species), len(list.Refused)); err != nil {
		return err
	}
	if err := a.printRefused(refusals(list.Refused)); err != nil {
		return err
	}
	if len(list.Ignored) > 0 {
		if err := a.printf("columns that mean nothing here: %s\n", strings.Join(list.Ignored, ", ")); err != nil {
			return err
		}
	}
	if out == "" {
		return nil
	}
	return a.printf("%s is written: name it under catalogue_files in the settings\n", out)
}

func refusals(list []catalogue.Refusal) []refusalJSON {
	refused := []refusalJSON{}
	for _, r := range list {
		refused = append(refused, refusalJSON(r))
	}
	return refused
}

func (a *app) printRefused(refused []refusalJSON) error {
	for _, r := range refused {
		if err := a.printf("line %d refused: %s; %s\n    %s\n", r.Line, r.Reason, r.Mend, r.Text); err != nil {
			return err
		}
	}
	return nil
}
