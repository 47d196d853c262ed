package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"time"

	_ "modernc.org/sqlite" // the driver "sqlite"

	"seamfit/internal/catalogue"
)

// Options say what kind of file is meant and what goes into a new one.
type Options struct {
	// Training is the kind of records. It is set for ever when the file is
	// made; opening a file of the other kind fails with ErrTraining.
	Training bool
	// EitherKind opens the file whatever its kind, for reading it out; see
	// Store.Training.
	EitherKind bool
	// Closures are the closure kinds in force; their statements are declared
	// to the file, where the trigger that refuses completion reads them.
	Closures []catalogue.Closure
	// MustExist refuses to make a new file.
	MustExist bool
	// Now is the clock; nil: the system's.
	Now func() time.Time
}

// Store is an open database.
type Store struct {
	path      string
	db        *sql.DB
	now       func() time.Time
	training  bool
	temporary bool     // a copy that is gone after its use
	begun     bool     // a new file, which may be empty
	suspect   bool     // looked at whatever its schema's text
	after     []func() // what Close does last

	saving sync.Mutex // one save at a time
	writer *sql.Conn
	stmts  map[string]*sql.Stmt // of the writer, by SQL text
}

// Open opens the records in path, making the file (0600) and its folder where
// there is none. It returns an *Error that wraps ErrNotDatabase, ErrNewer,
// ErrTampered, ErrTraining, ErrReadOnly, ErrBusy, ErrDamaged or the system's
// error.
func Open(ctx context.Context, path string, opt Options) (*Store, error) {
	s := &Store{path: path, now: opt.clock(), stmts: map[string]*sql.Stmt{}}
	if err := s.prepareFile(ctx, opt); err != nil {
		return nil, s.fail("open", err)
	}
	if err := s.connect(ctx, opt); err != nil {
		return nil, errors.Join(s.fail("open", err), s.Close())
	}
	return s, nil
}

func (o Options) clock() func() time.Time {
	if o.Now == nil {
		return time.Now
	}
	return o.Now
}

// Path returns the file's name.
func (s *Store) Path() string { return s.path }

// Training reports whether the file holds training records.
func (s *Store) Training() bool { return s.training }

// Close ends the use of the file. Saves that have returned are safe.
func (s *Store) Close() error {
	s.saving.Lock()
	defer s.saving.Unlock()
	var errs []error
	for _, st := range s.stmts {
		errs = append(errs, st.Close())
	}
	if s.writer != nil {
		errs = append(errs, s.writer.Close())
	}
	if s.db != nil {
		errs = append(errs, s.db.Close())
	}
	for _, last := range s.after {
		last()
	}
	return s.fail("close", errors.Join(errs...))
}

// prepareFile makes a new file where there is none, and looks at one that
// exists before anything can be written to it.
func (s *Store) prepareFile(ctx context.Context, opt Options) error {
	info, err := os.Stat(s.path)
	switch {
	case err == nil && info.IsDir():
		return &Error{Op: "open", Path: s.path, Err: errors.New("is a folder"), Hint: "name a file in it with --db"}
	case err == nil && !info.Mode().IsRegular():
		return &Error{Op: "open", Path: s.path, Err: errors.New("is no file but a device or a pipe"), Hint: "name the bench's file with --db"}
	case err == nil && info.Size() == 0:
		return &Error{Op: "open", Path: s.path, Err: fmt.Errorf("%w: the file is empty", ErrDamaged), Hint: "restore the last backup, or move the file away to begin anew"}
	case err == nil:
		return s.glance(ctx)
	case !errors.Is(err, fs.ErrNotExist):
		return err
	case s.logAlone():
		return &Error{
			Op: "open", Path: s.path, Err: fmt.Errorf("%w: the file is missing, and its log lies there", ErrDamaged),
			Hint: "put the file back beside the one whose name ends in -wal, or restore the last backup",
		}
	case opt.MustExist:
		return &Error{Op: "open", Path: s.path, Err: fs.ErrNotExist, Hint: "name the bench's file with --db, or begin one with seamfit station or bands receive"}
	}
	if err := os.MkdirAll(filepath.Dir(s.path), 0o700); err != nil {
		return err
	}
	return s.create(ctx, opt)
}

// logAlone reports whether the file's log lies there: a new file of its name
// would be taken for the one that the log belongs to.
func (s *Store) logAlone() bool {
	log, err := os.Stat(s.path + "-wal")
	return err == nil && log.Size() > 0
}

// create makes a new file under another name and gives it its own when it is
// whole, so that a file under that name never lacks its guards.
func (s *Store) create(ctx context.Context, opt Options) (err error) {
	folder := filepath.Dir(s.path)
	f, err := os.CreateTemp(folder, ".seamfit-*.part") // 0600
	if err != nil {
		return err
	}
	part := f.Name()
	defer func() {
		if _, gone := os.Lstat(part); gone == nil {
			err = errors.Join(err, os.Remove(part))
		}
	}()
	if err := f.Close(); err != nil {
		return err
	}
	made := &Store{path: part, now: s.now, stmts: map[string]*sql.Stmt{}, begun: true}
	if err := errors.Join(made.connect(ctx, opt), made.Close()); err != nil {
		return err
	}
	err = placeAs(part, s.path)
	if errors.Is(err, fs.ErrExist) {
		return nil // another program made it meanwhile
	}
	return errors.Join(err, syncFolder(folder))
}

// pragmas are set on every connection, and read back at the start: a misspelt
// one passes silently.
func pragmas() []pragma {
	return []pragma{
		{"busy_timeout", "5000", "5000"},
		{"journal_mode", "WAL", "wal"},
		{"synchronous", "FULL", "2"},
		{"foreign_keys", "ON", "1"},
		{"fullfsync", "1", "1"},
		{"recursive_triggers", "ON", "1"},
		{"cache_size", "-1024", "-1024"}, // KiB for each connection: the system keeps the rest at hand
		{"trusted_schema", "OFF", "0"},
	}
}

type pragma struct{ name, set, readBack string }

// dsn builds the URI by url.URL, so that no character of the path can end it.
func dsn(path string, q url.Values, pragmas []pragma) string {
	for _, p := range pragmas {
		q.Add("_pragma", p.name+"("+p.set+")")
	}
	// A relative path must not be taken for a host or an opaque URI.
	if abs, err := filepath.Abs(path); err == nil {
		path = filepath.ToSlash(abs)
	}
	u := url.URL{Scheme: "file", OmitHost: true, Path: path, RawQuery: q.Encode()}
	return u.String()
}

// connect checks what the file is, brings it to this schema, and takes the
// connection that saves.
func (s *Store) connect(ctx context.Context, opt Options) (err error) {
	if s.db, err = sql.Open("sqlite", dsn(s.path, url.Values{"_txlock": {"immediate"}}, pragmas())); err != nil {
		return err
	}
	s.db.SetMaxOpenConns(4)
	if s.writer, err = s.db.Conn(ctx); err != nil {
		return err
	}
	if err := s.checkIdentity(ctx); err != nil {
		return err
	}
	if err := s.readBackPragmas(ctx); err != nil {
		return err
	}
	if err := s.migrate(ctx, opt); err != nil {
		return err
	}
	if err := s.checkSchema(ctx); err != nil {
		return err
	}
	if err := s.checkTraining(ctx, opt); err != nil {
		return err
	}
	return s.declare(ctx, opt)
}

// readBackPragmas makes sure that every setting was understood.
func (s *Store) readBackPragmas(ctx context.Context) error {
	for _, p := range pragmas() {
		var got string
		if err := s.writer.QueryRowContext(ctx, "PRAGMA "+p.name).Scan(&got); err != nil {
			return err
		}
		if !strings.EqualFold(got, p.readBack) {
			return fmt.Errorf("the setting %s is %q instead of %q", p.name, got, p.readBack)
		}
	}
	return nil
}

// set runs statements of this package on the connection that saves.
func (s *Store) set(ctx context.Context, texts ...string) error {
	for _, text := range texts {
		if _, err := s.writer.ExecContext(ctx, text); err != nil {
			return err
		}
	}
	return nil
}

func (s *Store) pragmaInt(ctx context.Context, name string) (int64, error) {
	var text string
	if err := s.writer.QueryRowContext(ctx, "PRAGMA "+name).Scan(&text); err != nil {
		return 0, err
	}
	return strconv.ParseInt(text, 10, 64)
}
