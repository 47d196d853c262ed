package main

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"
)

// tableFile is a CSV file with a header, read whole. Columns may come in any
// order; others than those asked for are passed over.
type tableFile struct {
	name  string
	lines []tableLine
}

// tableLine is one record: its values by column, and where it stands.
type tableLine struct {
	number int
	values map[string]string
}

// readTable reads a CSV file ("-" for standard input). It returns an error
// that names the line for a record with too few or too many fields, and one
// for a required column that is missing.
func (a *app) readTable(path string, required ...string) (tableFile, error) {
	in, err := a.input(path)
	if err != nil {
		return tableFile{}, err
	}
	data, err := io.ReadAll(io.LimitReader(in, maxTable+1))
	if err := errors.Join(err, in.Close()); err != nil {
		return tableFile{}, fmt.Errorf("read the table: %w; check the file", err)
	}
	if len(data) > maxTable {
		return tableFile{}, fmt.Errorf("%s is larger than %d bytes; give a smaller table", path, maxTable)
	}
	// Spreadsheets put a byte-order mark first.
	r := csv.NewReader(bytes.NewReader(bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))))
	r.TrimLeadingSpace = true
	header, err := r.Read()
	if errors.Is(err, io.EOF) {
		return tableFile{}, fmt.Errorf("%s is empty; its first line names the columns: %s", path, strings.Join(required, ","))
	}
	if err != nil {
		return tableFile{}, fmt.Errorf("%s: %w; mend the line", path, err)
	}
	for i := range header {
		header[i] = strings.TrimSpace(header[i])
	}
	for i, name := range header {
		if name != "" && slices.Contains(header[:i], name) {
			return tableFile{}, fmt.Errorf("%s: line 1: there are two columns %s; take one of them out, or name it otherwise", path, name)
		}
	}
	if len(header) == 1 && strings.Contains(header[0], ";") {
		return tableFile{}, fmt.Errorf("%s: line 1: its columns are apart by semicolons; save it with commas between them", path)
	}
	for _, name := range required {
		if !slices.Contains(header, name) {
			return tableFile{}, fmt.Errorf("%s: line 1: the column %s is missing; the first line names the columns: %s", path, name, strings.Join(required, ","))
		}
	}
	t := tableFile{name: path}
	for {
		record, err := r.Read()
		if errors.Is(err, io.EOF) {
			return t, nil
		}
		if err != nil {
			return t, fmt.Errorf("%s: %w; mend the line", path, err)
		}
		number, _ := r.FieldPos(0)
		line := tableLine{number: number, values: map[string]string{}}
		for i, value := range record {
			line.values[header[i]] = strings.TrimSpace(value)
		}
		t.lines = append(t.lines, line)
	}
}

// maxTable bounds a file of measurements.
const maxTable = 64 << 20

// input opens the file that a command names, "-" for standard input.
func (a *app) input(path string) (io.ReadCloser, error) {
	if path == "-" {
		return io.NopCloser(a.stdin), nil
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("%w; check the file's name", err)
	}
	return f, nil
}
