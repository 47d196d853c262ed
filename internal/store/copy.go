package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"time"
)

// stamp writes a time into a file's name: UTC, without signs that a file
// system may refuse.
func stamp(t time.Time) string { return t.UTC().Format("20060102T150405Z") }

// copyTo writes a consistent copy of the database that conn reads to a new
// file in a folder, and returns its path: the one that name gives for the whole
// copy or, where that is taken, one with a count in it. Only then, and when it
// is on the disk, has the copy a name. Others may write to the database
// meanwhile.
func copyTo(ctx context.Context, conn *sql.Conn, folder string, name func(part string) (copyName, error)) (path string, err error) {
	folder, err = filepath.Abs(folder) // SQLite would take "file:…" for a URI
	if err != nil {
		return "", err
	}
	f, err := os.CreateTemp(folder, ".seamfit-*.part") // 0600
	if err != nil {
		return "", err
	}
	part := f.Name()
	defer func() {
		if _, gone := os.Lstat(part); gone == nil {
			err = errors.Join(err, os.Remove(part))
		}
	}()
	if err := f.Close(); err != nil {
		return "", err
	}
	if _, err := conn.ExecContext(ctx, "VACUUM INTO ?", part); err != nil {
		return "", err
	}
	if err := syncFile(part); err != nil {
		return "", err
	}
	asked, err := name(part)
	if err != nil {
		return "", err
	}
	if path, err = place(part, asked); err != nil {
		return "", err
	}
	return path, errors.Join(sweep(path), syncFolder(folder))
}

// sweep removes what copies that never came to their end left beside a new one,
// a day or more before it.
func sweep(path string) error {
	made, err := os.Stat(path)
	if err != nil {
		return err
	}
	folder := filepath.Dir(path)
	entries, err := os.ReadDir(folder)
	if err != nil {
		return err
	}
	var errs []error
	for _, e := range entries {
		info, err := e.Info()
		if err != nil || !strings.HasPrefix(e.Name(), ".seamfit-") || !strings.Contains(e.Name(), ".part") {
			continue // or it is gone already
		}
		if info.Mode().IsRegular() && info.ModTime().Before(made.ModTime().Add(-24*time.Hour)) {
			errs = append(errs, os.Remove(filepath.Join(folder, e.Name())))
		}
	}
	return errors.Join(errs...)
}

// copyName is a copy's name, in the two parts between which a count stands where
// the name is taken.
type copyName struct{ before, after string }

// named is the name of a copy that needs no look first.
func named(before, after string) func(string) (copyName, error) {
	return func(string) (copyName, error) { return copyName{before, after}, nil }
}

// place gives a file its name or, where that is taken, one with a count.
func place(part string, name copyName) (string, error) {
	return numbered(name, func(free string) error { return placeAs(part, free) })
}

// numbered has take try a name, and then that name with a count, as long as it
// returns fs.ErrExist.
func numbered(name copyName, take func(free string) error) (taken string, err error) {
	for i := 1; ; i++ {
		free := name.before + name.after
		if i > 1 {
			free = fmt.Sprintf("%s.%d%s", name.before, i, name.after)
		}
		if err := take(free); !errors.Is(err, fs.ErrExist) {
			return free, err
		}
	}
}

// placeAs gives a file its name without taking the place of another, which is
// fs.ErrExist.
func placeAs(part, name string) error {
	if err := linkAs(part, name); err != nil {
		return err
	}
	if err := os.Remove(part); !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return nil
}

// linkAs gives a file a second name without taking the place of another, which
// is fs.ErrExist. A file system without links, as on many cards, moves it there.
func linkAs(path, name string) error {
	err := os.Link(path, name)
	if err == nil || errors.Is(err, fs.ErrExist) {
		return err
	}
	if _, err := os.Lstat(name); err == nil {
		return fs.ErrExist
	}
	return os.Rename(path, name)
}

func syncFile(path string) error {
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}

// syncFolder makes the names in a folder last. Windows has no such call, and
// needs none.
func syncFolder(folder string) error {
	if runtime.GOOS == "windows" {
		return nil
	}
	f, err := os.Open(folder)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}
