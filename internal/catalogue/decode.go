package catalogue

import (
	"bytes"
	"errors"
	"fmt"
	"strconv"
	"strings"

	"github.com/pelletier/go-toml/v2"
	"github.com/pelletier/go-toml/v2/unstable"
)

// maxFile bounds a file that a person hands in; an office's list of 12,000
// species is about 2 MB.
const maxFile = 16 << 20

// FileError says why a file was refused, where, and what to do about it.
type FileError struct {
	File   string // the name the caller gave
	Line   int    // 1 for the first line; 0 when the file as a whole is meant
	Reason string
	Mend   string
}

// Error returns "file, line n: what went wrong; how to mend it", without
// control characters whatever the file held.
func (e *FileError) Error() string {
	where := Printable(e.File)
	if e.Line > 0 {
		where += ", line " + strconv.Itoa(e.Line)
	}
	text := where + ": " + Printable(e.Reason)
	if e.Mend != "" {
		text += "; " + Printable(e.Mend)
	}
	return text
}

// Lines knows the line of every table and key of a TOML file. A path is
// written like "catalogue[0].size[3].inner".
type Lines struct {
	file string
	at   map[string]int
}

// Errorf makes the FileError for the value at path. Where the path itself has
// no line (a row written inline, a key left out), the line of what encloses
// it is given.
func (l Lines) Errorf(path, mend, format string, args ...any) *FileError {
	return &FileError{File: l.file, Line: l.line(path), Reason: fmt.Sprintf(format, args...), Mend: mend}
}

func (l Lines) line(path string) int {
	for path != "" {
		if line, ok := l.at[path]; ok {
			return line
		}
		path = path[:max(strings.LastIndexAny(path, ".["), 0)]
	}
	return 0
}

// Decode reads TOML strictly into a pointer to a struct: a key that the
// struct does not have is refused. The result gives the line of each value,
// for checks that only the caller can make. Its errors are all *FileError.
func Decode(data []byte, name string, into any) (Lines, error) {
	if len(data) > maxFile {
		return Lines{}, &FileError{File: name, Reason: "larger than 16 MB", Mend: "check that this is the right file"}
	}
	err := toml.NewDecoder(bytes.NewReader(data)).DisallowUnknownFields().Decode(into)
	if err != nil {
		return Lines{}, fileError(name, err)
	}
	return Lines{file: name, at: linesOf(data)}, nil
}

func fileError(name string, err error) *FileError {
	var missing *toml.StrictMissingError
	if errors.As(err, &missing) && len(missing.Errors) > 0 {
		first := missing.Errors[0]
		line, _ := first.Position()
		return &FileError{
			File: name, Line: line,
			Reason: fmt.Sprintf("unknown key %q", strings.Join(first.Key(), ".")),
			Mend:   "check its spelling, or take the line out",
		}
	}
	refused := &FileError{File: name, Reason: strings.TrimPrefix(err.Error(), "toml: "), Mend: "mend the line"}
	var bad *toml.DecodeError
	if errors.As(err, &bad) {
		refused.Line, _ = bad.Position()
		if key := strings.Join(bad.Key(), "."); key != "" {
			refused.Reason = fmt.Sprintf("%s: %s", key, refused.Reason)
		}
	}
	return refused
}

// linesOf walks a document that has decoded without error.
func linesOf(data []byte) map[string]int {
	at := map[string]int{}
	rows := map[string]int{}
	line, seen := 1, 0
	table := ""
	parser := unstable.Parser{}
	parser.Reset(data)
	for parser.NextExpression() {
		expr := parser.Expression()
		keys := expr.Key()
		var parts []string
		for keys.Next() {
			key := keys.Node()
			if len(parts) == 0 {
				// Expressions come in order, so each byte is counted once.
				offset := int(key.Raw.Offset)
				line += bytes.Count(data[seen:offset], []byte("\n"))
				seen = offset
			}
			parts = append(parts, string(key.Data))
		}
		switch expr.Kind {
		case unstable.Table:
			table = rowPath(parts, rows)
			at[table] = line
		case unstable.ArrayTable:
			plain := rowPath(parts[:len(parts)-1], rows)
			if plain != "" {
				plain += "."
			}
			plain += parts[len(parts)-1]
			rows[plain]++
			table = fmt.Sprintf("%s[%d]", plain, rows[plain]-1)
			at[table] = line
		case unstable.KeyValue:
			path := strings.Join(parts, ".")
			if table != "" {
				path = table + "." + path
			}
			at[path] = line
		default: // comments
		}
	}
	return at
}

// rowPath names the table that a header's parts stand for: each part that is
// an array of tables means its latest row.
func rowPath(parts []string, rows map[string]int) string {
	path := ""
	for i, part := range parts {
		if i > 0 {
			path += "."
		}
		path += part
		if n := rows[path]; n > 0 {
			path = fmt.Sprintf("%s[%d]", path, n-1)
		}
	}
	return path
}
