package store

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
)

// UnsoundError says that a copy was made of records in which Verify finds
// something. The copy is kept, under a name that says so.
type UnsoundError struct {
	Path  string
	First Finding
}

// Error returns "what went wrong; how to mend it".
func (e *UnsoundError) Error() string {
	return fmt.Sprintf("the records are not whole (%s: %s); the copy is kept as %q and the earlier backups are left: see what verify finds, and restore one of them",
		e.First.What, e.First.Where, e.Path)
}

// Backup writes a consistent copy of the records to a folder, which is made
// where there is none, while others may go on writing. The copy is named by
// the time and the database, is verified before it has its name, and is on the
// disk when Backup returns its path. Then the oldest backups of this database
// in the folder are removed until keep are left; with keep 0 all stay. It
// returns an *UnsoundError, removing none, when the records are not whole, and
// an *Error when the copy can't be made.
func (s *Store) Backup(ctx context.Context, folder string, keep int) (path string, err error) {
	if err := os.MkdirAll(folder, 0o700); err != nil {
		return "", s.fail("back up", err)
	}
	conn, err := s.db.Conn(ctx)
	if err != nil {
		return "", s.fail("back up", err)
	}
	defer func() { err = errors.Join(err, conn.Close()) }()
	base := filepath.Base(s.path)
	end := filepath.Ext(base)
	// A count stands behind the time: behind the database's name it could be the
	// end of another's.
	name := copyName{filepath.Join(folder, stamp(s.now())), "-" + base}
	var unsound *UnsoundError
	path, err = copyTo(ctx, conn, folder, func(part string) (copyName, error) {
		first, err := verifyFile(ctx, part)
		if err != nil || first == nil {
			return name, err
		}
		unsound = &UnsoundError{First: *first}
		return copyName{name.before, "-" + strings.TrimSuffix(base, end) + ".unsound" + end}, nil
	})
	if err != nil {
		return "", s.fail("back up", err)
	}
	if unsound != nil {
		unsound.Path = path
		return "", unsound
	}
	return path, s.Prune(path, keep)
}

// Prune removes the oldest backups of this database beside the newest until keep are
// left; with keep 0 all stay.
func (s *Store) Prune(newest string, keep int) error {
	return s.fail("back up", prune(newest, filepath.Base(s.path), keep))
}

// verifyFile returns the first thing that Verify finds in a file; nil when it
// is whole.
func verifyFile(ctx context.Context, path string) (first *Finding, err error) {
	s, err := OpenReadOnly(ctx, path, Options{EitherKind: true}, true)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, s.Close()) }()
	enough := errors.New("one finding is enough")
	err = s.Verify(ctx, func(f Finding) error {
		first = &f
		return enough
	})
	if errors.Is(err, enough) {
		err = nil
	}
	return first, err
}

// prune removes the oldest backups of a database beside the newest one, which
// is never among them, whatever the clock said.
func prune(newest, base string, keep int) error {
	folder := filepath.Dir(newest)
	entries, err := os.ReadDir(folder)
	if err != nil || keep <= 0 {
		return err
	}
	form := regexp.MustCompile(`^\d{8}T\d{6}Z(\.[0-9]{1,6})?-` + regexp.QuoteMeta(base) + `$`)
	var older []string
	for _, e := range entries {
		if form.MatchString(e.Name()) && e.Type().IsRegular() && e.Name() != filepath.Base(newest) {
			older = append(older, e.Name())
		}
	}
	// By their time, and by their count where several were made in a second.
	slices.SortFunc(older, func(a, b string) int {
		return cmp.Or(cmp.Compare(a[:len("20060102T150405Z")], b[:len("20060102T150405Z")]), cmp.Compare(len(a), len(b)), cmp.Compare(a, b))
	})
	var errs []error
	for _, name := range older[:max(0, len(older)-keep+1)] {
		errs = append(errs, os.Remove(filepath.Join(folder, name)))
	}
	return errors.Join(errs...)
}
