package export

import (
	"context"
	"encoding/csv"
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"golang.org/x/sync/errgroup"

	"seamfit/internal/bench"
	"seamfit/internal/length"
)

// Records is what an export reads.
type Records interface {
	// Rows calls each for every row of a table, in a fixed order, with the
	// values of the named columns as int64, float64, string, []byte or nil; the
	// slice is valid until the next call. Two tables may be asked for at a time.
	Rows(ctx context.Context, table string, columns []string, each func(values []any) error) error
	// Handlings calls each for every handling, oldest first.
	Handlings(ctx context.Context, each func(bench.Handling) error) error
	// Count returns how many rows Rows has of a table.
	Count(ctx context.Context, table string) (int, error)
}

// Source is the records of an export and what is said about it.
type Source struct {
	Records Records
	// Only is the selection that the records are limited to.
	Only     bench.Selection
	Training bool      // the records are of practice, and every form says so
	Made     time.Time // when the export was asked for
	Version  string    // of the program
	// Progress, if any, is told after every thousand rows how many of a table
	// are written, and of how many. It may be called from two goroutines.
	Progress func(table string, rows, of int)
}

// trainingNote lies in the folder of every export of training records.
const trainingNote = "TRAINING.txt"

const trainingText = "These are training records. No real bird is in them; never send them to a banding office.\r\n"

// CSV writes every table as a file <table>.csv (RFC 4180, UTF-8 without a
// byte-order mark) into a new folder. It returns an error when the folder
// exists and holds anything; on any error nothing is left behind.
func CSV(ctx context.Context, s Source, name string) error {
	return into(func() (place, error) { return newFolder(name) }, func(p place) error {
		err := eachTable(ctx, p, ".csv", func(ctx context.Context, _ int, t Table, w io.Writer) error {
			return s.write(ctx, t, machineLines(w))
		})
		if err != nil {
			return err
		}
		return s.markTraining(p)
	})
}

// eachTable has write fill a file for every table, i of them all, as many at a
// time as the place takes. It returns the first error, which ends the others.
func eachTable(ctx context.Context, p place, suffix string, write func(ctx context.Context, i int, t Table, w io.Writer) error) error {
	group, ctx := errgroup.WithContext(ctx)
	group.SetLimit(p.abreast())
	for i, t := range Tables() {
		group.Go(func() error {
			if err := ctx.Err(); err != nil {
				return err
			}
			return put(p, t.Name+suffix, func(w io.Writer) error { return write(ctx, i, t, w) })
		})
	}
	return group.Wait()
}

func (s Source) markTraining(p place) error {
	if !s.Training {
		return nil
	}
	return put(p, trainingNote, func(w io.Writer) error {
		_, err := io.WriteString(w, trainingText)
		return err
	})
}

// lines takes the lines of a table.
type lines interface {
	line(fields []string, columns []Column) error
	flush() error
}

// machine writes lines as RFC 4180 has them.
type machine struct{ *csv.Writer }

func machineLines(w io.Writer) lines {
	c := csv.NewWriter(w)
	c.UseCRLF = true
	return machine{c}
}

func (m machine) line(fields []string, _ []Column) error { return m.Write(fields) }

func (m machine) flush() error {
	m.Flush()
	return m.Error()
}

// write writes one table.
func (s Source) write(ctx context.Context, t Table, to lines) error {
	if err := to.line(t.headers(), nil); err != nil {
		return err
	}
	next, err := s.counter(ctx, t.Name)
	if err != nil {
		return err
	}
	fields := make([]string, len(t.Columns))
	err = s.Records.Rows(ctx, t.Name, t.names(), func(values []any) (err error) {
		for i, c := range t.Columns {
			if fields[i], err = c.format(values[i]); err != nil {
				return fmt.Errorf("column %s: %w", c.Name, err)
			}
		}
		if err := next(); err != nil {
			return err
		}
		return to.line(fields, t.Columns)
	})
	if err == nil {
		err = to.flush()
	}
	if err != nil {
		return fmt.Errorf("write the table %s: %w", t.Name, err)
	}
	return nil
}

// counter returns what is called for each row of a table: it tells of progress
// now and then, and looks whether the export was cancelled, which writing alone
// would not notice.
func (s Source) counter(ctx context.Context, table string) (next func() error, err error) {
	of := 0
	if s.Progress != nil {
		if of, err = s.Records.Count(ctx, table); err != nil {
			return nil, err
		}
	}
	rows := 0
	return func() error {
		if rows++; rows%1000 != 0 {
			return nil
		}
		if s.Progress != nil {
			s.Progress(table, rows, of)
		}
		return ctx.Err()
	}, nil
}

// format writes one value. What is not known is an empty field.
func (c Column) format(v any) (string, error) {
	switch v := v.(type) {
	case nil:
		return "", nil
	case int64:
		return c.formatWhole(v), nil
	case float64:
		return strconv.FormatFloat(v, 'g', -1, 64), nil
	case []byte:
		quoted := strconv.QuoteToASCII(string(v))
		return quoted[1 : len(quoted)-1], nil
	case string:
		if v == "null" && (c.Kind == List || c.Kind == Object) {
			return "", nil // JSON's word for no value; a reader of lists would trip over it
		}
		return printable(v), nil
	default:
		return "", fmt.Errorf("a value of type %T", v)
	}
}

func (c Column) formatWhole(v int64) string {
	switch c.Kind {
	case Length:
		return length.Length(v).Exact()
	case Flag:
		return strconv.FormatBool(v != 0)
	default:
		return strconv.FormatInt(v, 10)
	}
}

// printable escapes what is not printable, and bytes that are no text. The
// bench takes none in, so this alters nothing that it wrote; another program
// may have put some there.
func printable(s string) string {
	odd := func(r rune) bool { return r == utf8.RuneError || !unicode.IsPrint(r) }
	if !strings.ContainsFunc(s, odd) {
		return s
	}
	var b strings.Builder
	for i, r := range s {
		switch {
		case r == utf8.RuneError && !strings.HasPrefix(s[i:], string(utf8.RuneError)):
			fmt.Fprintf(&b, `\x%02x`, s[i])
		case r > 0xffff && odd(r):
			fmt.Fprintf(&b, `\U%08x`, r)
		case r != utf8.RuneError && odd(r):
			fmt.Fprintf(&b, `\u%04x`, r)
		default:
			b.WriteRune(r)
		}
	}
	return b.String()
}
