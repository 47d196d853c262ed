package main

import (
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"seamfit/internal/catalogue"
	"seamfit/internal/fit"
)

func (a *app) catalogueCheckCommand() *cobra.Command {
	var table string
	cmd := &cobra.Command{
		Use:   "check FILE",
		Short: "Check a catalogue file or an office's list",
		Long: `Check a catalogue file of your own, FILE.toml: whether it can be read, what it
adds to the tables and what it takes the place of, and which recommended sizes do
not go with the leg widths that the file itself gives. A file that is broken
anywhere is refused whole, with the line.

Any other file is checked as an office's list, as catalogue import would read it:
every row that can't be taken is named with its line and why. Nothing is written.

The keys of a [[species]] are the columns of an office's list, which catalogue
import --help tells; several values are an array, and yes and no are true and
false. Sex, age and the table stand with each size:
  sizes = [{ size = "5", sex = "female", catalogue = "us-federal" }]`,
		Args: cobra.ExactArgs(1),
		RunE: func(_ *cobra.Command, args []string) error { return a.catalogueCheck(args[0], table) },
	}
	cmd.Flags().StringVar(&table, "catalogue", "", "the table of sizes that an office's list means (default: the settings')")
	return cmd
}

// checkJSON is what a check of a file found.
type checkJSON struct {
	OK       bool     `json:"ok"`
	Sizes    int      `json:"sizes"`   // after the file is laid over the tables
	Species  int      `json:"species"` // likewise
	Added    []string `json:"added"`   // species that were not listed before
	Replaced []string `json:"replaced"`
	Remarks  []string `json:"remarks"`
	// Refused are the rows of an office's list that can't be taken.
	Refused []refusalJSON `json:"refused"`
	Fault   *faultJSON    `json:"fault"` // null when the file can be read
}

type faultJSON struct {
	Line   int    `json:"line"`
	Reason string `json:"reason"`
	Mend   string `json:"mend"`
}

// errFault ends a check whose fault has been told in JSON already.
var errFault = errors.New("the file can't be used as it is; mend what the result names and check again")

// errRefused ends a check of a list of which not every row can be taken.
var errRefused = errors.New("not every row of the list can be taken; mend what the result names and check again")

func (a *app) catalogueCheck(path, table string) error {
	if !strings.EqualFold(filepath.Ext(path), ".toml") {
		return a.listCheck(path, table)
	}
	if table != "" {
		return usagef("--catalogue goes with an office's list; a catalogue file names its tables itself")
	}
	data, err := readFile(path)
	if err != nil {
		return err
	}
	return a.bookCheck(path, data, nil)
}

// listCheck checks an office's list: its rows, and the file that they make.
func (a *app) listCheck(path, table string) error {
	list, _, err := a.officeList(path, table)
	if err != nil {
		return a.checkFault(err)
	}
	data, err := catalogue.MarshalSpecies(list.Species)
	if err != nil {
		return err
	}
	if err := a.bookCheck(path, data, list.Refused); err != nil {
		return err
	}
	if len(list.Refused) > 0 {
		return errRefused
	}
	return nil
}

// bookCheck lays the text of a catalogue file over the tables and tells what
// changes; refused are the rows that are not in it.
func (a *app) bookCheck(path string, data []byte, refused []catalogue.Refusal) error {
	files, err := a.load()
	if err != nil {
		return err
	}
	before := files.setup.Book
	after, err := before.With(data, path)
	if err != nil {
		return a.checkFault(err)
	}
	out := checkJSON{
		OK: len(refused) == 0, Species: len(after.Species), Added: []string{}, Replaced: []string{}, Remarks: []string{}, Refused: refusals(refused),
	}
	for _, c := range after.Catalogues {
		out.Sizes += len(c.Sizes)
	}
	for _, sp := range after.Species {
		old, known := before.SpeciesNamed(sp.Scientific)
		switch {
		case !known:
			out.Added = append(out.Added, sp.Scientific)
		case !sameSpecies(old, sp):
			out.Replaced = append(out.Replaced, sp.Scientific)
		default:
			continue
		}
		out.Remarks = append(out.Remarks, rangeRemarks(after, files.setup.Model, sp)...)
	}
	if a.json() {
		return a.writeJSON(out)
	}
	return a.printCheck(path, out)
}

func (a *app) checkFault(err error) error {
	var fault *catalogue.FileError
	if !a.json() || !errors.As(err, &fault) {
		return err
	}
	out := checkJSON{
		Added: []string{}, Replaced: []string{}, Remarks: []string{}, Refused: []refusalJSON{},
		Fault: &faultJSON{Line: fault.Line, Reason: fault.Reason, Mend: fault.Mend},
	}
	return errors.Join(a.writeJSON(out), errFault)
}

func (a *app) printCheck(path string, out checkJSON) error {
	if err := a.printRefused(out.Refused); err != nil {
		return err
	}
	if out.OK {
		if err := a.printf("%s can be used\n", path); err != nil {
			return err
		}
	}
	if err := a.printf("%d sizes and %d species in all tables with it\n", out.Sizes, out.Species); err != nil {
		return err
	}
	for _, part := range []struct {
		heading string
		names   []string
	}{{"adds", out.Added}, {"takes the place of", out.Replaced}, {"look at", out.Remarks}} {
		for _, name := range part.names {
			if err := a.printf("%s: %s\n", part.heading, name); err != nil {
				return err
			}
		}
	}
	return nil
}

// sameSpecies reports whether two rows say the same.
func sameSpecies(a, b catalogue.Species) bool {
	lists := slices.Equal(a.Synonyms, b.Synonyms) && slices.Equal(a.Sizes, b.Sizes) &&
		slices.Equal(a.Closures, b.Closures) && slices.Equal(a.MetalReasons, b.MetalReasons)
	a.Synonyms, a.Sizes, a.Closures, a.MetalReasons = nil, nil, nil, nil
	b.Synonyms, b.Sizes, b.Closures, b.MetalReasons = nil, nil, nil, nil
	return lists && fmt.Sprint(a) == fmt.Sprint(b)
}

// rangeRemarks tell of recommended sizes that no leg of the known range fits
// by play: one of the two is likely a slip.
func rangeRemarks(book *catalogue.Book, m fit.Model, sp catalogue.Species) []string {
	var remarks []string
	for _, r := range sp.Sizes {
		from, to, ok := window(book, m, r)
		if !ok {
			continue
		}
		below := sp.MaxWidth > 0 && sp.MaxWidth.MM() < from
		above := sp.MinWidth > 0 && sp.MinWidth.MM() > to
		if below || above {
			remarks = append(remarks, fmt.Sprintf("%s: size %s goes with legs from %.2f to %.2f mm, and the known range lies outside", sp.Scientific, r.Size, from, to))
		}
	}
	return remarks
}
