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
)

// Restore puts the records in the file from in the place of those in path,
// which may be missing or damaged. The file is verified first, and only a copy
// of it is used. What was in path is kept beside it, under the name that
// Restore returns; empty when there was nothing. It returns ErrBusy while
// another program has path open, ErrDamaged for a file that is not whole, and
// OpenReadOnly's errors for it.
func Restore(ctx context.Context, path, from string, opt Options) (kept string, err error) {
	s := &Store{path: path, now: opt.clock()}
	if a, err := os.Stat(path); err == nil {
		if b, err := os.Stat(from); err == nil && os.SameFile(a, b) {
			return "", &Error{Op: "restore", Path: from, Err: errors.New("it is the file that would be replaced"), Hint: "name the backup"}
		}
	}
	source, err := openVerified(ctx, from, opt)
	if err != nil {
		return "", err
	}
	defer func() { err = errors.Join(err, source.Close()) }()
	folder := filepath.Dir(path)
	if err := os.MkdirAll(folder, 0o700); err != nil {
		return "", s.fail("restore", err)
	}
	part, err := copyTo(ctx, source.writer, folder, named(filepath.Join(folder, ".seamfit-restoring"), ".part"))
	if err != nil {
		return "", s.fail("restore", err)
	}
	kept, err = s.replaceBy(ctx, part)
	if err != nil {
		err = errors.Join(err, os.Remove(part))
	}
	return kept, s.fail("restore", err)
}

// openVerified opens a file read-only and returns ErrDamaged when Verify finds
// something in it.
func openVerified(ctx context.Context, path string, opt Options) (*Store, error) {
	s, err := OpenReadOnly(ctx, path, opt, false)
	if err != nil {
		return nil, err
	}
	err = s.Verify(ctx, func(f Finding) error {
		return &Error{Op: "verify", Path: path, Err: fmt.Errorf("%w: %s: %s", ErrDamaged, f.What, f.Where), Hint: "use another backup; seamfit verify lists all that is wrong with this one"}
	})
	if err != nil {
		return nil, errors.Join(err, s.Close())
	}
	return s, nil
}

// replaceBy keeps the file under another name and gives its own to part. A log
// that could not be taken in is kept first: beside another file it would be
// taken for that one's.
func (s *Store) replaceBy(ctx context.Context, part string) (kept string, err error) {
	_, err = os.Lstat(s.path)
	missing := errors.Is(err, fs.ErrNotExist)
	if !missing {
		if err := s.nobodyElse(ctx); err != nil {
			return "", err
		}
	}
	if kept, err = numbered(copyName{s.path + ".replaced." + stamp(s.now()), ".db"}, unused); err != nil {
		return "", err
	}
	logged := false
	for _, end := range []string{"-wal", "-shm"} {
		switch err := os.Rename(s.path+end, kept+end); {
		case err == nil:
			logged = true
		case !errors.Is(err, fs.ErrNotExist):
			return "", err
		}
	}
	switch {
	case !missing:
		err = linkAs(s.path, kept)
	case logged:
		kept += "-wal" // there is nothing else
	default:
		kept = ""
	}
	if err != nil {
		return "", err
	}
	return kept, errors.Join(os.Rename(part, s.path), syncFolder(filepath.Dir(s.path)))
}

// unused returns fs.ErrExist for a name that a file or its log has.
func unused(name string) error {
	for _, end := range []string{"", "-wal", "-shm"} {
		if _, err := os.Lstat(name + end); err == nil {
			return fs.ErrExist
		}
	}
	return nil
}

// nobodyElse returns ErrBusy while another connection has the file open, and
// takes the log into the file. Only the last connection can leave WAL mode. A
// file that SQLite can't read is nobody's.
func (s *Store) nobodyElse(ctx context.Context) (err error) {
	wait := []pragma{{name: "busy_timeout", set: "1000"}}
	db, err := sql.Open("sqlite", dsn(s.path, url.Values{"mode": {"rw"}}, wait))
	if err != nil {
		return err
	}
	_, err = db.ExecContext(ctx, "PRAGMA journal_mode = DELETE")
	err = errors.Join(err, db.Close())
	if reason, _ := classify(err); errors.Is(reason, ErrBusy) {
		return &Error{Op: "restore", Path: s.path, Err: fmt.Errorf("%w (%w)", ErrBusy, err), Hint: "end the other program that has these records open, the station too"}
	}
	return nil
}
