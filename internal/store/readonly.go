package store

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"net/url"
	"os"
	"path/filepath"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"
)

// readOnlyPragmas are those of a file that is only looked at.
func readOnlyPragmas() []pragma {
	return []pragma{
		{"busy_timeout", "5000", "5000"},
		{"trusted_schema", "OFF", "0"},
		{"cache_size", "-256", "-256"}, // KiB for each connection: the system keeps the rest at hand
	}
}

// OpenReadOnly opens the records in path to look at them: nothing is written
// to the file, whatever its schema. One of an earlier schema is read through a
// copy in the system's temporary folder, migrated there. It returns the errors
// of Open, and for a file of an earlier schema what its own check finds; with
// suspect it opens a file with another schema text too, so that Verify can say
// what is wrong with it.
func OpenReadOnly(ctx context.Context, path string, opt Options, suspect bool) (*Store, error) {
	opt.MustExist = true
	s := &Store{path: path, now: opt.clock(), stmts: map[string]*sql.Stmt{}, suspect: suspect}
	if err := s.prepareFile(ctx, opt); err != nil {
		return nil, s.fail("open", err)
	}
	version, err := s.look(ctx)
	if err != nil {
		return nil, errors.Join(s.fail("open", err), s.Close())
	}
	if version < schemaVersion {
		through, err := s.throughCopy(ctx, version, opt)
		return through, errors.Join(s.fail("open", err), s.Close())
	}
	if !suspect {
		err = s.checkSchema(ctx)
	}
	if err == nil {
		err = s.checkTraining(ctx, opt)
	}
	if err != nil {
		return nil, errors.Join(s.fail("open", err), s.Close())
	}
	return s, nil
}

// glance looks at what the file itself says that it is, without SQLite writing,
// locking or making anything: the settings of a working connection change the
// header of whatever they are given. While there is a log, only the header is
// looked at: a crash may have left some pages of the file newer than others,
// and whole only together with the log.
func (s *Store) glance(ctx context.Context) (err error) {
	if info, err := os.Stat(s.path + "-wal"); err == nil && info.Size() > 0 {
		return s.glanceAtHeader()
	}
	first := &Store{path: s.path, stmts: map[string]*sql.Stmt{}}
	defer func() { err = errors.Join(err, first.Close()) }()
	if first.db, err = sql.Open("sqlite", dsn(s.path, url.Values{"mode": {"ro"}, "immutable": {"1"}}, nil)); err != nil {
		return err
	}
	if first.writer, err = first.db.Conn(ctx); err != nil {
		return err
	}
	if err := first.checkIdentity(ctx); err != nil || s.suspect {
		return s.fail("open", err)
	}
	version, err := first.pragmaInt(ctx, "user_version")
	if err != nil {
		return s.fail("open", err)
	}
	return s.fail("open", first.requireSchema(ctx, first.writer, digestOfVersion(version)))
}

// glanceAtHeader refuses a file whose header is another program's. One whose
// header is not there yet, or torn, is for SQLite to mend from the log.
func (s *Store) glanceAtHeader() (err error) {
	f, err := os.Open(s.path)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	header := make([]byte, 100) // "The Database Header" of SQLite's file format
	if _, short := io.ReadFull(f, header); short != nil || !bytes.HasPrefix(header, []byte("SQLite format 3\x00")) {
		return nil
	}
	if id := binary.BigEndian.Uint32(header[68:]); id != 0 && id != applicationID {
		return s.notOurs()
	}
	return nil
}

// look takes a connection that can't write, and returns the schema's version.
func (s *Store) look(ctx context.Context) (version int64, err error) {
	// SQLite leaves its log and index behind where it may only read; who can
	// write takes them away again.
	if _, err := os.Lstat(s.path + "-wal"); errors.Is(err, os.ErrNotExist) {
		s.after = append(s.after, func() { s.takeAwayLog(context.WithoutCancel(ctx)) })
	}
	for _, query := range []url.Values{{"mode": {"ro"}}, {"mode": {"ro"}, "immutable": {"1"}}} {
		if s.db, err = sql.Open("sqlite", dsn(s.path, query, readOnlyPragmas())); err != nil {
			return 0, err
		}
		s.db.SetMaxOpenConns(4)
		if s.writer, err = s.db.Conn(ctx); err == nil {
			err = s.checkIdentity(ctx)
		}
		if err == nil {
			return s.pragmaInt(ctx, "user_version")
		}
		// Where there is no log and none can be made, nobody writes.
		if _, logged := os.Lstat(s.path + "-wal"); !needsToWrite(err) || logged == nil {
			return 0, err
		}
		if s.writer != nil {
			err = errors.Join(err, s.writer.Close())
		}
		s.writer = nil
		if closed := s.db.Close(); closed != nil {
			return 0, errors.Join(err, closed)
		}
	}
	return 0, err
}

func needsToWrite(err error) bool {
	var sq *sqlite.Error
	return errors.As(err, &sq) && (sq.Code()&0xff == sqlite3.SQLITE_READONLY || sq.Code()&0xff == sqlite3.SQLITE_CANTOPEN)
}

// takeAwayLog lets SQLite remove the empty log that a look left: the last
// connection that may write does so, under SQLite's own locks.
func (s *Store) takeAwayLog(ctx context.Context) {
	info, err := os.Stat(s.path + "-wal")
	if err != nil || info.Size() > 0 {
		return
	}
	db, err := sql.Open("sqlite", dsn(s.path, url.Values{"mode": {"rw"}}, nil))
	if err != nil {
		return
	}
	// Whether it succeeds makes no difference to what was read.
	_ = db.QueryRowContext(ctx, "SELECT count(*) FROM sqlite_schema").Scan(new(int))
	_ = db.Close()
}

// throughCopy returns a store of a migrated copy that is gone when it is
// closed. It names the original as its path.
func (s *Store) throughCopy(ctx context.Context, version int64, opt Options) (_ *Store, err error) {
	if err := s.requireSchema(ctx, s.writer, digestOfVersion(version)); err != nil {
		return nil, err
	}
	var first string
	if err := s.writer.QueryRowContext(ctx, "PRAGMA integrity_check(1)").Scan(&first); err != nil {
		return nil, err
	}
	if first != "ok" {
		return nil, &Error{Op: "open", Path: s.path, Err: fmt.Errorf("%w: %s", ErrDamaged, first), Hint: mendDamaged}
	}
	folder, err := os.MkdirTemp("", "seamfit-")
	if err != nil {
		return nil, err
	}
	through := &Store{path: filepath.Join(folder, "records.db"), now: s.now, stmts: map[string]*sql.Stmt{}}
	through.after = append(through.after, func() { _ = os.RemoveAll(folder) }) // at worst the system's folder keeps it
	if _, err := copyTo(ctx, s.writer, folder, named(through.path, "")); err != nil {
		return nil, errors.Join(err, through.Close())
	}
	through.temporary = true
	if err := through.connect(ctx, opt); err != nil {
		return nil, errors.Join(err, through.Close())
	}
	through.path = s.path
	return through, nil
}
