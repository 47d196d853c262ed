package export

import (
	"context"
	"encoding/csv"
	"fmt"
	"io"
	"slices"

	"seamfit/internal/bench"
)

// Ledger is what was submitted before.
type Ledger interface {
	// Submitted calls each for every bird whose row was submitted through the
	// map of that name and was not withdrawn since: the columns' names and the
	// row as it was submitted last.
	Submitted(ctx context.Context, name string, each func(handling string, columns, row []string) error) error
}

// Change is what became of a bird's row since it was submitted.
type Change string

// The changes: New was never submitted, Corrected differs from what was,
// and Withdrawn was submitted but is open or disputed now.
const (
	New       Change = "new"
	Corrected Change = "corrected"
	Withdrawn Change = "withdrawn"
)

// Entry is the row of one bird, as a submission marks it. A withdrawn one
// holds the row as it was.
type Entry struct {
	Handling string
	Change   Change
	Row      []string
}

// Birds is a table through a map: one row for each bird as its record stands
// now. Rows that were submitted and have not changed since are left out.
type Birds struct {
	Columns  []string
	Entries  []Entry    // new, corrected and withdrawn, oldest bird first
	Open     [][]string // records that are not complete
	Disputed [][]string // records whose number stands against another
	was      [][]string // the row before of each entry; nil for a new one
	again    bool       // something was submitted through this map before
}

// Count returns how many entries are of a kind.
func (b Birds) Count(c Change) (n int) {
	for _, e := range b.Entries {
		if e.Change == c {
			n++
		}
	}
	return n
}

// ReadBirds puts the handlings of the records through a map. It returns an
// error for a value that the map has no code for, and for a map whose columns
// are not those of its submissions before.
func ReadBirds(ctx context.Context, s Source, m Map, ledger Ledger) (Birds, error) {
	b := Birds{Columns: m.header()}
	if s.Training {
		b.Columns = append(b.Columns, "training")
	}
	before := map[string][]string{}
	if err := ledger.Submitted(ctx, m.Name, func(handling string, columns, row []string) error {
		if !slices.Equal(columns, b.Columns) {
			return fmt.Errorf("the map %q was submitted with other columns, %q; give this one a new name", m.Name, columns)
		}
		before[handling] = row
		return nil
	}); err != nil {
		return b, err
	}
	b.again = len(before) > 0
	shifts, err := readShifts(ctx, s.Records)
	if err != nil {
		return b, err
	}
	next, err := s.counter(ctx, "handlings")
	if err != nil {
		return b, err
	}
	err = s.Records.Handlings(ctx, func(h bench.Handling) error {
		if err := next(); err != nil {
			return err
		}
		one := bird{h, shifts[h.Shift]}
		if _, worn := one.band(); m.BandedOnly && !worn && before[h.ID] == nil {
			return nil
		}
		row, err := m.row(one)
		if err != nil {
			return err
		}
		if s.Training {
			row = append(row, "true")
		}
		b.add(h, row, before[h.ID])
		return nil
	})
	return b, err
}

// add sorts one bird's row.
func (b *Birds) add(h bench.Handling, row, before []string) {
	switch {
	case h.Disputed():
		b.Disputed = append(b.Disputed, row)
	case !h.Done() && h.Resolved == "":
		b.Open = append(b.Open, row)
	case before == nil:
		b.enter(Entry{h.ID, New, row}, nil)
		return
	case slices.Equal(before, row):
		return
	default:
		b.enter(Entry{h.ID, Corrected, row}, before)
		return
	}
	if before != nil {
		b.enter(Entry{h.ID, Withdrawn, before}, before)
	}
}

func (b *Birds) enter(e Entry, was []string) {
	b.Entries = append(b.Entries, e)
	b.was = append(b.was, was)
}

func readShifts(ctx context.Context, r Records) (map[string]shift, error) {
	found := map[string]shift{}
	err := r.Rows(ctx, "shifts", []string{"id", "place", "permit", "scribe", "catalogue"}, func(values []any) error {
		text := make([]string, len(values))
		for i, v := range values {
			text[i], _ = v.(string)
		}
		found[text[0]] = shift{text[1], text[2], text[3], text[4]}
		return nil
	})
	return found, err
}

// Write writes the table into a new folder: birds.csv, open.csv, disputed.csv,
// and, once something was submitted through this map, changes.csv, where a
// corrected row stands as it was and as it is. Its errors are CSV's.
func (b Birds) Write(s Source, m Map, name string) error {
	return into(func() (place, error) { return newFolder(name) }, func(p place) error {
		var fresh, changes [][]string
		for i, e := range b.Entries {
			switch e.Change {
			case New:
				fresh = append(fresh, e.Row)
			case Corrected:
				changes = append(changes, append([]string{"was"}, b.was[i]...), append([]string{"now"}, e.Row...))
			case Withdrawn:
				changes = append(changes, append([]string{"withdrawn"}, e.Row...))
			}
		}
		files := []struct {
			name   string
			header []string
			rows   [][]string
		}{
			{"birds.csv", b.Columns, fresh},
			{"open.csv", b.Columns, b.Open},
			{"disputed.csv", b.Columns, b.Disputed},
			{"changes.csv", append([]string{"change"}, b.Columns...), changes},
		}
		if !b.again {
			files = files[:3]
		}
		for _, f := range files {
			w, err := p.create(f.name)
			if err != nil {
				return err
			}
			if err := m.write(w, f.header, f.rows); err != nil {
				return err
			}
		}
		return s.markTraining(p)
	})
}

func (m Map) write(to io.Writer, header []string, rows [][]string) error {
	w := csv.NewWriter(to)
	w.Comma = rune(m.Separator[0])
	w.UseCRLF = true
	if err := w.Write(header); err != nil {
		return err
	}
	return w.WriteAll(rows)
}
