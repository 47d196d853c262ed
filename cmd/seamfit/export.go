package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"sync"
	"time"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"seamfit/internal/bench"
	"seamfit/internal/export"
	"seamfit/internal/metrology"
	"seamfit/internal/store"
)

// exporting is what an export was asked to do.
type exporting struct {
	as, out string
	only    bench.Selection
	mapFile string // of --as table
	mark    bool   // the rows are marked as submitted
	by      string // who submits
}

func (a *app) exportCommand() *cobra.Command {
	var e exporting
	cmd := &cobra.Command{
		Use:   "export --as FORM --out PLACE",
		Short: "Write the records as open files",
		Long: `Write the records as open files, in one of these forms:

  csv          linked tables, one CSV file each (RFC 4180), in a new folder
  datapackage  the same with a descriptor of types, units and keys (Data
               Package 2.0), in a new folder, or a .zip file by the name
  spreadsheet  copies for a spreadsheet program, in a new folder: text that it
               could take for a formula is guarded
  table        one row for each bird, in the columns and codes of your own
               map, in a new folder; records that are open or disputed apart
  bands        the numbers that are used up: on birds, destroyed or lost, as
               one CSV file

Rows of all tables are joined by the column handling, and within a handling by
seq. Nothing is rounded and nothing is left out; only the spreadsheet copies
alter text.

With --mark-submitted a table's rows are remembered. The next table through the
same map has only what is new, and in changes.csv what was corrected since. Rows are
marked before their folder gets its name; if the program ends between the two,
the next --mark-submitted writes those rows first. submission.json in the folder
names the submission, so that none is handed in twice.

` + mapHelp(),
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error { return a.export(cmd.Context(), e) },
	}
	flags := cmd.Flags()
	flags.StringVar(&e.as, "as", "csv", "form of the export")
	flags.StringVar(&e.out, "out", "", "the new folder or file")
	flags.StringVar(&e.mapFile, "map", "", "your map of columns and codes, a TOML file, for --as table")
	flags.BoolVar(&e.mark, "mark-submitted", false, "remember the table's rows as handed in")
	flags.StringVar(&e.by, "by", "", "who hands them in")
	selectFlags(cmd, &e.only)
	return cmd
}

// mapHelp tells how a map is written.
func mapHelp() string {
	fields := metrology.Wrap(strings.Join(export.FieldNames(), ", ")+", and measure.NAME for a further measure", 76)
	return `A map is a TOML file:

  name = "office"           # what submissions are remembered by
  separator = ";"           # "," unless given; or "\t"
  decimal = ","             # "." unless given
  date = "DD.MM.YYYY"       # forms of local dates and times
  time = "HH:mm"
  banded_only = true        # leave out birds that left without a number
  [[column]]
  name = "Age"
  from = "age"              # the field that it shows; or value = "the same everywhere"
  codes = { adult = "4" }   # a value without a code is an error,
  else = "0"                # unless this is given
  empty = "-"               # where the record has no value

Fields:
  ` + strings.Join(fields, "\n  ")
}

// selectFlags adds the flags that say which birds are meant.
func selectFlags(cmd *cobra.Command, only *bench.Selection) {
	flags := cmd.Flags()
	flags.StringVar(&only.Shift, "shift", "", `only this shift, by its identifier, or "last"`)
	flags.StringVar(&only.From, "from", "", "only birds from this day on, 2026-05-17")
	flags.StringVar(&only.To, "to", "", "only birds up to this day")
	flags.StringVar(&only.Species, "species", "", "only this species")
}

func (a *app) export(ctx context.Context, e exporting) (err error) {
	write, err := e.form()
	if err != nil {
		return err
	}
	files, err := a.load()
	if err != nil {
		return err
	}
	open := a.openForReading
	if e.mark {
		open = func(ctx context.Context) (*store.Store, error) { return a.openForWork(ctx, files.setup) }
	}
	records, err := open(ctx)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, records.Close()) }()
	if e.only, err = a.selection(ctx, records, files.setup, e.only); err != nil {
		return err
	}
	if e.as == "table" {
		return a.exportTable(ctx, records, e)
	}
	if err := a.exporting(ctx, records, e, func(s export.Source, _ *store.View) error { return write(ctx, s, e.out) }); err != nil {
		return err
	}
	return a.exported(e, records.Training())
}

// form returns what writes the form that was asked for; nil for a table, which
// needs more.
func (e exporting) form() (func(context.Context, export.Source, string) error, error) {
	forms := map[string]func(context.Context, export.Source, string) error{
		"csv": export.CSV, "datapackage": export.DataPackage, "spreadsheet": export.Spreadsheet, "bands": export.Bands, "table": nil,
	}
	write, ok := forms[e.as]
	switch {
	case !ok:
		return nil, usagef("--as %q is unknown; use csv, datapackage, spreadsheet, table or bands", e.as)
	case e.out == "":
		return nil, usagef("--out is missing; name the folder or file to write")
	case e.as == "table" && e.mapFile == "":
		return nil, usagef("--map is missing; name the file with your columns and codes")
	case e.as != "table" && (e.mapFile != "" || e.mark || e.by != ""):
		return nil, usagef("--map, --mark-submitted and --by go with --as table; take them out, or use that form")
	case e.mark && e.by == "":
		return nil, usagef("--by is missing; say who hands the rows in")
	}
	return write, nil
}

// exporting calls write with the selected records as they are now, and shows
// progress meanwhile.
func (a *app) exporting(ctx context.Context, records *store.Store, e exporting, write func(export.Source, *store.View) error) error {
	progress, done := a.progress()
	defer done()
	return records.PairedView(ctx, func(v *store.View) error {
		return write(export.Source{
			Records: v.Only(e.only), Only: e.only, Training: records.Training(), Made: a.now(), Version: programVersion(), Progress: progress,
		}, v)
	})
}

func (a *app) exported(e exporting, training bool) error {
	if a.json() {
		return a.writeJSON(map[string]any{"as": e.as, "out": e.out, "training": training})
	}
	if training {
		return a.printf("exported training records to %s\n", e.out)
	}
	return a.printf("exported to %s\n", e.out)
}

// openForReading opens the bench's database, or a training one by its name, to
// read it out. Nothing is written to it.
func (a *app) openForReading(ctx context.Context) (*store.Store, error) {
	path, err := a.recordsFile()
	if err != nil {
		return nil, err
	}
	return store.OpenReadOnly(ctx, path, store.Options{EitherKind: true, Now: a.now}, false)
}

// openForWork opens the same to write to it.
func (a *app) openForWork(ctx context.Context, setup *bench.Setup) (*store.Store, error) {
	path, err := a.recordsFile()
	if err != nil {
		return nil, err
	}
	return store.Open(ctx, path, store.Options{Closures: setup.Book.Closures, MustExist: true, EitherKind: true, Now: a.now})
}

// selection puts what was typed into the words of the records, and refuses
// what can't be meant.
func (a *app) selection(ctx context.Context, records *store.Store, setup *bench.Setup, only bench.Selection) (bench.Selection, error) {
	if err := only.Check(); err != nil {
		return only, usageError{err}
	}
	if species, ok := setup.Book.SpeciesNamed(only.Species); ok {
		only.Species = species.Scientific
	}
	if only.Shift == "" {
		return only, nil
	}
	shift, err := records.ShiftNamed(ctx, only.Shift)
	if err != nil {
		return only, err
	}
	if shift == nil {
		return only, fmt.Errorf("the records have no shift %q; give its identifier as seamfit shift show tells it, or \"last\"", only.Shift)
	}
	only.Shift = shift.ID
	return only, nil
}

// progress returns what tells of an export's progress on a terminal, at most
// five times a second, and what wipes it when the export has ended. Elsewhere
// both do nothing.
func (a *app) progress() (tell func(table string, rows, of int), done func()) {
	f, ok := a.stderr.(*os.File)
	if !ok || !term.IsTerminal(int(f.Fd())) {
		return nil, func() {}
	}
	return progressOn(f, a.now)
}

func progressOn(w io.Writer, now func() time.Time) (tell func(table string, rows, of int), done func()) {
	var last time.Time
	var telling sync.Mutex
	const width = 48
	tell = func(table string, rows, of int) {
		telling.Lock()
		defer telling.Unlock()
		if t := now(); t.Sub(last) >= time.Second/5 {
			last = t
			_, _ = fmt.Fprintf(w, "\r%-*s", width, fmt.Sprintf("%s: %d of %d rows", table, rows, of)) // a help, not a result
		}
	}
	done = func() {
		if !last.IsZero() {
			_, _ = fmt.Fprintf(w, "\r%s\r", strings.Repeat(" ", width))
		}
	}
	return tell, done
}
