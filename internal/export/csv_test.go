package export_test

import (
	"context"
	"encoding/csv"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/bench"
	"seamfit/internal/export"
	"seamfit/internal/length"
	"seamfit/internal/store"
)

// readCSV reads a file by encoding/csv (RFC 4180), the header apart.
func readCSV(t *testing.T, path string) (header []string, rows [][]string) {
	t.Helper()
	f, err := os.Open(path)
	require.NoError(t, err)
	defer func() { require.NoError(t, f.Close()) }()
	all, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	require.NotEmpty(t, all)
	return all[0], all[1:]
}

// asStored turns a field back into the value that the records hold.
func asStored(t *testing.T, c export.Column, field string, like any) any {
	t.Helper()
	switch like.(type) {
	case nil:
		require.Empty(t, field)
		return nil
	case float64:
		v, err := strconv.ParseFloat(field, 64)
		require.NoError(t, err)
		return v
	case []byte:
		text, err := strconv.Unquote(`"` + field + `"`)
		require.NoError(t, err)
		return []byte(text)
	case int64:
		switch c.Kind {
		case export.Length:
			v, _, err := length.Parse(field, length.MM)
			require.NoError(t, err)
			return int64(v)
		case export.Flag:
			v, err := strconv.ParseBool(field)
			require.NoError(t, err)
			return map[bool]int64{true: 1}[v]
		default:
		}
		v, err := strconv.ParseInt(field, 10, 64)
		require.NoError(t, err)
		return v
	default:
		if field == "" && (c.Kind == export.List || c.Kind == export.Object) {
			return "null"
		}
		return field
	}
}

func TestEveryRowReadsBackAsItIsStored(t *testing.T) {
	w := story(t, false)
	out := filepath.Join(t.TempDir(), "tables")
	require.NoError(t, w.export(bench.Selection{}, export.CSV, out))
	entries, err := os.ReadDir(out)
	require.NoError(t, err)
	require.Len(t, entries, len(export.Tables()))
	require.NoError(t, w.store.View(t.Context(), func(v *store.View) error {
		for _, table := range export.Tables() {
			header, rows := readCSV(t, filepath.Join(out, table.Name+".csv"))
			require.NotEmpty(t, rows, "the story leaves something in %s", table.Name)
			var names []string
			for i, c := range table.Columns {
				names = append(names, c.Name)
				require.Equal(t, c.Header(), header[i])
			}
			count := 0
			require.NoError(t, v.Rows(t.Context(), table.Name, names, func(values []any) error {
				require.Less(t, count, len(rows), table.Name)
				for i, c := range table.Columns {
					require.Equal(t, values[i], asStored(t, c, rows[count][i], values[i]), "%s, row %d, %s", table.Name, count, c.Name)
				}
				count++
				return nil
			}))
			assert.Len(t, rows, count, table.Name)
			counted, err := v.Count(t.Context(), table.Name)
			require.NoError(t, err)
			assert.Equal(t, count, counted, table.Name)
		}
		return nil
	}))
}

func TestCSVIsLinesEndedByCRLFWithoutAMark(t *testing.T) {
	w := story(t, false)
	out := filepath.Join(t.TempDir(), "tables")
	require.NoError(t, w.export(bench.Selection{}, export.CSV, out))
	data, err := os.ReadFile(filepath.Join(out, "shifts.csv"))
	require.NoError(t, err)
	assert.True(t, strings.HasPrefix(string(data), "shift,started,"), "no byte-order mark")
	assert.Equal(t, strings.Count(string(data), "\n"), strings.Count(string(data), "\r\n"), "RFC 4180, 2.1")
	assert.Contains(t, string(data), `,"Skerry of Ness, ""north""",Å. Holm,`, "RFC 4180, 2.6 and 2.7")
}

func TestASelectionIsExported(t *testing.T) {
	w := story(t, false)
	for only, want := range map[bench.Selection]int{
		{}:                                     4,
		{Species: "Sterna hirundo"}:            1,
		{From: "2026-05-18"}:                   1,
		{To: "2026-05-17"}:                     3,
		{Shift: w.state.Shift.ID}:              1,
		{Species: "Uria aalge"}:                0,
		{From: "2026-05-17", To: "2026-05-18"}: 4,
	} {
		out := filepath.Join(t.TempDir(), "tables")
		require.NoError(t, w.export(only, export.CSV, out))
		_, rows := readCSV(t, filepath.Join(out, "handlings.csv"))
		assert.Len(t, rows, want, "%+v", only)
	}
}

func TestTrainingIsMarkedInEveryFolder(t *testing.T) {
	w := story(t, true)
	for name, form := range map[string]func(context.Context, export.Source, string) error{
		"csv": export.CSV, "spreadsheet": export.Spreadsheet, "datapackage": export.DataPackage,
	} {
		out := filepath.Join(t.TempDir(), name)
		require.NoError(t, w.export(bench.Selection{}, form, out))
		note, err := os.ReadFile(filepath.Join(out, "TRAINING.txt"))
		require.NoError(t, err)
		assert.Contains(t, string(note), "training records")
	}
}

// failing is records that end in an error in the middle of a table.
type failing struct {
	export.Records
	after atomic.Int64
	err   error
}

func (f *failing) Rows(ctx context.Context, table string, columns []string, each func([]any) error) error {
	return f.Records.Rows(ctx, table, columns, func(values []any) error {
		if f.after.Add(-1) < 0 {
			return f.err
		}
		return each(values)
	})
}

func TestAFailedExportLeavesNothing(t *testing.T) {
	w := story(t, false)
	for _, form := range []func(context.Context, export.Source, string) error{export.CSV, export.DataPackage, export.Spreadsheet} {
		for _, name := range []string{"out", "out.zip"} {
			home := t.TempDir()
			lost := errors.New("the card was pulled out")
			err := w.store.View(t.Context(), func(v *store.View) error {
				records := &failing{Records: v, err: lost}
				records.after.Store(20)
				return form(t.Context(), w.source(records), filepath.Join(home, name))
			})
			require.ErrorIs(t, err, lost)
			entries, err := os.ReadDir(home)
			require.NoError(t, err)
			assert.Empty(t, entries)
		}
	}
}

func TestACancelledExportLeavesNothing(t *testing.T) {
	w := story(t, false)
	home := t.TempDir()
	ctx, cancel := context.WithCancel(t.Context())
	source := w.source(many{rows: 5000})
	told := 0
	source.Progress = func(_ string, rows, of int) {
		assert.Equal(t, 5000, of)
		if told = rows; rows == 2000 {
			cancel()
		}
	}
	err := export.DataPackage(ctx, source, filepath.Join(home, "all.zip"))
	require.ErrorIs(t, err, context.Canceled)
	require.ErrorContains(t, err, "cancelled, and nothing was left behind; start it again")
	assert.Equal(t, 2000, told, "it ends where it was cancelled")
	entries, err := os.ReadDir(home)
	require.NoError(t, err)
	assert.Empty(t, entries)
}

// many is made-up records of any number, in one table when only is given.
type many struct {
	export.Records
	rows int
	only string
}

func (m many) Rows(_ context.Context, table string, columns []string, each func([]any) error) error {
	if m.only != "" && table != m.only {
		return nil
	}
	values := make([]any, len(columns))
	for i := range m.rows {
		for k := range values {
			values[k] = fmt.Sprintf("row %d", i)
		}
		if err := each(values); err != nil {
			return err
		}
	}
	return nil
}

func (m many) Count(context.Context, string) (int, error) { return m.rows, nil }

// A file of the records may be far larger than the memory of a small board:
// what an export holds does not grow with the rows that it has written.
func TestAnExportHoldsNoRows(t *testing.T) {
	var early, late uint64
	source := export.Source{Records: many{rows: 50_000, only: "readings"}, Made: time.Date(2026, 5, 17, 6, 0, 0, 0, time.UTC)}
	source.Progress = func(table string, rows, of int) {
		if table != "readings" || rows != 1000 && rows != of {
			return
		}
		runtime.GC()
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		if rows == of {
			late = m.HeapAlloc
		} else {
			early = m.HeapAlloc
		}
	}
	require.NoError(t, export.DataPackage(t.Context(), source, filepath.Join(t.TempDir(), "all.zip")))
	require.Positive(t, early)
	assert.Less(t, late, early+500_000, "49,000 rows of 20 fields would be some 50 MB")
}

func TestAPlaceThatIsTakenIsRefused(t *testing.T) {
	w := story(t, false)
	home := t.TempDir()
	taken := filepath.Join(home, "taken.zip")
	require.NoError(t, os.WriteFile(taken, []byte("mine"), 0o600))
	require.ErrorContains(t, w.export(bench.Selection{}, export.DataPackage, taken), "is there already; name a new file")
	require.ErrorContains(t, w.export(bench.Selection{}, export.CSV, home), "is not empty; name a new one")
	require.ErrorContains(t, w.export(bench.Selection{}, export.CSV, taken), "name a new folder")
	data, err := os.ReadFile(taken)
	require.NoError(t, err)
	assert.Equal(t, "mine", string(data))
	for _, out := range []string{"missing/all.zip", "missing/tables"} {
		err := w.export(bench.Selection{}, export.DataPackage, filepath.Join(home, out))
		require.ErrorContains(t, err, "name a place where you may write with --out")
	}
	empty := filepath.Join(home, "empty")
	require.NoError(t, os.Mkdir(empty, 0o755))
	require.NoError(t, w.export(bench.Selection{}, export.CSV, empty), "an empty folder is as good as none")
}
