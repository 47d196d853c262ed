package main

import (
	"bufio"
	"fmt"
	"slices"
	"strings"

	"seamfit/internal/bands"
)

// maxRun bounds a run, so that a slip in its end can't fill the records.
const maxRun = 100_000

// numbersGiven reads the numbers that a command is about: its arguments, the
// lines of standard input for "-", or the column numbers of --from.
func (a *app) numbersGiven(pattern *bands.Pattern, args []string, from string) ([]bands.Run, error) {
	if from != "" {
		if len(args) > 0 {
			return nil, usagef("numbers are given both ways; leave --from or the arguments out")
		}
		return a.numbersFrom(pattern, from)
	}
	if len(args) == 0 {
		return nil, usagef("no numbers are given; name them, like %s, or give --from FILE, or - to scan them", pattern.Example)
	}
	var runs []bands.Run
	for _, arg := range args {
		if arg == "-" {
			scanned, err := a.scanned(pattern)
			if err != nil {
				return nil, err
			}
			runs = append(runs, scanned...)
			continue
		}
		r, err := parseRun(pattern, arg)
		if err != nil {
			return nil, err
		}
		runs = append(runs, r)
	}
	return runs, nil
}

func parseRun(pattern *bands.Pattern, text string) (bands.Run, error) {
	r, err := pattern.ParseRun(text)
	if err == nil && r.Count() > maxRun {
		err = fmt.Errorf("%v is %d numbers, more than %d at once; check its end", r, r.Count(), maxRun)
	}
	return r, err
}

func (a *app) numbersFrom(pattern *bands.Pattern, path string) ([]bands.Run, error) {
	table, err := a.readTable(path, "numbers")
	if err != nil {
		return nil, err
	}
	var runs []bands.Run
	for _, line := range table.lines {
		r, err := parseRun(pattern, line.values["numbers"])
		if err != nil {
			return nil, fmt.Errorf("%s: line %d: %w", path, line.number, err)
		}
		runs = append(runs, r)
	}
	if len(runs) == 0 {
		return nil, fmt.Errorf("%s has no numbers; put them under the heading numbers", path)
	}
	return runs, nil
}

// scanned reads numbers from standard input, a line each, in whatever order the
// bands come to hand, and puts those together that follow one another.
func (a *app) scanned(pattern *bands.Pattern) ([]bands.Run, error) {
	var numbers []bands.Number
	in := bufio.NewScanner(a.stdin)
	for line := 1; in.Scan(); line++ {
		text := strings.Trim(in.Text(), " \t\r\x02\x03")
		if text == "" {
			continue
		}
		r, err := parseRun(pattern, text)
		if err != nil {
			return nil, fmt.Errorf("standard input: line %d: %w", line, err)
		}
		for n := range r.All() {
			numbers = append(numbers, n)
		}
		if len(numbers) > maxRun {
			return nil, fmt.Errorf("standard input: more than %d numbers at once; give fewer", maxRun)
		}
	}
	if err := in.Err(); err != nil {
		return nil, fmt.Errorf("standard input: %w; put one number on each line", err)
	}
	if len(numbers) == 0 {
		return nil, usagef("nothing was scanned; put one number on each line of standard input")
	}
	slices.SortStableFunc(numbers, bands.Number.Compare)
	return bands.Runs(numbers), nil
}
