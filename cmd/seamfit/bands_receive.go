package main

import (
	"context"
	"errors"
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"seamfit/internal/bands"
	"seamfit/internal/store"
)

// receiveFlags are the flags of bands receive.
type receiveFlags struct {
	bandsFlags
	size, metal, note string
	count             int64
	missing, doubled  []string
}

func (a *app) receiveCommand() *cobra.Command {
	var f receiveFlags
	cmd := &cobra.Command{
		Use:   "receive NUMBERS... --size SIZE --metal METAL",
		Short: "Take strings of bands into the stock",
		Long: `Take strings of bands into the stock, one for each run of numbers.
` + numbersHelp + `

The CSV file has the columns size and metal, and numbers, or first with last or
count; it may have missing, doubled (numbers with blanks or semicolons between
them) and note.`,
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.withStock(cmd.Context(), f.bandsFlags, false, func(st stock) error { return a.receive(cmd.Context(), st, f, args) })
		},
	}
	f.add(cmd)
	flags := cmd.Flags()
	flags.Int64Var(&f.count, "count", 0, "how many follow one another from each number given")
	flags.StringVar(&f.size, "size", "", "the bands' size, as the catalogue labels it")
	flags.StringVar(&f.metal, "metal", "", "the bands' metal")
	flags.StringVar(&f.note, "note", "", "who sent them, the packet, whatever helps later")
	flags.StringSliceVar(&f.missing, "missing", nil, "numbers that the maker left out")
	flags.StringSliceVar(&f.doubled, "doubled", nil, "numbers that are on two bands: neither is used")
	return cmd
}

func (a *app) receive(ctx context.Context, st stock, f receiveFlags, args []string) error {
	if !printable(f.note) {
		return usagef("--note holds a character that can't be seen; write it again without")
	}
	received, err := a.stringsGiven(st, f, args)
	if err != nil {
		return err
	}
	if err := st.records.Receive(ctx, received); err != nil {
		return err
	}
	runs := make([]bands.Run, len(received))
	for i, b := range received {
		runs[i] = b.Run
	}
	return a.sayNumbers("received", runs)
}

func (a *app) stringsGiven(st stock, f receiveFlags, args []string) ([]store.BandString, error) {
	if f.from != "" && len(args) > 0 {
		return nil, usagef("numbers are given both ways; leave --from or the arguments out")
	}
	if f.from != "" {
		return a.stringsFrom(st, f)
	}
	if f.size == "" || f.metal == "" {
		return nil, usagef("--size and --metal are missing; say what the bands are")
	}
	runs, err := a.numbersGiven(st.files.setup.Pattern, args, "")
	if err != nil {
		return nil, err
	}
	if runs, err = counting(runs, f.count); err != nil {
		return nil, err
	}
	missing, err := numbersListed(st.files.setup.Pattern, f.missing)
	if err != nil {
		return nil, err
	}
	doubled, err := numbersListed(st.files.setup.Pattern, f.doubled)
	if err != nil {
		return nil, err
	}
	var received []store.BandString
	told := 0
	for _, r := range runs {
		b, err := a.bandString(st, r, f.size, f.metal, f.note)
		if err != nil {
			return nil, err
		}
		b.Missing, b.Doubled = within(r, missing), within(r, doubled)
		told += len(b.Missing) + len(b.Doubled)
		received = append(received, b)
	}
	if told != len(missing)+len(doubled) {
		return nil, errors.New("a missing or doubled number is in none of the strings; read it again")
	}
	return received, nil
}

func (a *app) bandString(st stock, r bands.Run, size, metal, note string) (store.BandString, error) {
	label, name, err := st.sizeAndMetal(size, metal)
	if err != nil {
		return store.BandString{}, err
	}
	if err := st.files.setup.Pattern.CheckSize(r.First(), label); err != nil {
		return store.BandString{}, err
	}
	return store.BandString{
		ID: a.newID(), Run: r, Size: label, Metal: name, Note: strings.TrimSpace(note), At: st.at, Entered: st.entered, By: st.by,
	}, nil
}

func (a *app) stringsFrom(st stock, f receiveFlags) ([]store.BandString, error) {
	table, err := a.readTable(f.from, "size", "metal")
	if err != nil {
		return nil, err
	}
	var received []store.BandString
	for _, line := range table.lines {
		b, err := a.stringOfLine(st, line)
		if err != nil {
			return nil, fmt.Errorf("%s: line %d: %w", f.from, line.number, err)
		}
		for _, other := range received {
			if shared, ok := other.Run.Overlap(b.Run); ok {
				return nil, fmt.Errorf("%s: line %d: %v overlaps %v of an earlier line in %v; read the numbers again", f.from, line.number, b.Run, other.Run, shared)
			}
		}
		received = append(received, b)
	}
	if len(received) == 0 {
		return nil, fmt.Errorf("%s has no strings; put one on each line under its headings", f.from)
	}
	return received, nil
}

func (a *app) stringOfLine(st stock, line tableLine) (store.BandString, error) {
	for _, text := range line.values {
		if !printable(text) {
			return store.BandString{}, fmt.Errorf("%q holds a character that can't be seen; write it again without", text)
		}
	}
	r, err := runOfLine(st.files.setup.Pattern, line)
	if err != nil {
		return store.BandString{}, err
	}
	b, err := a.bandString(st, r, line.values["size"], line.values["metal"], line.values["note"])
	if err != nil {
		return b, err
	}
	for _, list := range []struct {
		name string
		into *[]bands.Number
	}{{"missing", &b.Missing}, {"doubled", &b.Doubled}} {
		numbers, err := numbersListed(st.files.setup.Pattern, strings.FieldsFunc(line.values[list.name], func(r rune) bool { return r == ' ' || r == ';' }))
		if err != nil {
			return b, err
		}
		*list.into = numbers
	}
	return b, nil
}

// runOfLine reads the numbers of a line: numbers, or first with last or count.
func runOfLine(pattern *bands.Pattern, line tableLine) (bands.Run, error) {
	text := line.values["numbers"]
	first, last, count := line.values["first"], line.values["last"], line.values["count"]
	switch {
	case text == "" && first == "":
		return bands.Run{}, errors.New("no numbers; give them in the column numbers, or first with last or count")
	case text != "":
		return parseRun(pattern, text)
	case last != "":
		return parseRun(pattern, first+" to "+last)
	case count == "":
		return parseRun(pattern, first)
	}
	n, err := pattern.Parse(first)
	if err != nil {
		return bands.Run{}, err
	}
	k, err := strconv.ParseInt(count, 10, 64)
	if err != nil || k < 1 || k > maxRun {
		return bands.Run{}, fmt.Errorf("count %q is no number of bands up to %d; write it like 100", count, maxRun)
	}
	return bands.RunOf(n, k)
}

// counting makes a run of each single number, when a count is told.
func counting(runs []bands.Run, count int64) ([]bands.Run, error) {
	if count == 0 {
		return runs, nil
	}
	if count < 0 || count > maxRun {
		return nil, usagef("--count %d is no number of bands up to %d", count, maxRun)
	}
	var counted []bands.Run
	for _, r := range runs {
		if r.Count() > 1 && r.Count() != count {
			return nil, usagef("%v is %d numbers, and --count says %d; give one or the other", r, r.Count(), count)
		}
		whole, err := bands.RunOf(r.First(), count)
		if err != nil {
			return nil, err
		}
		counted = append(counted, whole)
	}
	return counted, nil
}

func numbersListed(pattern *bands.Pattern, texts []string) ([]bands.Number, error) {
	var numbers []bands.Number
	for _, text := range texts {
		n, err := pattern.Parse(text)
		if err != nil {
			return nil, err
		}
		numbers = append(numbers, n)
	}
	return numbers, nil
}

func within(r bands.Run, numbers []bands.Number) []bands.Number {
	var in []bands.Number
	for _, n := range numbers {
		if r.Contains(n) {
			in = append(in, n)
		}
	}
	return in
}
