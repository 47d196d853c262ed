package catalogue

import (
	"encoding/csv"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/length"
)

func embeddedBook(t testing.TB) *Book {
	t.Helper()
	book, err := Embedded()
	require.NoError(t, err)
	return book
}

func figures(t *testing.T, name string) [][]string {
	t.Helper()
	data, err := os.ReadFile("testdata/" + name)
	require.NoError(t, err)
	r := csv.NewReader(strings.NewReader(string(data)))
	r.Comment = '#'
	rows, err := r.ReadAll()
	require.NoError(t, err)
	return rows[1:]
}

// Source: "Technical Specifications for Band Sizes", US Geological Survey,
// Bird Banding Laboratory. Thousandths of an inch and 64ths of an inch are
// whole nanometres: 25 400 and 396 875.
func TestFederalTableFromInches(t *testing.T) {
	table, ok := embeddedBook(t).Catalogue("us-federal")
	require.True(t, ok)
	rows := figures(t, "us_federal_inches.csv")
	require.Len(t, table.Sizes, len(rows))
	for i, row := range rows {
		size := table.Sizes[i]
		require.Equal(t, row[0], size.Label, "in the table's order")
		assert.Equal(t, atoi(t, row[1])*25_400, int64(size.Inner), "inner diameter of %s", row[0])
		assert.Equal(t, atoi(t, row[2])*396_875, int64(size.Height), "height of %s", row[0])
		assert.Equal(t, atoi(t, row[3])*25_400, int64(size.Thickness), "thickness of %s", row[0])
		assert.Equal(t, row[0] == "1C", size.Discontinued, row[0])
		assert.Equal(t, Round, size.Shape)
	}
	lockOn, _ := table.Size("7D")
	assert.Equal(t, []string{"lock-on"}, lockOn.Closures)
	rivet, _ := table.Size("9 rivet")
	assert.Equal(t, []string{"rivet"}, rivet.Closures)
}

// Source: British Trust for Ornithology, ring sizes page.
func TestEuropeanTable(t *testing.T) {
	table, ok := embeddedBook(t).Catalogue("uk-europe")
	require.True(t, ok)
	rows := figures(t, "uk_europe_mm.csv")
	require.Len(t, table.Sizes, len(rows))
	for i, row := range rows {
		size := table.Sizes[i]
		require.Equal(t, row[0], size.Label)
		inner, _, err := length.Parse(row[1], length.MM)
		require.NoError(t, err)
		assert.Equal(t, inner, size.Inner, row[0])
		assert.Equal(t, atoi(t, row[2])*10, size.MassMG, row[0])
		assert.Zero(t, size.Height, "not published")
		assert.Zero(t, size.Thickness, "not published")
	}
}

func atoi(t *testing.T, s string) int64 {
	t.Helper()
	n, _, err := length.Parse(s, length.MM)
	require.NoError(t, err)
	require.Zero(t, n%length.Millimetre)
	return int64(n / length.Millimetre)
}

func TestEveryRowHasASourceAndAMark(t *testing.T) {
	book := embeddedBook(t)
	check := func(name, source string, mark Mark) {
		assert.NotEmpty(t, source, name)
		assert.True(t, mark.valid(), name)
		assert.NotEqual(t, FromUser, mark, name)
	}
	for _, c := range book.Catalogues {
		check(c.Name, c.Source, c.Mark)
		for _, s := range c.Sizes {
			check(c.Name+" "+s.Label, s.Source, s.Mark)
		}
	}
	for _, f := range book.Findings {
		check(f.ID, f.Source, f.Mark)
		assert.NotEqual(t, FromSource, f.Mark, "no published source for corrections was found")
	}
	for _, c := range book.Closures {
		check(c.ID, c.Source, c.Mark)
	}
	for _, m := range book.Metals {
		check(m.Name, m.Source, m.Mark)
	}
	for _, s := range book.Species {
		check(s.Scientific, s.Source, s.Mark)
	}
	assert.Contains(t, FromMemory.Advice(), "check your office's list")
}

func TestClosureKindsDeclareTheirStatements(t *testing.T) {
	book := embeddedBook(t)
	for id, want := range map[string][]string{
		"butt-end": {"edges", "turns", "caught", "rims"},
		"lock-on":  {"tab", "snag"},
		"rivet":    {"head", "play"},
	} {
		closure, ok := book.Closure(id)
		require.True(t, ok, id)
		var ids []string
		for _, s := range closure.Statements {
			ids = append(ids, s.ID)
		}
		assert.Equal(t, want, ids)
	}
	buttEnd, _ := book.Closure("butt-end")
	assert.ElementsMatch(t, []string{Gap, Overlap, Spiral, Taper, OutOfRound, Burr, Caught, Marred}, buttEnd.Defects)
}

func TestMetalsInAnySpelling(t *testing.T) {
	book := embeddedBook(t)
	for text, want := range map[string]struct {
		name string
		hard bool
	}{
		"Aluminum": {"aluminium", false}, "aluminium": {"aluminium", false}, "STAINLESS  steel": {"stainless steel", true},
		"Incoloy": {"incoloy", true}, "monel": {"monel", true}, " titanium ": {"titanium", true},
	} {
		metal, ok := book.Metal(text)
		require.True(t, ok, text)
		assert.Equal(t, want.name, metal.Name)
		assert.Equal(t, want.hard, metal.Hard)
	}
	_, ok := book.Metal("tin")
	assert.False(t, ok)
}

// Source: the confirmed recommended sizes cited in each row of the data.
func TestSpeciesRows(t *testing.T) {
	book := embeddedBook(t)
	tern, ok := book.SpeciesNamed("common tern")
	require.True(t, ok)
	assert.Equal(t, "Sterna hirundo", tern.Scientific)
	assert.Equal(t, []Recommendation{{Size: "2", Catalogue: "us-federal"}}, tern.Sizes)
	assert.Equal(t, FromSource, tern.Mark)

	hawk, ok := book.SpeciesNamed("Accipiter cooperii")
	require.True(t, ok, "found under its older name")
	assert.Len(t, hawk.SizesFor("us-federal", "female", ""), 1)
	assert.Empty(t, hawk.SizesFor("us-federal", "male", ""))
	assert.Len(t, hawk.SizesFor("us-federal", "", ""), 1, "sex unknown shows both")
	assert.True(t, hawk.ClosureAllowed("lock-on"))
	assert.False(t, hawk.ClosureAllowed("butt-end"))

	gull, ok := book.SpeciesNamed("Larus argentatus")
	require.True(t, ok)
	assert.Equal(t, FromMemory, gull.Mark)
	assert.True(t, gull.ClosureAllowed("butt-end"))
}

func TestUserRowsAreAddedOrTakeTheirPlace(t *testing.T) {
	book := embeddedBook(t)
	own, err := book.With([]byte(`
[[catalogue]]
name = "us-federal"

[[catalogue.size]]
label = "1B"
inner = "2.80 mm"

[[catalogue.size]]
label = "1Q"
inner = "0.120 in"
height = "13/64 in"

[[catalogue]]
name = "islands"
source = "circular of the island office, page 3"
mark = "source"

[[catalogue.size]]
label = "oval 4"
shape = "other"

[[species]]
scientific = " larus  argentatus"
english = "Herring Gull"
sizes = [{ size = "7A", sex = "male" }, { size = "oval 4", catalogue = "islands" }]
min_width = "7.1 mm"
max_width = "9.4 mm"
`), "own.toml")
	require.NoError(t, err)

	table, _ := own.Catalogue("us-federal")
	changed, _ := table.Size("1B")
	assert.Equal(t, length.Length(2_800_000), changed.Inner)
	assert.Equal(t, FromUser, changed.Mark)
	assert.Equal(t, "own file own.toml", changed.Source)
	added, ok := table.Size("1Q")
	require.True(t, ok)
	assert.Equal(t, length.Length(3_048_000), added.Inner)
	assert.Equal(t, FromSource, table.Mark, "what the table says of itself stays")

	islands, ok := own.Catalogue("islands")
	require.True(t, ok)
	oval, _ := islands.Size("oval 4")
	assert.Equal(t, FromSource, oval.Mark, "the table's mark holds for its rows")
	assert.Zero(t, oval.Inner)

	gull, _ := own.SpeciesNamed("Larus argentatus")
	assert.Equal(t, FromUser, gull.Mark)
	assert.Equal(t, length.Length(7_100_000), gull.MinWidth)
	assert.Len(t, own.Species, len(book.Species))

	before, _ := book.Catalogue("us-federal")
	untouched, _ := before.Size("1B")
	assert.Equal(t, length.Length(2_768_600), untouched.Inner, "the first book stays as it was")
	theirs, _ := book.SpeciesNamed("Larus argentatus")
	assert.Equal(t, FromMemory, theirs.Mark)
}

// Source: EURING species code list.
func TestEURINGCodes(t *testing.T) {
	book := embeddedBook(t)
	codes := figures(t, "euring_codes.csv")
	for _, row := range codes {
		s, ok := book.SpeciesNamed(row[1])
		require.True(t, ok, row[1])
		assert.Equal(t, row[0], s.EURING, row[1])
	}
	coded := 0
	for _, s := range book.Species {
		if s.EURING != "" {
			coded++
		}
	}
	assert.Equal(t, len(codes), coded)
}

// Sources: notes of the US Geological Survey species list (closures, joint, no
// metal); confirmed sizes as cited in the rows.
func TestRulesAndConfirmedSizes(t *testing.T) {
	book := embeddedBook(t)
	assert.GreaterOrEqual(t, len(book.Species), 60)
	sizes := map[string][]string{
		"Haliaeetus leucocephalus": {"8A", "9 rivet"},
		"Aquila chrysaetos":        {"9 rivet", "9C"},
		"Astur cooperii":           {"5"},
		"Sterna hirundo":           {"2"},
		"Charadrius semipalmatus":  {"1A", "1B"},
		"Charadrius melodus":       {"1A", "1B"},
		"Anarhynchus nivosus":      {"1B"},
	}
	for _, s := range book.Species {
		want, confirmed := sizes[s.Scientific]
		assert.Equal(t, confirmed, s.Verified(), s.Scientific)
		if confirmed {
			var labels []string
			for _, r := range s.Sizes {
				labels = append(labels, r.Size)
			}
			assert.Equal(t, want, labels, s.Scientific)
		} else {
			assert.Contains(t, s.Mark.Advice(), "check your office's list", s.Scientific)
		}
	}
	for name, rule := range map[string]func(*Species) bool{
		"Haliaeetus leucocephalus": func(s *Species) bool { return s.ClosureAllowed("rivet") && !s.ClosureAllowed("lock-on") },
		"Circus hudsonius":         func(s *Species) bool { return s.ClosureAllowed("lock-on") && !s.ClosureAllowed("butt-end") },
		"Bubo virginianus":         func(s *Species) bool { return s.ClosureAllowed("lock-on") && !s.ClosureAllowed("butt-end") },
		"Myiopsitta monachus":      func(s *Species) bool { return !s.ClosureAllowed("butt-end") },
		"Cathartes aura":           func(s *Species) bool { return s.NoMetalBand },
		"Gymnogyps californianus":  func(s *Species) bool { return s.NoMetalBand },
		"Recurvirostra americana":  func(s *Species) bool { return s.AboveJointOnly },
		"Himantopus mexicanus":     func(s *Species) bool { return s.AboveJointOnly },
		"Larus marinus":            func(s *Species) bool { return s.HardMetal && len(s.MetalReasons) > 0 },
	} {
		s, ok := book.SpeciesNamed(name)
		require.True(t, ok, name)
		assert.True(t, rule(&s), name)
	}
}
