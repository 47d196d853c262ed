package main

import (
	"errors"
	"fmt"
	"slices"

	"github.com/spf13/cobra"

	"seamfit/internal/catalogue"
	"seamfit/internal/fit"
)

func (a *app) catalogueCheckCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "check FILE.toml",
		Short: "Check a catalogue file of your own",
		Long: `Check a catalogue file of your own: whether it can be read, what it adds to the
tables and what it takes the place of, and which recommended sizes do not go with
the leg widths that the file itself gives. Nothing is changed.`,
		Args: cobra.ExactArgs(1),
		RunE: func(_ *cobra.Command, args []string) error { return a.catalogueCheck(args[0]) },
	}
}

// checkJSON is what a check of a file found.
type checkJSON struct {
	OK       bool       `json:"ok"`
	Sizes    int        `json:"sizes"`   // after the file is laid over the tables
	Species  int        `json:"species"` // likewise
	Added    []string   `json:"added"`   // species that were not listed before
	Replaced []string   `json:"replaced"`
	Remarks  []string   `json:"remarks"`
	Fault    *faultJSON `json:"fault"` // null when the file can be read
}

type faultJSON struct {
	Line   int    `json:"line"`
	Reason string `json:"reason"`
	Mend   string `json:"mend"`
}

// errFault ends a check whose fault has been told in JSON already.
var errFault = errors.New("the file can't be used as it is; mend what the result names and check again")

func (a *app) catalogueCheck(path string) error {
	files, err := a.load()
	if err != nil {
		return err
	}
	data, err := readFile(path)
	if err != nil {
		return err
	}
	before := files.setup.Book
	after, err := before.With(data, path)
	if err != nil {
		return a.checkFault(err)
	}
	out := checkJSON{OK: true, Species: len(after.Species), Added: []string{}, Replaced: []string{}, Remarks: []string{}}
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
		Added: []string{}, Replaced: []string{}, Remarks: []string{},
		Fault: &faultJSON{Line: fault.Line, Reason: fault.Reason, Mend: fault.Mend},
	}
	return errors.Join(a.writeJSON(out), errFault)
}

func (a *app) printCheck(path string, out checkJSON) error {
	if err := a.printf("%s can be used\n%d sizes and %d species in all tables with it\n", path, out.Sizes, out.Species); err != nil {
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
