package export

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"hash"
	"io"
	"time"
)

// Profiles of Data Package 2.0 (June 2024).
const (
	packageProfile = "https://datapackage.org/profiles/2.0/datapackage.json"
	tableProfile   = "https://datapackage.org/profiles/2.0/tableschema.json"
	dialectProfile = "https://datapackage.org/profiles/2.0/tabledialect.json"
)

// DataPackage writes every table and a descriptor, datapackage.json, with
// types, units, constraints and keys (Data Package 2.0), into a new folder, or
// into a zip archive where the name ends in .zip. Rows are streamed: memory
// does not grow with the records. It returns an error when the name is taken;
// on any error nothing is left behind.
func DataPackage(ctx context.Context, s Source, name string) error {
	open := func() (place, error) { return newFolder(name) }
	if isArchive(name) {
		open = func() (place, error) { return newArchive(name, s.Made) }
	}
	return into(open, func(p place) error {
		d := s.descriptor()
		d.Resources = make([]resource, len(Tables()))
		err := eachTable(ctx, p, ".csv", func(ctx context.Context, i int, t Table, w io.Writer) error {
			r := resource{
				Name: t.Name, Path: t.Name + ".csv", Type: "table", Description: t.About,
				Format: "csv", MediaType: "text/csv", Encoding: "utf-8", Schema: t.schema(),
				Dialect: dialect{Schema: dialectProfile, Delimiter: ",", QuoteChar: `"`, DoubleQuote: true, Header: true},
			}
			m := measured{to: w, hash: sha256.New()}
			if err := s.write(ctx, t, machineLines(&m)); err != nil {
				return err
			}
			r.Bytes, r.Hash = m.bytes, "sha256:"+hex.EncodeToString(m.hash.Sum(nil))
			d.Resources[i] = r
			return nil
		})
		if err != nil {
			return err
		}
		if err := put(p, "datapackage.json", d.write); err != nil {
			return fmt.Errorf("write the descriptor: %w", err)
		}
		return s.markTraining(p)
	})
}

// measured counts and hashes what passes through.
type measured struct {
	to    io.Writer
	hash  hash.Hash
	bytes int64
}

func (m *measured) Write(p []byte) (int, error) {
	n, err := m.to.Write(p)
	m.hash.Write(p[:n])
	m.bytes += int64(n)
	return n, err
}

// descriptor is a Data Package; training is a property of our own.
type descriptor struct {
	Schema      string     `json:"$schema"`
	Name        string     `json:"name"`
	Title       string     `json:"title"`
	Description string     `json:"description"`
	Version     string     `json:"version,omitempty"`
	Created     string     `json:"created"`
	Keywords    []string   `json:"keywords"`
	Training    bool       `json:"training"`
	Resources   []resource `json:"resources"`
}

func (d *descriptor) write(w io.Writer) error {
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	return e.Encode(d)
}

func (s Source) descriptor() descriptor {
	d := descriptor{
		Schema: packageProfile, Name: "bench-records", Title: "Records of a bird-banding bench",
		Description: "Every record of one bench: birds, leg widths, sizes, closings, bands, shifts and calibrations. Lengths are in millimetres, times in UTC with the local offset beside.",
		Version:     s.Version, Created: s.Made.UTC().Format(time.RFC3339), Keywords: []string{"birds", "bands", "biometrics"},
		Training: s.Training,
	}
	if s.Training {
		d.Name = "training-bench-records"
		d.Title = "TRAINING: " + d.Title
		d.Description = "Training records: no real bird is in them. " + d.Description
		d.Keywords = append(d.Keywords, "training")
	}
	return d
}

type resource struct {
	Name        string      `json:"name"`
	Path        string      `json:"path"`
	Type        string      `json:"type"`
	Description string      `json:"description"`
	Format      string      `json:"format"`
	MediaType   string      `json:"mediatype"`
	Encoding    string      `json:"encoding"`
	Bytes       int64       `json:"bytes"`
	Hash        string      `json:"hash"`
	Dialect     dialect     `json:"dialect"`
	Schema      tableSchema `json:"schema"`
}

// dialect says how the lines are written, though it is the default: readers
// that guess can guess wrong.
type dialect struct {
	Schema      string `json:"$schema"`
	Delimiter   string `json:"delimiter"`
	QuoteChar   string `json:"quoteChar"`
	DoubleQuote bool   `json:"doubleQuote"`
	Header      bool   `json:"header"`
}

// tableSchema is a Table Schema. Keys are arrays even of one column, as the
// second version asks.
type tableSchema struct {
	Schema        string       `json:"$schema"`
	Fields        []field      `json:"fields"`
	PrimaryKey    []string     `json:"primaryKey"`
	ForeignKeys   []foreignKey `json:"foreignKeys,omitempty"`
	MissingValues []string     `json:"missingValues"`
}

// field is one column; unit is a property of our own, a UCUM code.
type field struct {
	Name        string       `json:"name"`
	Type        string       `json:"type"`
	Format      string       `json:"format,omitempty"`
	Description string       `json:"description"`
	Unit        string       `json:"unit,omitempty"`
	Constraints *constraints `json:"constraints,omitempty"`
}

type foreignKey struct {
	Fields    []string  `json:"fields"`
	Reference reference `json:"reference"`
}

type reference struct {
	Resource string   `json:"resource"`
	Fields   []string `json:"fields"`
}

// schema returns the table's schema.
func (t Table) schema() tableSchema {
	s := tableSchema{Schema: tableProfile, PrimaryKey: t.Key, MissingValues: []string{""}}
	for _, c := range t.Columns {
		f := field{Name: c.Header(), Description: about(c.Header()), Unit: c.Unit(), Constraints: t.constraints(c)}
		f.Type, f.Format = c.Kind.schemaType()
		s.Fields = append(s.Fields, f)
	}
	for _, l := range t.Links {
		s.ForeignKeys = append(s.ForeignKeys, foreignKey{Fields: l.Columns, Reference: reference{Resource: l.Table, Fields: l.Keys}})
	}
	return s
}

// schemaType returns the type and format of Table Schema. The default format
// of a datetime takes no parts of seconds; "any" does.
func (k Kind) schemaType() (name, format string) {
	switch k {
	case Whole:
		return "integer", ""
	case Number, Length:
		return "number", ""
	case Flag:
		return "boolean", ""
	case Instant:
		return "datetime", "any"
	case List:
		return "array", ""
	case Object:
		return "object", ""
	default:
		return "string", ""
	}
}
