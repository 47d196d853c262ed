package main

import (
	"errors"
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

Columns, of which only the first must be there: ` + strings.Join(catalogue.OfficeColumns(), ", ") + `.
Several values in one column stand between bars: 5 | 6.

Name the file that is written under catalogue_files in the settings.`,
		Args: cobra.ExactArgs(1),
		RunE: func(_ *cobra.Command, args []string) error { return a.catalogueImport(args[0], out, table) },
	}
	cmd.Flags().StringVar(&out, "out", "", "the catalogue file to write")
	cmd.Flags().StringVar(&table, "catalogue", "", "the table of sizes that the list means (default: the settings')")
	return cmd
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
	files, err := a.load()
	if err != nil {
		return err
	}
	book := files.setup.Book
	if table == "" {
		table = files.setup.Catalogue
	}
	if _, ok := book.Catalogue(table); !ok {
		return usagef("the catalogue %q is unknown; use one of %s", table, catalogueNames(book))
	}
	data, err := readFile(path)
	if err != nil {
		return err
	}
	list, err := book.ReadOfficeList(data, path, table)
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

func (a *app) importReport(list *catalogue.OfficeList, out string) error {
	if a.json() {
		result := importJSON{Rows: list.Rows, Species: len(list.Species), Out: out, Ignored: some(list.Ignored), Refused: []refusalJSON{}}
		for _, r := range list.Refused {
			result.Refused = append(result.Refused, refusalJSON{Line: r.Line, Text: r.Text, Reason: r.Reason, Mend: r.Mend})
		}
		return a.writeJSON(result)
	}
	if err := a.printf("%d rows read: %d species taken, %d rows refused\n", list.Rows, len(list.Species), len(list.Refused)); err != nil {
		return err
	}
	for _, r := range list.Refused {
		if err := a.printf("line %d refused: %s; %s\n    %s\n", r.Line, r.Reason, r.Mend, r.Text); err != nil {
			return err
		}
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
