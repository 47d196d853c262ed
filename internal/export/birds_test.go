package export_test

import (
	"context"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/bench"
	"seamfit/internal/catalogue"
	"seamfit/internal/export"
	"seamfit/internal/store"
)

const officeMap = `name = "office"
separator = ";"
decimal = ","
date = "DD.MM.YYYY"
[[column]]
name = "Number"
from = "number_compact"
[[column]]
name = "Day"
from = "date"
[[column]]
name = "Hour"
from = "time"
[[column]]
name = "Kind"
from = "species"
codes = {"Larus argentatus" = "05920", "Sterna hirundo" = "06150"}
[[column]]
name = "Age"
from = "age"
codes = {adult = "A"}
else = "?"
[[column]]
name = "Sex"
from = "sex"
empty = "U"
[[column]]
name = "Width"
from = "width_mm"
[[column]]
name = "Project"
value = "0042"
`

// ledger is submissions kept in memory.
type ledger struct {
	columns []string
	rows    map[string][]string
}

func (l *ledger) Submitted(_ context.Context, _ string, each func(string, []string, []string) error) error {
	for handling, row := range l.rows {
		if err := each(handling, l.columns, row); err != nil {
			return err
		}
	}
	return nil
}

func (l *ledger) mark(b export.Birds) {
	if l.rows == nil {
		l.rows = map[string][]string{}
	}
	l.columns = b.Columns
	for _, e := range b.Entries {
		l.rows[e.Handling] = e.Row
		if e.Change == export.Withdrawn {
			delete(l.rows, e.Handling)
		}
	}
}

func (w *worked) birds(text string, l *ledger) (export.Birds, export.Map, error) {
	w.t.Helper()
	m, err := export.ReadMap([]byte(text), "office.toml")
	require.NoError(w.t, err)
	var b export.Birds
	err = w.store.View(w.t.Context(), func(v *store.View) (err error) {
		b, err = export.ReadBirds(w.t.Context(), w.source(v), m, l)
		return err
	})
	return b, m, err
}

func TestATableFollowsTheMap(t *testing.T) {
	w := story(t, false)
	b, m, err := w.birds(officeMap, &ledger{})
	require.NoError(t, err)
	out := filepath.Join(t.TempDir(), "office")
	require.NoError(t, b.Write(w.source(nil), m, out, nil))
	read := func(name string) string {
		data, err := os.ReadFile(filepath.Join(out, name))
		require.NoError(t, err)
		return string(data)
	}
	const header = "Number;Day;Hour;Kind;Age;Sex;Width;Project\r\n"
	assert.Equal(t, header+
		"123656701;17.05.2026;06:30;05920;A;female;8,42;0042\r\n"+
		"123656703;17.05.2026;06:30;05920;A;female;8,42;0042\r\n"+
		";17.05.2026;06:30;06150;A;female;;0042\r\n", read("birds.csv"))
	assert.Equal(t, header+";18.05.2026;06:30;05920;A;female;8,41;0042\r\n", read("open.csv"), "its band is not on yet")
	assert.Equal(t, header, read("disputed.csv"))
	assert.NoFileExists(t, filepath.Join(out, "changes.csv"), "nothing was submitted before")
	require.ErrorContains(t, b.Write(w.source(nil), m, out, nil), "is not empty")
}

func TestALaterCorrectionComesOutAsAChange(t *testing.T) {
	w := newWorked(t, false)
	first := w.banded("1236-56701")
	second := w.banded("1236-56702")
	var l ledger
	b, _, err := w.birds(officeMap, &l)
	require.NoError(t, err)
	require.Equal(t, 2, b.Count(export.New))
	l.mark(b)

	// Nothing has changed, and nothing is sent twice.
	b, _, err = w.birds(officeMap, &l)
	require.NoError(t, err)
	assert.Empty(t, b.Entries)

	// The first was a male; a third came; the second's number is on another bird.
	w.do(bench.DescribeBird{When: w.on(first), Why: "seen on a photograph", Bird: bench.Bird{Species: "Larus argentatus", Age: "adult", Sex: "male", Leg: bench.LegRight}})
	w.banded("1236-56703")
	w.measured("1236-56704")
	w.do(bench.Look{When: w.when()})
	w.do(bench.GiveNumber{When: w.when(), Number: "1236-56702", Reason: "as read off the band"})
	b, m, err := w.birds(officeMap, &l)
	require.NoError(t, err)
	assert.Equal(t, []int{1, 1, 1}, []int{b.Count(export.New), b.Count(export.Corrected), b.Count(export.Withdrawn)})
	assert.Len(t, b.Disputed, 2)
	out := filepath.Join(t.TempDir(), "office")
	require.NoError(t, b.Write(w.source(nil), m, out, nil))
	data, err := os.ReadFile(filepath.Join(out, "changes.csv"))
	require.NoError(t, err)
	assert.Equal(t, "change;Number;Day;Hour;Kind;Age;Sex;Width;Project\r\n"+
		"was;123656701;17.05.2026;06:30;05920;A;female;8,42;0042\r\n"+
		"now;123656701;17.05.2026;06:30;05920;A;male;8,42;0042\r\n"+
		"withdrawn;123656702;17.05.2026;06:30;05920;A;female;8,42;0042\r\n", string(data))
	l.mark(b)
	assert.NotContains(t, l.rows, second)

	_, _, err = w.birds(officeMap+"[[column]]\nname = \"Leg\"\nfrom = \"leg\"\n", &l)
	require.ErrorContains(t, err, `the map "office" was submitted with other columns`)
	require.ErrorContains(t, err, "give this one a new name")
}

// on is when, about a bird that is not the active one.
func (w *worked) on(handling string) bench.When {
	when := w.when()
	when.Handling = handling
	if _, here := w.state.Handling(handling); !here {
		h, err := w.store.Load(w.t.Context(), handling)
		require.NoError(w.t, err)
		w.state.Handlings = append(w.state.Handlings, h)
	}
	return when
}

func TestTrainingIsMarkedInEveryRow(t *testing.T) {
	w := story(t, true)
	b, _, err := w.birds(officeMap, &ledger{})
	require.NoError(t, err)
	assert.Equal(t, "training", b.Columns[len(b.Columns)-1])
	for _, e := range b.Entries {
		assert.Equal(t, "true", e.Row[len(e.Row)-1])
	}
}

func TestMapsLimitAndGuard(t *testing.T) {
	w := story(t, false)
	b, _, err := w.birds("name = \"own\"\nbanded_only = true\nguard = true\n[[column]]\nname = \"x\"\nvalue = \"=1\"\n[[column]]\nname = \"n\"\nfrom = \"destroyed_numbers\"\n", &ledger{})
	require.NoError(t, err)
	require.Len(t, b.Entries, 2)
	assert.Equal(t, []string{"'=1", "1236-56702"}, b.Entries[1].Row)
	assert.Empty(t, b.Open, "its band is not on it")
	_, _, err = w.birds("name = \"own\"\n[[column]]\nname = \"Age\"\nfrom = \"age\"\ncodes = {juvenile = \"1\"}\n", &ledger{})
	require.ErrorContains(t, err, `the column "Age" has no code for "adult"`)
}

func TestEveryFieldCanBeShown(t *testing.T) {
	w := story(t, false)
	text := "name = \"all\"\n"
	for _, name := range export.FieldNames() {
		text += "[[column]]\nname = \"" + name + "\"\nfrom = \"" + name + "\"\n"
	}
	b, _, err := w.birds(text, &ledger{})
	require.NoError(t, err)
	row := map[string]string{}
	for i, name := range b.Columns {
		row[name] = b.Entries[1].Row[i]
	}
	for name, want := range map[string]string{
		"number": "1236-56703", "number_prefix": "1236", "number_suffix": "56703", "band": "new", "size": "6", "metal": "stainless steel",
		"closure": "butt-end", "leg": "right", "site": "below", "destroyed_numbers": "1236-56702", "incidents": "stress", "closings": "3", "supervised": "",
		"fate": "banded", "place": `Skerry of Ness, "north"`, "permit": "P-17", "bander": "Å. Holm", "readings": "3", "width_expanded_mm": "0.04",
		"date": "2026-05-17", "found_number": "",
	} {
		assert.Equal(t, want, row[name], name)
	}
}

func TestWhereABirdIsFromAndItsMeasuresCanBeShown(t *testing.T) {
	w := story(t, false)
	text := "name = \"all\"\ndecimal = \",\"\n"
	for _, name := range []string{"nest", "brood", "returned_to", "captured", "latitude", "longitude", "accuracy_m", "measure.Wing", "measure.mass"} {
		text += "[[column]]\nname = \"" + name + "\"\nfrom = \"" + name + "\"\n"
	}
	w.do(bench.TakeMeasure{When: w.when(), Name: "wing", Means: bench.MeansTyped, Raw: []byte("412.5"), Value: "412.5", Why: "read again"})
	b, _, err := w.birds(text, &ledger{})
	require.NoError(t, err)
	assert.Equal(t, [][]string{{"box 4", "", "=box 4", "06:21", "-60.125", "4.5", "8", "412,5", ""}}, b.Open)
	_, err = export.ReadMap([]byte("name = \"o\"\n[[column]]\nname = \"a\"\nfrom = \"measure.\""), "office.toml")
	require.ErrorContains(t, err, "or measure. with the name of a further measure")
}

func TestABrokenMapIsRefusedByLine(t *testing.T) {
	for text, want := range map[string]string{
		"":                                "office.toml: the map has no name; give the map a name",
		"name = \"o\"":                    "the map has no columns",
		"name = \"o\"\ncolour = 1":        `line 2: unknown key "colour"`,
		"name = \"o\"\nseparator = \"x\"": `line 2: the separator is "x"; use`,
		"name = \"o\"\ndecimal = \"x\"":   "line 2: the decimal mark",
		"name = \"o\"\n[[column]]\nname = \"a\"\nfrom = \"wing\"":               `line 4: there is no field "wing"; use one of accuracy_m, age, band,`,
		"name = \"o\"\n[[column]]\nfrom = \"age\"":                              "line 2: the column has no name",
		"name = \"o\"\n[[column]]\nname = \"a\"\n[[column]]\nname = \"a\"":      `line 5: two columns are called "a"`,
		"name = \"o\"\n[[column]]\nname = \"a\"\nfrom = \"age\"\nvalue = \"1\"": "has both from and value",
		"name = \"o\"\n[[column]]\nname = \"a\"\nelse = \"1\"":                  "has codes but no field",
		"name = \"o\"\n[[column]]\nname = \"a\\u001b\"":                         "cannot be shown",
		"name = \"o\\u0007\"": "line 1: name holds a character that cannot be shown",
		"name = \"o\"\ndate = \"day\"\n[[column]]\nname = \"a\"":        `line 2: the form "day" shows nothing; write it with YYYY MM DD`,
		"name = \"o\"\ntime = \"HH o'clock\"\n[[column]]\nname = \"a\"": "the form \"HH o'clock\" holds",
	} {
		_, err := export.ReadMap([]byte(text), "office.toml")
		var refused *catalogue.FileError
		require.ErrorAs(t, err, &refused, text)
		require.ErrorContains(t, err, want)
	}
}
