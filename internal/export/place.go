package export

import (
	"archive/zip"
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"time"
)

// place is where an export goes, under a temporary name until it is published.
// Its files are closed before.
type place interface {
	create(name string) (entry, error)
	abreast() int // how many files may be open at a time
	publish() error
	abandon() error
}

// entry is a file of a place. end brings it to the disk or, where writing it has
// failed, only lets go of it, and returns the first error.
type entry interface {
	io.Writer
	end(failed error) error
}

// put has write fill a new file of a place.
func put(p place, name string, write func(io.Writer) error) error {
	w, err := p.create(name)
	if err != nil {
		return err
	}
	return w.end(write(w))
}

// into has write fill a place and publishes it; on any error nothing is left.
func into(open func() (place, error), write func(place) error) error {
	p, err := open()
	if err != nil {
		return mended(err)
	}
	if err := write(p); err != nil {
		return errors.Join(mended(err), p.abandon())
	}
	if err := p.publish(); err != nil {
		return errors.Join(mended(err), p.abandon())
	}
	return nil
}

// mended adds what a person can do about the system's refusals.
func mended(err error) error {
	switch {
	case errors.Is(err, context.Canceled):
		return fmt.Errorf("cancelled, and nothing was left behind; start it again when you like (%w)", err)
	case errors.Is(err, syscall.ENOSPC):
		return fmt.Errorf("%w; make room on the disk, or name another place with --out", err)
	case errors.Is(err, fs.ErrPermission), errors.Is(err, syscall.EROFS), errors.Is(err, fs.ErrNotExist):
		return fmt.Errorf("%w; name a place where you may write with --out", err)
	default:
		return err
	}
}

// folder is a place of many files.
type folder struct {
	name, partial string
}

// newFolder begins a folder. It returns an error when one of that name holds
// anything: an export never mixes with what was there.
func newFolder(name string) (place, error) {
	name = filepath.Clean(name)
	entries, err := os.ReadDir(name)
	switch {
	case errors.Is(err, fs.ErrNotExist):
	case err != nil:
		return nil, fmt.Errorf("look into %q: %w; name a new folder", name, err)
	case len(entries) > 0:
		return nil, fmt.Errorf("the folder %q is not empty; name a new one, or empty it first", name)
	}
	partial, err := os.MkdirTemp(filepath.Dir(name), "."+filepath.Base(name)+"-")
	if err != nil {
		return nil, fmt.Errorf("make a folder beside %q: %w", name, err)
	}
	return &folder{name: name, partial: partial}, nil
}

func (f *folder) create(name string) (entry, error) {
	file, err := os.OpenFile(filepath.Join(f.partial, name), os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o644)
	if err != nil {
		return nil, err
	}
	return &onDisk{bufio.NewWriterSize(file, 64<<10), file}, nil
}

// abreast: one core fills a file while another fills the next.
func (f *folder) abreast() int { return 2 }

// onDisk is a file of a folder.
type onDisk struct {
	*bufio.Writer
	file *os.File
}

func (o *onDisk) end(err error) error {
	if err == nil {
		err = o.Flush()
	}
	if err == nil {
		err = o.file.Sync()
	}
	return errors.Join(err, o.file.Close())
}

func (f *folder) publish() error {
	if err := os.Chmod(f.partial, 0o755); err != nil { // MkdirTemp's is for one user only
		return err
	}
	if err := syncFolder(f.partial); err != nil {
		return err
	}
	if err := os.Remove(f.name); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	if err := os.Rename(f.partial, f.name); err != nil {
		return err
	}
	return syncFolder(filepath.Dir(f.name))
}

func (f *folder) abandon() error { return os.RemoveAll(f.partial) }

// file is a place of one file, or of one archive of many.
type file struct {
	name    string
	partial *os.File
	buffer  *bufio.Writer
	archive *zip.Writer // nil: the file itself
	made    time.Time
}

// newFile begins one file. It returns an error when there is one of that name.
func newFile(name string) (place, error) {
	if _, err := os.Lstat(name); err == nil {
		return nil, fmt.Errorf("%q is there already; name a new file, or remove it first", name)
	}
	partial, err := os.CreateTemp(filepath.Dir(name), "."+filepath.Base(name)+"-")
	if err != nil {
		return nil, fmt.Errorf("make a file beside %q: %w", name, err)
	}
	return &file{name: name, partial: partial, buffer: bufio.NewWriterSize(partial, 64<<10)}, nil
}

// newArchive begins a zip archive, whose files get the time made.
func newArchive(name string, made time.Time) (place, error) {
	p, err := newFile(name)
	if f, ok := p.(*file); ok {
		f.archive, f.made = zip.NewWriter(f.buffer), made
	}
	return p, err
}

func isArchive(name string) bool { return strings.EqualFold(filepath.Ext(name), ".zip") }

func (f *file) create(name string) (entry, error) {
	if f.archive == nil {
		return within{f.buffer}, nil
	}
	w, err := f.archive.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Deflate, Modified: f.made})
	return within{w}, err
}

func (f *file) abreast() int { return 1 }

// within is a file inside of another, which is published as a whole.
type within struct{ io.Writer }

func (within) end(err error) error { return err }

func (f *file) publish() error {
	if f.archive != nil {
		if err := f.archive.Close(); err != nil {
			return err
		}
	}
	if err := f.buffer.Flush(); err != nil {
		return err
	}
	if err := errors.Join(f.partial.Chmod(0o644), f.partial.Sync(), f.partial.Close()); err != nil {
		return err
	}
	// A link refuses a name that was taken meanwhile; a rename would not. Where
	// there are no links the rename must do.
	switch err := os.Link(f.partial.Name(), f.name); {
	case err == nil:
		err = os.Remove(f.partial.Name())
		return errors.Join(err, syncFolder(filepath.Dir(f.name)))
	case errors.Is(err, fs.ErrExist):
		return fmt.Errorf("%q is there already; name a new file, or remove it first", f.name)
	}
	if err := os.Rename(f.partial.Name(), f.name); err != nil {
		return err
	}
	return syncFolder(filepath.Dir(f.name))
}

func (f *file) abandon() error {
	_ = f.partial.Close() // closed already after a publish that failed late
	return os.Remove(f.partial.Name())
}

// syncFolder makes the names in a folder durable, where the system can.
func syncFolder(path string) error {
	d, err := os.Open(path)
	if err != nil {
		return err
	}
	// Windows has no way to sync a folder and says so; its renames are journalled.
	if err := d.Sync(); err != nil && !errors.Is(err, errors.ErrUnsupported) && !errors.Is(err, fs.ErrPermission) && !errors.Is(err, fs.ErrInvalid) {
		return errors.Join(err, d.Close())
	}
	return d.Close()
}
