package main

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"seamfit/internal/store"
)

// printConflicts lists what waits for a decision: the records that it is
// between, and what the other bench says.
func (a *app) printConflicts(conflicts []store.Conflict) error {
	for _, c := range conflicts {
		if err := a.printf("%s %s: %s; %s\n", c.Kind, c.Key, c.What, c.Mend); err != nil {
			return err
		}
		for i, id := range c.Records {
			if err := a.printf("  record %s  %s\n", id, c.Whose[i]); err != nil {
				return err
			}
		}
		for _, kept := range c.Kept {
			if err := a.printf("  the other says, %d: %s\n", kept.Seq, keptText(kept)); err != nil {
				return err
			}
		}
	}
	return nil
}

// keptText writes what a row says in one line, without what only ties rows
// together. Of rows that belong to it in great number only the first is told.
func keptText(kept store.Kept) string {
	ties := []string{"handling", "seq", "shift", "string", "submission", "digest", "numbers", "birds", "at_offset", "entered", "entered_offset"}
	var told []string
	tables := map[string]int{}
	for _, row := range kept.Rows {
		if tables[row.Table]++; tables[row.Table] > 1 {
			continue
		}
		for _, name := range slices.Sorted(maps.Keys(row.Values)) {
			value := fmt.Sprint(row.Values[name])
			if !slices.Contains(ties, name) && value != "" && value != "{}" {
				told = append(told, name+" "+value)
			}
		}
	}
	for _, table := range slices.Sorted(maps.Keys(tables)) {
		if n := tables[table]; n > 1 {
			told = append(told, fmt.Sprintf("and %d more like the last", n-1))
		}
	}
	return strings.Join(told, ", ")
}
