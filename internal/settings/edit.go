package settings

import (
	"bytes"
	"fmt"
	"reflect"
	"slices"
	"strings"

	"github.com/pelletier/go-toml/v2"
	"github.com/pelletier/go-toml/v2/unstable"

	"seamfit/internal/catalogue"
)

// Edit changes values in a bench.toml and leaves all else in it as the person
// wrote it: comments, order, what is left out. An empty file becomes a whole
// one. The result is read back, and refused unless it comes to exactly the
// changed settings. Its errors are Load's, and a *catalogue.FileError whose
// mend names the lines to write by hand where the file is laid out in a way
// that Edit doesn't know.
func Edit(data []byte, name string, change func(*Settings)) ([]byte, error) {
	before, err := Load(data, name)
	if err != nil {
		return nil, err
	}
	after := before
	change(&after)
	if len(bytes.TrimSpace(data)) == 0 {
		data, err = Marshal(after)
	} else {
		data, err = editValues(data, differences(before, after))
	}
	if err != nil {
		return nil, err
	}
	switch back, err := Load(data, name); {
	case err != nil:
		return nil, err
	case !reflect.DeepEqual(back, after):
		return nil, byHand(name, differences(before, after))
	}
	return data, nil
}

// value is one value of the file: its table, its key, and what it becomes.
type value struct {
	table, key string
	becomes    any
}

// text returns the value as a line of TOML, without a line end.
func (v value) text() (string, error) {
	var b bytes.Buffer
	if err := toml.NewEncoder(&b).EnableMarshalerInterface().Encode(map[string]any{v.key: v.becomes}); err != nil {
		return "", fmt.Errorf("write settings: %w", err)
	}
	return strings.TrimSuffix(b.String(), "\n"), nil
}

// differences lists the values in which two settings differ. All tables of a
// bench.toml are flat.
func differences(before, after Settings) []value {
	var all []value
	b, a := reflect.ValueOf(before), reflect.ValueOf(after)
	for i := range b.NumField() {
		table := b.Type().Field(i).Tag.Get("toml")
		for j := range b.Field(i).NumField() {
			old, now := b.Field(i).Field(j).Interface(), a.Field(i).Field(j).Interface()
			if !reflect.DeepEqual(old, now) {
				all = append(all, value{table, b.Field(i).Type().Field(j).Tag.Get("toml"), now})
			}
		}
	}
	return all
}

// editValues puts each value in the place of the old one, or at the end of its
// table, or into a new table at the end of the file.
func editValues(data []byte, values []value) ([]byte, error) {
	end := "\n"
	if bytes.Contains(data, []byte("\r\n")) {
		end = "\r\n"
	}
	for _, v := range values {
		text, err := v.text()
		if err != nil {
			return nil, err
		}
		at := placeOf(data, v)
		switch {
		case at.known:
			_, after, _ := strings.Cut(text, " = ")
			data = slices.Replace(data, at.start, at.end, []byte(after)...)
		case at.end > 0:
			data = slices.Insert(data, at.end, []byte(end+text)...)
		default:
			data = append(bytes.TrimRight(data, "\r\n"), end+end+"["+v.table+"]"+end+text+end...)
		}
	}
	return data, nil
}

// place is where a value stands or belongs: the value itself if it is known,
// else behind the last line of its table at end; 0 when there is no table.
type place struct {
	known      bool
	start, end int
}

func placeOf(data []byte, v value) place {
	var at place
	table := ""
	parser := unstable.Parser{}
	parser.Reset(data)
	for parser.NextExpression() {
		expr := parser.Expression()
		var keys []string
		last := 0 // behind the last part of the key
		for it := expr.Key(); it.Next(); {
			keys = append(keys, string(it.Node().Data))
			last = int(it.Node().Raw.Offset + it.Node().Raw.Length)
		}
		key := strings.Join(keys, ".")
		switch expr.Kind {
		case unstable.Table, unstable.ArrayTable:
			if table = key; table == v.table {
				at.end = lineEnd(data, last)
			}
		case unstable.KeyValue:
			stop := int(expr.Raw.Offset + expr.Raw.Length)
			if (table == "" && key == v.table+"."+v.key) || (table == v.table && key == v.key) {
				start := last + bytes.IndexByte(data[last:], '=') + 1
				start += len(data[start:]) - len(bytes.TrimLeft(data[start:], " \t"))
				return place{known: true, start: start, end: stop}
			}
			if table == v.table {
				at.end = lineEnd(data, stop)
			}
		default: // comments
		}
	}
	return at
}

// lineEnd returns where the line ends on which the byte at stands, its line
// end not counted.
func lineEnd(data []byte, at int) int {
	if i := bytes.IndexByte(data[at:], '\n'); i >= 0 {
		return at + len(bytes.TrimSuffix(data[at:at+i], []byte("\r")))
	}
	return len(data)
}

// byHand refuses a file that Edit can't change, and says what to write.
func byHand(name string, values []value) error {
	lines := make([]string, 0, len(values))
	for _, v := range values {
		text, err := v.text()
		if err != nil {
			return err
		}
		lines = append(lines, v.table+"."+text)
	}
	return &catalogue.FileError{
		File: name, Reason: "it is laid out in a way that can't be changed safely",
		Mend: "write into it yourself: " + strings.Join(lines, ", "),
	}
}
