package catalogue

import (
	"bytes"
	"encoding/csv"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/length"
)

func TestAnOfficesListIsReadAndEveryRefusedRowSaysWhy(t *testing.T) {
	book := embeddedBook(t)
	list, err := book.ReadOfficeList([]byte("\ufeffScientific;English;Sizes;Sex;Min width;Max width;Hard metal;Colour;Closures;Catalogue\r\n"+
		"Larus argentatus;Herring Gull;6 | 7A;;7.1 mm;9.4 mm;yes;grey;;\r\n"+
		"Falco marinus;Sea Falcon;6;male;;;no;;lock-on|rivet;\r\n"+
		"Falco marinus;Sea Falcon;7A;Female;;;no;;;\r\n"+
		";Nameless;6;;;;;;;\r\n"+
		"Sterna parva;Small Tern;99;;;;;;;\r\n"+
		"Sterna media;Middle Tern;2;cock;;;;;;\r\n"+
		"Sterna magna;Great Tern;2;;7.1;;;;;\r\n"+
		"Sterna lata;Broad Tern;2;;;;perhaps;;;\r\n"+
		"Larus argentatus;Herring Gull;5;;;;;;;\r\n"+
		"Anas \x1b[2J;Duck;6;;;;;;;\r\n"+
		"Falco alius;Other Falcon;6;;;;;;glue;\r\n"+
		"Falco short\r\n"+
		"Passer \"odd;Sparrow;1;;;;;;;\r\n"+
		"Corvus islandicus;Island Crow;E;;;;;;;uk-europe\r\n"), "list.csv", "us-federal")
	require.NoError(t, err)
	assert.Equal(t, 14, list.Rows)
	assert.Equal(t, []string{"Colour"}, list.Ignored)

	var names []string
	for _, s := range list.Species {
		names = append(names, s.Scientific)
		assert.Equal(t, FromUser, s.Mark)
	}
	assert.Equal(t, []string{"Larus argentatus", "Falco marinus", "Falco short", "Corvus islandicus"}, names)
	gull, falcon := list.Species[0], list.Species[1]
	assert.Equal(t, []Recommendation{{Size: "6", Catalogue: "us-federal"}, {Size: "7A", Catalogue: "us-federal"}}, gull.Sizes)
	assert.Equal(t, 9_400*length.Micrometre, gull.MaxWidth)
	assert.True(t, gull.HardMetal)
	assert.Equal(t, []Recommendation{{Size: "6", Catalogue: "us-federal", Sex: "male"}, {Size: "7A", Catalogue: "us-federal", Sex: "female"}}, falcon.Sizes)
	assert.Equal(t, []string{"lock-on", "rivet"}, falcon.Closures)
	assert.Equal(t, "uk-europe", list.Species[3].Sizes[0].Catalogue)

	want := []struct {
		line   int
		reason string
	}{
		{5, "scientific is missing"},
		{6, `catalogue "us-federal" has no size "99"`},
		{7, `"cock" is no sex`},
		{8, `the length "7.1" has no unit`},
		{9, `hard_metal "perhaps" is neither yes nor no`},
		{10, "Larus argentatus was already in the list, further up"},
		{11, "scientific holds a character that cannot be shown"},
		{12, `there is no closure kind "glue"`},
		{14, `bare " in non-quoted-field`},
	}
	require.Len(t, list.Refused, len(want))
	for i, w := range want {
		r := list.Refused[i]
		assert.Equal(t, w.line, r.Line)
		assert.Contains(t, r.Reason, w.reason)
		assert.NotEmpty(t, r.Mend)
		assert.True(t, isPrintable(r.Text), "%q", r.Text)
	}
}

func TestAnOfficesListBecomesTheUsersFile(t *testing.T) {
	book := embeddedBook(t)
	list, err := book.ReadOfficeList([]byte("scientific,english,sizes,min_width,synonyms,source\n"+
		"Larus argentatus,\"Gull, Herring\",6|7A,0.28 in,Silver Gull|Larus x,Office list 3\n"+
		"Larus argentatus,,6,,,\n"), "list.csv", "us-federal")
	require.NoError(t, err)
	require.Len(t, list.Refused, 1)
	assert.Contains(t, list.Refused[0].Reason, `size "6" is there twice`)
	data, err := MarshalSpecies(list.Species)
	require.NoError(t, err)
	own, err := book.With(data, "own.toml")
	require.NoError(t, err, string(data))
	gull, ok := own.SpeciesNamed("silver gull")
	require.True(t, ok)
	assert.Equal(t, list.Species[0], gull)
	assert.Equal(t, length.Length(7_112_000), gull.MinWidth)
	assert.True(t, gull.Verified())

	everything, err := MarshalSpecies(book.Species)
	require.NoError(t, err)
	same, err := book.With(everything, "all.toml")
	require.NoError(t, err)
	assert.Equal(t, book.Species, same.Species)
}

// asOfficeList writes species as an office's list, a row for each size.
func asOfficeList(t *testing.T, species []Species) []byte {
	t.Helper()
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	require.NoError(t, w.Write(officeColumnNames()))
	yes := map[bool]string{true: "yes"}
	width := func(l length.Length) string {
		if l == 0 {
			return ""
		}
		return l.Exact() + " mm"
	}
	for _, s := range species {
		years := ""
		if s.LongevityYears > 0 {
			years = strconv.FormatFloat(s.LongevityYears, 'g', -1, 64)
		}
		sizes := s.Sizes
		if len(sizes) == 0 {
			sizes = []Recommendation{{}}
		}
		for _, r := range sizes {
			row := map[string]string{
				"scientific": s.Scientific, "english": s.English, "synonyms": strings.Join(s.Synonyms, " | "), "euring": s.EURING,
				"sizes": r.Size, "catalogue": r.Catalogue, "sex": r.Sex, "age": r.Age, "closures": strings.Join(s.Closures, "|"),
				"hard_metal": yes[s.HardMetal], "metal_reasons": strings.Join(s.MetalReasons, " | "), "above_joint_only": yes[s.AboveJointOnly],
				"no_metal_band": yes[s.NoMetalBand], "min_width": width(s.MinWidth), "max_width": width(s.MaxWidth),
				"longevity_years": years, "longevity_source": s.LongevitySource, "note": s.Note, "source": s.Source,
			}
			var fields []string
			for _, name := range officeColumnNames() {
				fields = append(fields, row[name])
			}
			require.Len(t, row, len(fields), "every column is written")
			require.NoError(t, w.Write(fields))
		}
	}
	w.Flush()
	require.NoError(t, w.Error())
	return b.Bytes()
}

// Whatever the tables that come with the program say of a species, an office's
// list can say.
func TestAListCanSayAllThatTheEmbeddedSpeciesSay(t *testing.T) {
	book := embeddedBook(t)
	want := slices.Clone(book.Species)
	want = append(want, Species{
		Scientific: "Vultur imaginarius", English: "Imagined Vulture", Synonyms: []string{"V. alius"}, EURING: "99999", Closures: []string{"rivet"},
		HardMetal: true, MetalReasons: []string{"long-lived", "bites its band"}, AboveJointOnly: true, NoMetalBand: true,
		MinWidth: 7 * length.Millimetre, MaxWidth: 9_400 * length.Micrometre, LongevityYears: 27.5, LongevitySource: "an invented paper", Note: "n",
		Sizes:  []Recommendation{{Size: "6", Catalogue: "us-federal", Sex: "male"}, {Size: "G", Catalogue: "uk-europe", Sex: "female", Age: "adult"}},
		Source: "an invented list",
	})
	for i := range want {
		want[i].Mark = FromUser
	}
	list, err := book.ReadOfficeList(asOfficeList(t, want), "list.csv", "us-federal")
	require.NoError(t, err)
	assert.Empty(t, list.Refused)
	assert.Empty(t, list.Ignored)
	assert.Equal(t, want, list.Species)
	everything, err := MarshalSpecies(list.Species)
	require.NoError(t, err)
	own, err := book.With(everything, "own.toml")
	require.NoError(t, err)
	assert.Equal(t, want, own.Species)
}

func TestATextThatHoldsTheSeparatorMovesNothing(t *testing.T) {
	list, err := embeddedBook(t).ReadOfficeList([]byte("scientific,english,note\nA b,Gull, Herring,x\nA c,Gull,x,,\nA d,\"Gull, Herring\",x\n"), "list.csv", "us-federal")
	require.NoError(t, err)
	require.Len(t, list.Refused, 1)
	assert.Equal(t, Refusal{
		Line: 2, Text: "A b,Gull, Herring,x", Reason: "the row has 4 cells, and the first line names 3 columns",
		Mend: "put a text that holds the separator between quotation marks",
	}, list.Refused[0])
	assert.Len(t, list.Species, 2)
}

func TestYearsMayHaveADecimalComma(t *testing.T) {
	list, err := embeddedBook(t).ReadOfficeList([]byte("scientific;sizes;longevity_years;longevity_source\nA b;6;27,5;a paper\n"), "list.csv", "us-federal")
	require.NoError(t, err)
	require.Empty(t, list.Refused)
	assert.InDelta(t, 27.5, list.Species[0].LongevityYears, 0)
}

func TestRowsThatSayWhatCannotBeAreRefused(t *testing.T) {
	book := embeddedBook(t)
	for row, want := range map[string]string{
		"A b,6,perhaps,,,,,":               `above_joint_only "perhaps" is neither yes nor no; write "yes" or "no"`,
		"A b,6,,si,,,,":                    `no_metal_band "si" is neither yes nor no; write "yes" or "no"`,
		"A b,6,,,no,salt water,,":          "hard_metal says no, and metal_reasons say why hard metal is advised; write yes, or take the reasons out",
		"A b,6,,,,,long,a paper":           `longevity_years "long" is no number; write the years as a number, like 27.5`,
		"A b,6,,,,,27,":                    "A b: longevity_years has no source; add longevity_source, or leave the years out",
		"A b,6,,,,,NaN,a paper":            "longevity_years NaN is out of range; write the years, or leave it out",
		"A b,6,,,,,-1,a paper":             "longevity_years -1 is out of range; write the years, or leave it out",
		"A b,6,,,,\"salt\x07\",,":          "metal_reasons holds a character that cannot be shown",
		"A b,6,yes,,,,,\nA b,7A,no,,,,,":   `A b: the above_joint_only is "no" here, and "yes" in the species' first row; say it in the first row, and the same or nothing in the others`,
		"A b,6,,,,,,\nA b,7A,,,yes,,,":     `A b: the hard_metal is "yes" here, and "" in the species' first row; say it in the first row`,
		"A b,6,,,yes,,,\nA b,6,,,yes,,,":   `A b: size "6" is there twice for the same sex and age; take one of the two out`,
		"A b,6,,,yes,,,\nA b,99,,,yes,,,":  `catalogue "us-federal" has no size "99"`,
		"A b,6,,,,,,\nB c,6,,,,,,\nA b,5,": "A b was already in the list, further up",
	} {
		list, err := book.ReadOfficeList([]byte("scientific,sizes,above_joint_only,no_metal_band,hard_metal,metal_reasons,longevity_years,longevity_source\n"+row), "list.csv", "us-federal")
		require.NoError(t, err)
		require.Len(t, list.Refused, 1, row)
		assert.Contains(t, list.Refused[0].Reason+"; "+list.Refused[0].Mend, want)
	}
}

func TestAListOfWhichNothingCanBeReadIsRefused(t *testing.T) {
	book := embeddedBook(t)
	for text, want := range map[string]string{
		"":                              "no line of column names",
		"\"open":                        "no line of column names",
		"name,size\nLarus,6":            `there is no column "scientific"; name the columns scientific, english`,
		"scientific,Scientific \nLarus": `the column "scientific" is there twice`,
		"scientific\n\xff\xfe":          "not UTF-8 text; save it as UTF-8",
		strings.Repeat("a", maxFile+1):  "larger than 16 MB",
	} {
		_, err := book.ReadOfficeList([]byte(text), "list.csv", "us-federal")
		require.ErrorContains(t, err, want)
		var refused *FileError
		require.ErrorAs(t, err, &refused)
	}
}

func FuzzReadOfficeList(f *testing.F) {
	f.Add([]byte("scientific,english,sizes,sex\nLarus argentatus,Herring Gull,6|7A,male\n"))
	f.Add([]byte("\ufeffscientific;min_width\nA b;7.1 mm\n\"x\ny\";1/4 in\n"))
	f.Add([]byte("scientific\tclosures\nA\tlock-on\n\"\n"))
	f.Add([]byte("scientific;metal_reasons;above_joint_only;no_metal_band;longevity_years;longevity_source\nA b;salt water|long-lived;yes;no;27,5;a paper\nA b;;;;;\n"))
	book := embeddedBook(f)
	f.Fuzz(func(t *testing.T, data []byte) {
		list, err := book.ReadOfficeList(data, "list.csv", "us-federal")
		if err != nil {
			require.True(t, isPrintable(err.Error()))
			return
		}
		for _, r := range list.Refused {
			require.True(t, isPrintable(r.Text), "%q", r.Text)
		}
		if len(list.Species) == 0 {
			return
		}
		out, err := MarshalSpecies(list.Species)
		require.NoError(t, err)
		own, err := book.With(out, "own.toml")
		require.NoError(t, err, string(out))
		for _, s := range list.Species {
			back, ok := own.SpeciesNamed(s.Scientific)
			require.True(t, ok)
			require.Equal(t, s.Sizes, back.Sizes)
		}
	})
}
