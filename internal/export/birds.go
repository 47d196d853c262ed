package export

import (
	"context"
	"encoding/csv"
	"encoding/json"
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
	rowOf := m.rows()
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
		row, err := rowOf(one)
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
		text := texts(values)
		found[text[0]] = shift{place: text[1], permit: text[2], scribe: text[3], catalogue: text[4]}
		return nil
	})
	if err != nil {
		return nil, err
	}
	err = r.Rows(ctx, "shift_places", []string{"shift", "latitude", "longitude", "accuracy_m"}, func(values []any) error {
		text := texts(values)
		s := found[text[0]]
		s.latitude, s.longitude, s.accuracy = text[1], text[2], text[3]
		found[text[0]] = s
		return nil
	})
	return found, err
}

func texts(values []any) []string {
	text := make([]string, len(values))
	for i, v := range values {
		text[i], _ = v.(string)
	}
	return text
}

// Again puts the entries of a submission that was marked in the place of those
// that were read: the rows as they were handed in, was those before them (nil
// for a new one).
func (b *Birds) Again(columns []string, entries []Entry, was [][]string) {
	b.Columns, b.Entries, b.was = columns, entries, was
}

// Counterfoil is what lies in the folder of a submission to tell it by.
type Counterfoil struct {
	ID    string `json:"submission"`
	Map   string `json:"map"`
	Place int64  `json:"place"`
	At    string `json:"at"`
	By    string `json:"by"`
}

// CounterfoilFile is its name in the folder.
const CounterfoilFile = "submission.json"

// Write writes the table into a new folder: birds.csv, open.csv, disputed.csv,
// and, once something was submitted through this map, changes.csv, where a
// corrected row stands as it was and as it is. mark, unless it is nil, is
// called when all that is written and nothing shows yet: it marks the rows, and
// what it returns goes into the folder. Only then does the folder get its name,
// so that rows may be marked without their files, which the next run mends, but
// never files be there whose rows are not marked. Its errors are CSV's and
// mark's.
func (b Birds) Write(s Source, m Map, name string, mark func() (Counterfoil, error)) error {
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
			if err := put(p, f.name, func(w io.Writer) error { return m.write(w, f.header, f.rows) }); err != nil {
				return err
			}
		}
		if err := s.markTraining(p); err != nil || mark == nil {
			return err
		}
		return marked(p, mark)
	})
}

func marked(p place, mark func() (Counterfoil, error)) error {
	return put(p, CounterfoilFile, func(w io.Writer) error {
		counterfoil, err := mark()
		if err != nil {
			return err
		}
		return json.NewEncoder(w).Encode(counterfoil)
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
