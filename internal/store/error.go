package store

import (
	"errors"
	"fmt"
	"io/fs"
	"strings"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"

	"seamfit/internal/bench"
)

// The reasons that a caller may act on; an *Error wraps one of them where it
// applies, and bench.ErrRefused where a rule of the records said no.
var (
	ErrNotDatabase = errors.New("not a database of Seamfit")
	ErrNewer       = errors.New("written by a newer Seamfit")
	ErrTampered    = errors.New("its guards are not the ones that Seamfit made")
	ErrTraining    = errors.New("training and real records never mix")
	ErrDamaged     = errors.New("damaged")
	ErrFull        = errors.New("the disk is full")
	ErrReadOnly    = errors.New("can't be written to")
	ErrBusy        = errors.New("another program has it locked")
)

// mendDamaged is what to do about a damaged file.
const mendDamaged = "leave the file as it is, copy it aside, and restore the last backup"

// Error tells what failed on which file, and what a person can do.
type Error struct {
	Op   string // "open", "save", "read" …
	Path string
	Err  error
	Hint string
}

// Error returns "what went wrong; how to mend it" on one line.
func (e *Error) Error() string {
	text := fmt.Sprintf("%s %q: %v", e.Op, e.Path, e.Err)
	if e.Hint != "" {
		text += "; " + e.Hint
	}
	return text
}

// Unwrap returns the cause.
func (e *Error) Unwrap() error { return e.Err }

// fail wraps an error of the driver or the system with its reason and mend.
// An *Error is returned as it is.
func (s *Store) fail(op string, err error) error {
	if err == nil {
		return nil
	}
	var done *Error
	if errors.As(err, &done) {
		return err
	}
	reason, hint := classify(err)
	var sq *sqlite.Error
	if op == "open" && reason == nil && errors.As(err, &sq) && sq.Code()&0xff == sqlite3.SQLITE_ERROR {
		reason, hint = ErrDamaged, mendDamaged // what opening asks for is in every whole file
	}
	switch {
	case errors.Is(reason, bench.ErrRefused):
		err = fmt.Errorf("%w: %s", reason, refusedWords(err.Error()))
	case reason != nil:
		err = fmt.Errorf("%w (%w)", reason, err)
	}
	return &Error{Op: op, Path: s.path, Err: err, Hint: hint}
}

// refusedWords are what a guard of the records says, without what SQLite writes
// around it.
func refusedWords(text string) string {
	_, said, _ := strings.Cut(text, "seamfit: ")
	if i := strings.LastIndex(said, " ("); i >= 0 {
		said = said[:i] // its code
	}
	if strings.Contains(said, "facts of a handling come in order") {
		return "another program has gone on with this bird meanwhile"
	}
	return said
}

//
//nolint:revive,staticcheck // the reason is a result, not this function's failure
func classify(err error) (reason error, hint string) {
	var sq *sqlite.Error
	if !errors.As(err, &sq) {
		switch {
		case errors.Is(err, fs.ErrPermission):
			return ErrReadOnly, "give yourself write permission there, or name another file with --db"
		case errors.Is(err, fs.ErrNotExist):
			return nil, "make the folder first, or name another file with --db"
		}
		return nil, ""
	}
	switch sq.Code() & 0xff {
	case sqlite3.SQLITE_FULL:
		return ErrFull, "make room on the disk; what is on the screen is kept and saved as soon as there is room"
	case sqlite3.SQLITE_READONLY, sqlite3.SQLITE_PERM:
		return ErrReadOnly, "give yourself write permission for the file and its folder"
	case sqlite3.SQLITE_CANTOPEN:
		return ErrReadOnly, "check that the file and its folder are there and that you may read and write them, or name another file with --db"
	case sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED:
		return ErrBusy, "close the other program that is writing to this file"
	case sqlite3.SQLITE_NOTADB:
		return ErrNotDatabase, "name the bench's own file with --db, or a new name to begin one"
	case sqlite3.SQLITE_CORRUPT:
		return ErrDamaged, mendDamaged
	case sqlite3.SQLITE_CONSTRAINT:
		if strings.Contains(sq.Error(), "seamfit: ") {
			return bench.ErrRefused, ""
		}
	case sqlite3.SQLITE_IOERR:
		return nil, "check the disk or card, and its quota: it failed to read or write"
	}
	return nil, ""
}
