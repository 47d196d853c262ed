package export

import (
	"bufio"
	"context"
	"encoding/csv"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"unicode"

	"seamfit/internal/length"
)

// Records is what an export reads. Rows calls each for every row of a table,
// in a fixed order, with the values of the named columns as int64, float64,
// string, []byte or nil; the slice is valid until the next call.
type Records interface {
	Rows(ctx context.Context, table string, columns []string, each func(values []any) error) error
}

// CSV writes every table as a file <table>.csv (RFC 4180, UTF-8 without a
// byte-order mark) into a new folder. It returns an error when the folder
// exists and holds anything; on any error nothing is left behind.
func CSV(ctx context.Context, r Records, folder string) (err error) {
	if err := vacant(folder); err != nil {
		return err
	}
	folder = filepath.Clean(folder)
	partial, err := os.MkdirTemp(filepath.Dir(folder), "."+filepath.Base(folder)+"-")
	if err != nil {
		return fmt.Errorf("make a folder beside %q: %w; choose a place where you may write", folder, err)
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, os.RemoveAll(partial))
		}
	}()
	for _, t := range Tables() {
		if err := writeTable(ctx, r, t, filepath.Join(partial, t.Name+".csv")); err != nil {
			return fmt.Errorf("write the table %s: %w", t.Name, err)
		}
	}
	return publish(partial, folder)
}

// vacant refuses a folder that holds something: an export never mixes with
// what was there.
func vacant(folder string) error {
	entries, err := os.ReadDir(folder)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil
	case err != nil:
		return fmt.Errorf("look into %q: %w; name a new folder", folder, err)
	case len(entries) > 0:
		return fmt.Errorf("the folder %q is not empty; name a new one, or empty it first", folder)
	default:
		return nil
	}
}

// publish gives the finished folder its name, and makes the names durable.
func publish(partial, folder string) error {
	if err := syncFolder(partial); err != nil {
		return err
	}
	if err := os.Remove(folder); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	if err := os.Rename(partial, folder); err != nil {
		return err
	}
	return syncFolder(filepath.Dir(folder))
}

func writeTable(ctx context.Context, r Records, t Table, path string) (err error) {
	f, err := os.OpenFile(path, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	buffer := bufio.NewWriterSize(f, 64<<10)
	w := csv.NewWriter(buffer)
	w.UseCRLF = true
	line := make([]string, len(t.Columns))
	for i, c := range t.Columns {
		line[i] = c.Header()
	}
	if err := w.Write(line); err != nil {
		return err
	}
	if err := r.Rows(ctx, t.Name, t.names(), func(values []any) error {
		for i, c := range t.Columns {
			if line[i], err = c.format(values[i]); err != nil {
				return fmt.Errorf("column %s: %w", c.Name, err)
			}
		}
		return w.Write(line)
	}); err != nil {
		return err
	}
	w.Flush()
	if err := errors.Join(w.Error(), buffer.Flush()); err != nil {
		return err
	}
	return f.Sync()
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

// printable escapes control characters. The bench takes none in, so this
// alters nothing that it wrote; another program may have put some there.
func printable(s string) string {
	if !strings.ContainsFunc(s, unicode.IsControl) {
		return s
	}
	var b strings.Builder
	for _, r := range s {
		if unicode.IsControl(r) {
			fmt.Fprintf(&b, `\u%04x`, r)
			continue
		}
		b.WriteRune(r)
	}
	return b.String()
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
