package bands

import (
	"bytes"
	_ "embed" // the patterns that come with the program
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode"

	"github.com/pelletier/go-toml/v2"
	"github.com/pelletier/go-toml/v2/unstable"
)

//go:embed data/patterns.toml
var embeddedPatterns []byte

// Patterns is a set of patterns by name; read-only.
type Patterns struct {
	list []Pattern
}

// FileError says why a file of patterns was refused, where, and the mend.
type FileError struct {
	File   string
	Line   int // 0 when no one line is meant
	Reason string
	Mend   string
}

// Error returns "file, line n: what went wrong; how to mend it", without
// control characters whatever the file held.
func (e *FileError) Error() string {
	where := e.File
	if e.Line > 0 {
		where = fmt.Sprintf("%s, line %d", e.File, e.Line)
	}
	return printable(fmt.Sprintf("%s: %s; %s", where, e.Reason, e.Mend))
}

// printable puts a question mark for what a terminal could take for a command.
func printable(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsPrint(r) {
			return r
		}
		return '?'
	}, s)
}

// Embedded returns the patterns that come with the program, "federal" and
// "general". An error means that the embedded data itself is broken.
func Embedded() (Patterns, error) {
	return Patterns{}.With(embeddedPatterns, "patterns.toml")
}

// With returns the patterns with those of the user's file added, or put in
// the place of those of the same name. A broken file is refused whole with a
// *FileError.
func (ps Patterns) With(data []byte, name string) (Patterns, error) {
	var doc struct {
		Patterns []Pattern `toml:"pattern"`
	}
	if err := toml.NewDecoder(bytes.NewReader(data)).DisallowUnknownFields().Decode(&doc); err != nil {
		return Patterns{}, fileError(name, err)
	}
	list := slices.Clone(ps.list)
	for i, p := range doc.Patterns {
		if err := p.check(); err != nil {
			return Patterns{}, &FileError{File: name, Line: lineOf(data, i), Reason: fmt.Sprintf("pattern %q: %v", p.Name, err), Mend: "mend the pattern"}
		}
		if i := slices.IndexFunc(list, func(o Pattern) bool { return o.Name == p.Name }); i >= 0 {
			list[i] = p
			continue
		}
		list = append(list, p)
	}
	return Patterns{list: list}, nil
}

// Named returns the pattern of this name.
func (ps Patterns) Named(name string) (*Pattern, bool) {
	i := slices.IndexFunc(ps.list, func(p Pattern) bool { return p.Name == name })
	if i < 0 {
		return nil, false
	}
	return &ps.list[i], true
}

// Names lists the patterns' names in order of definition.
func (ps Patterns) Names() []string {
	names := make([]string, len(ps.list))
	for i := range ps.list {
		names[i] = ps.list[i].Name
	}
	return names
}

func (p *Pattern) check() error {
	for _, text := range []string{p.Name, p.Title, p.Example, p.Source, string(p.Mark)} {
		if strings.ContainsFunc(text, func(r rune) bool { return !unicode.IsPrint(r) }) {
			return errors.New("a text holds a character that cannot be shown")
		}
	}
	switch {
	case p.Name == "" || p.Title == "" || p.Source == "" || p.Mark == "":
		return errors.New("name, title, source and mark must be there")
	case p.PrefixKind != "digits" && p.PrefixKind != "letters" && p.PrefixKind != "any":
		return fmt.Errorf(`prefix_kind %q is none of "digits", "letters", "any"`, p.PrefixKind)
	case p.PrefixMin < 0 || p.PrefixMax < p.PrefixMin || p.PrefixMax > 16:
		return errors.New("the prefix is 0 to 16 wide, prefix_min not above prefix_max")
	case p.SuffixMin < 1 || p.SuffixMax < p.SuffixMin || p.SuffixMax > 12:
		return errors.New("the suffix is 1 to 12 wide, suffix_min not above suffix_max")
	case strings.ContainsFunc(p.Separator, func(r rune) bool { return !strings.ContainsRune("-./:", r) }) || len(p.Separator) > 1:
		return errors.New(`the separator is "", "-", ".", "/" or ":"`)
	case p.StringOf < 0:
		return errors.New("the length of a string is negative")
	}
	if err := p.checkSizeDigits(); err != nil {
		return err
	}
	if _, err := p.Parse(p.Example); err != nil {
		return fmt.Errorf("its own example %w", err)
	}
	return nil
}

// lineOf returns the line of the nth [[pattern]] of a file that has decoded; 0
// when the patterns are written inline.
func lineOf(data []byte, n int) int {
	parser := unstable.Parser{}
	parser.Reset(data)
	for parser.NextExpression() {
		expr := parser.Expression()
		if expr.Kind != unstable.ArrayTable {
			continue
		}
		if n == 0 {
			key := expr.Key()
			key.Next()
			return parser.Shape(key.Node().Raw).Start.Line
		}
		n--
	}
	return 0
}

func fileError(name string, err error) *FileError {
	refused := &FileError{File: name, Reason: strings.TrimPrefix(err.Error(), "toml: "), Mend: "mend the line"}
	var missing *toml.StrictMissingError
	var bad *toml.DecodeError
	switch {
	case errors.As(err, &missing) && len(missing.Errors) > 0:
		refused.Line, _ = missing.Errors[0].Position()
		refused.Reason = fmt.Sprintf("unknown key %q", strings.Join(missing.Errors[0].Key(), "."))
	case errors.As(err, &bad):
		refused.Line, _ = bad.Position()
	}
	return refused
}
