package export_test

import (
	"archive/zip"
	"crypto/sha256"
	"encoding/csv"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/bench"
	"seamfit/internal/export"
)

// pack is a data package as its descriptor tells it, read without the types
// that wrote it.
type pack struct {
	descriptor map[string]any
	resources  []map[string]any
	tables     map[string][]map[string]string
}

func readPackage(files fs.FS) (pack, error) {
	p := pack{tables: map[string][]map[string]string{}}
	data, err := fs.ReadFile(files, "datapackage.json")
	if err != nil {
		return p, err
	}
	if err := json.Unmarshal(data, &p.descriptor); err != nil {
		return p, err
	}
	list, _ := p.descriptor["resources"].([]any)
	for _, r := range list {
		r, _ := r.(map[string]any)
		p.resources = append(p.resources, r)
		f, err := files.Open(fmt.Sprint(r["path"]))
		if err != nil {
			return p, err
		}
		all, err := csv.NewReader(f).ReadAll()
		if err != nil {
			return p, err
		}
		_ = f.Close()
		rows := []map[string]string{}
		for _, row := range all[1:] {
			named := map[string]string{}
			for i, field := range row {
				named[all[0][i]] = field
			}
			rows = append(rows, named)
		}
		p.tables[fmt.Sprint(r["name"])] = rows
	}
	return p, nil
}

func (p pack) schema(resource string) map[string]any {
	for _, r := range p.resources {
		if r["name"] == resource {
			s, _ := r["schema"].(map[string]any)
			return s
		}
	}
	return nil
}

func texts(v any) (list []string) {
	items, _ := v.([]any)
	for _, item := range items {
		list = append(list, fmt.Sprint(item))
	}
	return list
}

func keyOf(row map[string]string, columns []string) string {
	var parts []string
	for _, c := range columns {
		parts = append(parts, row[c])
	}
	return strings.Join(parts, "\x00")
}

// breaches lists what in a package's rows goes against its own descriptor:
// primary keys, foreign keys, types and constraints (Table Schema 2.0).
func (p pack) breaches() (found []string) {
	for _, r := range p.resources {
		name := fmt.Sprint(r["name"])
		schema := p.schema(name)
		key := texts(schema["primaryKey"])
		seen := map[string]bool{}
		for i, row := range p.tables[name] {
			if k := keyOf(row, key); seen[k] {
				found = append(found, fmt.Sprintf("%s row %d: the key is there twice", name, i+1))
			} else {
				seen[k] = true
			}
			fields, _ := schema["fields"].([]any)
			for _, f := range fields {
				f, _ := f.(map[string]any)
				if why := badValue(f, row[fmt.Sprint(f["name"])]); why != "" {
					found = append(found, fmt.Sprintf("%s row %d: %v %s", name, i+1, f["name"], why))
				}
			}
		}
		keys, _ := schema["foreignKeys"].([]any)
		for _, k := range keys {
			k, _ := k.(map[string]any)
			to, _ := k["reference"].(map[string]any)
			there := map[string]bool{}
			for _, row := range p.tables[fmt.Sprint(to["resource"])] {
				there[keyOf(row, texts(to["fields"]))] = true
			}
			for i, row := range p.tables[name] {
				from := keyOf(row, texts(k["fields"]))
				if strings.Trim(from, "\x00") != "" && !there[from] {
					found = append(found, fmt.Sprintf("%s row %d: no such row of %v", name, i+1, to["resource"]))
				}
			}
		}
	}
	return found
}

func badValue(field map[string]any, text string) string {
	rule, _ := field["constraints"].(map[string]any)
	if text == "" {
		if rule["required"] == true {
			return "is missing"
		}
		return ""
	}
	var err error
	switch field["type"] {
	case "integer", "number":
		var v float64
		v, err = strconv.ParseFloat(text, 64)
		if least, ok := rule["minimum"].(float64); ok && v < least {
			return "is too small"
		}
		if most, ok := rule["maximum"].(float64); ok && v > most {
			return "is too large"
		}
		if field["type"] == "integer" && err == nil {
			_, err = strconv.ParseInt(text, 10, 64)
		}
	case "boolean":
		if text != "true" && text != "false" {
			return "is no boolean"
		}
	case "datetime":
		_, err = time.Parse(time.RFC3339Nano, text)
	case "array":
		var list []any
		if err = json.Unmarshal([]byte(text), &list); list == nil {
			return "is no list"
		}
	case "object":
		var named map[string]any
		if err = json.Unmarshal([]byte(text), &named); named == nil {
			return "is no object"
		}
	}
	if err != nil {
		return err.Error()
	}
	if list := texts(rule["enum"]); list != nil && !slices.Contains(list, text) {
		return "is none of the values"
	}
	if pattern, ok := rule["pattern"].(string); ok && !regexp.MustCompile("^(?:"+pattern+")$").MatchString(text) {
		return "is not of the pattern"
	}
	return ""
}

func TestADataPackageKeepsItsOwnRules(t *testing.T) {
	w := story(t, false)
	out := filepath.Join(t.TempDir(), "package")
	require.NoError(t, w.export(bench.Selection{}, export.DataPackage, out))
	p, err := readPackage(os.DirFS(out))
	require.NoError(t, err)
	assert.Empty(t, p.breaches())

	// The check above can fail.
	p.tables["closings"][0]["band"] = "99"
	p.tables["readings"][0]["seq"] = p.tables["readings"][1]["seq"]
	p.tables["bands"][0]["state"] = "eaten"
	p.tables["shift_facts"][0]["seq"] = "0"
	assert.ElementsMatch(t, []string{
		"readings row 2: the key is there twice", "bands row 1: state is none of the values", "closings row 1: no such row of bands",
		"shift_facts row 1: seq is too small", "shift_places row 1: no such row of shift_facts",
	}, p.breaches())
}

// The required keys and forms are those of the profiles of Data Package 2.0,
// Data Resource 2.0 and Table Schema 2.0 (June 2024).
func TestTheDescriptorFollowsTheProfile(t *testing.T) {
	w := story(t, false)
	out := filepath.Join(t.TempDir(), "package")
	require.NoError(t, w.export(bench.Selection{}, export.DataPackage, out))
	p, err := readPackage(os.DirFS(out))
	require.NoError(t, err)
	assert.Equal(t, "https://datapackage.org/profiles/2.0/datapackage.json", p.descriptor["$schema"])
	assert.NotContains(t, p.descriptor, "profile", "version 2 has $schema in its place")
	_, err = time.Parse(time.RFC3339, fmt.Sprint(p.descriptor["created"]))
	require.NoError(t, err)
	require.Len(t, p.resources, len(export.Tables()))
	types := []string{"string", "number", "integer", "boolean", "datetime", "array", "object"}
	for _, r := range p.resources {
		name := fmt.Sprint(r["name"])
		assert.Regexp(t, `^[a-z0-9._-]+$`, name)
		assert.Equal(t, "table", r["type"], name)
		assert.Equal(t, "utf-8", r["encoding"])
		assert.Regexp(t, `^(.+)/(.+)$`, r["mediatype"])
		path := fmt.Sprint(r["path"])
		assert.False(t, strings.HasPrefix(path, "/") || strings.Contains(path, ".."))
		data, err := os.ReadFile(filepath.Join(out, path))
		require.NoError(t, err)
		assert.EqualValues(t, len(data), r["bytes"])
		sum := sha256.Sum256(data)
		assert.Equal(t, "sha256:"+hex.EncodeToString(sum[:]), r["hash"])
		schema := p.schema(name)
		assert.Equal(t, "https://datapackage.org/profiles/2.0/tableschema.json", schema["$schema"])
		assert.NotEmpty(t, texts(schema["primaryKey"]), "%s: an array", name)
		var names []string
		fields, _ := schema["fields"].([]any)
		for _, f := range fields {
			f, _ := f.(map[string]any)
			names = append(names, fmt.Sprint(f["name"]))
			assert.Contains(t, types, f["type"])
			assert.NotEmpty(t, f["description"], "%s.%s", name, f["name"])
			if rule, _ := f["constraints"].(map[string]any); rule["minimum"] != nil {
				assert.Contains(t, []string{"number", "integer"}, f["type"], "%s.%s has a least value", name, f["name"])
			}
			if f["type"] == "datetime" {
				assert.Equal(t, "any", f["format"], "the default format has no parts of seconds")
			}
			if strings.HasSuffix(fmt.Sprint(f["name"]), "_mm") {
				assert.Equal(t, "mm", f["unit"])
			}
		}
		assert.Subset(t, names, texts(schema["primaryKey"]))
		linked := map[string]bool{}
		keys, _ := schema["foreignKeys"].([]any)
		for _, k := range keys {
			k, _ := k.(map[string]any)
			to, _ := k["reference"].(map[string]any)
			assert.Len(t, texts(to["fields"]), len(texts(k["fields"])))
			assert.Equal(t, texts(to["fields"]), texts(p.schema(fmt.Sprint(to["resource"]))["primaryKey"]), name)
			for _, column := range texts(k["fields"]) {
				assert.False(t, linked[column], "%s.%s is in two foreign keys, which readers confuse", name, column)
				linked[column] = true
			}
		}
	}
}

func TestAnArchiveHoldsWhatTheFolderHolds(t *testing.T) {
	w := story(t, true)
	home := t.TempDir()
	out, archive := filepath.Join(home, "package"), filepath.Join(home, "package.ZIP")
	require.NoError(t, w.export(bench.Selection{}, export.DataPackage, out))
	require.NoError(t, w.export(bench.Selection{}, export.DataPackage, archive))
	z, err := zip.OpenReader(archive)
	require.NoError(t, err)
	defer func() { require.NoError(t, z.Close()) }()
	entries, err := os.ReadDir(out)
	require.NoError(t, err)
	require.Len(t, z.File, len(entries))
	for _, entry := range entries {
		want, err := os.ReadFile(filepath.Join(out, entry.Name()))
		require.NoError(t, err)
		got, err := fs.ReadFile(z, entry.Name())
		require.NoError(t, err)
		assert.Equal(t, string(want), string(got), entry.Name())
	}
	p, err := readPackage(z)
	require.NoError(t, err)
	assert.Empty(t, p.breaches())
	assert.Equal(t, true, p.descriptor["training"])
	assert.Contains(t, p.descriptor["title"], "TRAINING")
	assert.Contains(t, texts(p.descriptor["keywords"]), "training")
}

func TestASelectionIsAPackageWhoseLinksHold(t *testing.T) {
	w := story(t, false)
	for i, only := range []bench.Selection{{Species: "Sterna hirundo"}, {From: "2026-05-18"}, {Species: "Uria aalge"}} {
		out := filepath.Join(t.TempDir(), strconv.Itoa(i))
		require.NoError(t, w.export(only, export.DataPackage, out))
		p, err := readPackage(os.DirFS(out))
		require.NoError(t, err)
		assert.Empty(t, p.breaches())
	}
}
