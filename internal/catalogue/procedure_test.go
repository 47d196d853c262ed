package catalogue

import (
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/length"
)

func procedureFor(t *testing.T, book *Book, closure, metal, size string) Procedure {
	t.Helper()
	table, ok := book.Catalogue("us-federal")
	require.True(t, ok)
	row, ok := table.Size(size)
	require.True(t, ok)
	m, ok := book.Metal(metal)
	require.True(t, ok)
	p, ok := book.Procedure(closure, m, row.Inner)
	require.True(t, ok, "%s %s %s", closure, metal, size)
	return p
}

func TestEveryBandThatCanBeClosedHasAProcedure(t *testing.T) {
	book := embeddedBook(t)
	for closure, cases := range map[string]map[string]string{
		"butt-end": {
			"stainless steel 1B": "butt-end-hard-small", "incoloy 3A": "butt-end-hard-small", "monel 4": "butt-end-hard-large",
			"titanium 8": "butt-end-hard-large", "aluminium 1B": "butt-end-soft", "aluminium 8": "butt-end-soft",
		},
		"lock-on": {"aluminium 7D": "lock-on", "incoloy 5": "lock-on"},
		"rivet":   {"aluminium 9 rivet": "rivet"},
	} {
		for text, want := range cases {
			metal, size, _ := strings.Cut(text, " ")
			if rest, ok := strings.CutPrefix(size, "steel "); ok {
				metal, size = metal+" steel", rest
			}
			assert.Equal(t, want, procedureFor(t, book, closure, metal, size).ID, text)
		}
	}
	for _, c := range book.Catalogues {
		for _, s := range c.Sizes {
			for _, m := range book.Metals {
				for _, closure := range s.Closures {
					_, ok := book.Procedure(closure, m, s.Inner)
					assert.True(t, ok, "%s, size %s, %s, %s", c.Name, s.Label, m.Name, closure)
				}
			}
		}
	}
	steel, _ := book.Metal("steel")
	_, ok := book.Procedure("glue", steel, length.Millimetre)
	assert.False(t, ok)
	_, ok = book.Procedure("butt-end", steel, 0)
	assert.False(t, ok, "the size group of an unknown diameter is not guessed")
	soft, _ := book.Metal("aluminium")
	_, ok = book.Procedure("butt-end", soft, 0)
	assert.True(t, ok, "all sizes are one group")
}

// Common practice, no published source: pliers about 1 mm from the edge, both
// sides, two clicks; three angles for small hard bands; large ones spring open
// after the first squeeze; overlap slightly so that it springs back; push the
// edges of a spiral past the line; spreaders still in: open and nip, else off;
// removal as the last resort.
func TestProceduresSayWhatIsCommonPractice(t *testing.T) {
	book := embeddedBook(t)
	require.Len(t, book.Procedures, 5)
	for _, p := range book.Procedures {
		assert.Equal(t, FromPractice, p.Mark, p.ID)
		assert.Equal(t, "common practice", p.Source, p.ID)
		for part, lines := range map[string][]string{
			"tools": p.Tools, "opening": p.Opening, "closing": p.Closing, "see": p.See, "hear": p.Hear, "feel": p.Feel,
			"removal": p.Removal, "cautions": p.Cautions,
		} {
			assert.NotEmpty(t, lines, "%s of %s", part, p.ID)
		}
		for _, line := range p.texts() {
			assert.LessOrEqual(t, utf8.RuneCountInString(line), 76, "short: %s", line)
		}
		says := func(lines []string, word string) {
			assert.Contains(t, strings.ToLower(strings.Join(lines, " ")), word, "%s: %s", p.ID, word)
		}
		for _, word := range []string{"last resort", "trained hands", "stress", "destroyed"} {
			says(p.Removal, word)
		}
		for _, word := range []string{"stress", "never let a bird go", "dowel"} {
			says(p.Cautions, word)
		}
		for _, word := range []string{"sharp edge", "digit", "no wider than the leg"} {
			says(p.Opening, word)
		}
		closure, ok := book.Closure(p.Closure)
		require.True(t, ok)
		for _, finding := range closure.Defects {
			c, ok := book.Correct(p, finding)
			require.True(t, ok, "%s: %s", p.ID, finding)
			assert.NotEmpty(t, c.Steps)
			assert.NotEmpty(t, c.Mark)
		}
		if p.Closure != "butt-end" {
			continue
		}
		overlap, _ := book.Correct(p, Overlap)
		for _, word := range []string{"about 1 mm", "both sides", "hard to undo", "spreaders still go in", "nip closed", "take the band off"} {
			says(overlap.Steps, word)
		}
		gap, _ := book.Correct(p, Gap)
		says(gap.Steps, "overlap slightly, so that they spring back")
		spiral, _ := book.Correct(p, Spiral)
		says(spiral.Steps, "past the line, so that it springs back")
		if p.Hardness == HardMetal {
			says(overlap.Steps, "two clicks")
			says(p.Tools, "push-type spreaders, without fine tips")
		}
	}
	small := procedureFor(t, book, "butt-end", "incoloy", "2")
	assert.Contains(t, strings.Join(small.Closing, " "), "third angle")
	large := procedureFor(t, book, "butt-end", "incoloy", "7B")
	assert.Contains(t, strings.Join(large.Closing, " "), "springs open again")
	// The source of a turned squeeze: Heard Museum station note, 2008.
	soft := procedureFor(t, book, "butt-end", "aluminum", "2")
	assert.Contains(t, strings.Join(soft.Closing, " "), "Turn the pliers")

	// What the procedure does not say, the finding does, with its own mark.
	burr, ok := book.Correct(small, Burr)
	require.True(t, ok)
	assert.Equal(t, FromMemory, burr.Mark)
	_, ok = book.Correct(small, "rust")
	assert.False(t, ok)
}

func TestOwnProceduresAreAddedOrTakeTheirPlace(t *testing.T) {
	book := embeddedBook(t)
	own, err := book.With([]byte(`
[[procedure]]
id = "butt-end-soft"
name = "Ours, aluminium"
closure = "butt-end"
hardness = "soft"
closing = ["As the station's notes say."]

[[procedure]]
id = "monel-2"
closure = "butt-end"
metals = ["monel"]
inner_from = "0.156 in"
inner_below = "4.5 mm"
source = "notes of the island office, page 2"
mark = "source"
closing = ["Four angles."]

[[procedure.correction]]
finding = "taper"
steps = ["Start again."]
`), "own.toml")
	require.NoError(t, err)
	assert.Len(t, own.Procedures, 6)
	soft := procedureFor(t, own, "butt-end", "aluminium", "4")
	assert.Equal(t, "Ours, aluminium", soft.Name)
	assert.Equal(t, FromUser, soft.Mark)
	assert.Equal(t, "own file own.toml", soft.Source)

	monel := procedureFor(t, own, "butt-end", "monel", "2")
	assert.Equal(t, []string{"Four angles."}, monel.Closing)
	taper, ok := own.Correct(monel, Taper)
	require.True(t, ok)
	assert.Equal(t, Correction{Finding: "taper", Steps: []string{"Start again."}, Source: "notes of the island office, page 2", Mark: FromSource}, taper)
	assert.Equal(t, length.Length(3_962_400), monel.InnerFrom)
	assert.Equal(t, "butt-end-hard-small", procedureFor(t, own, "butt-end", "monel", "1B").ID, "below its sizes")
	assert.Equal(t, "butt-end-hard-small", procedureFor(t, own, "butt-end", "incoloy", "2").ID, "another metal")

	assert.Equal(t, "Butt-end, aluminium", procedureFor(t, book, "butt-end", "aluminium", "4").Name, "the first book stays as it was")
}

func TestABrokenProcedureIsRefused(t *testing.T) {
	book := embeddedBook(t)
	const head = "[[procedure]]\nid = \"p\"\nclosure = \"butt-end\"\nclosing = [\"Close it.\"]\n" // lines 1 to 4
	for text, want := range map[string]string{
		"[[procedure]]\nclosure = \"butt-end\"":                              "line 1: id is missing",
		"[[procedure]]\nid = \"p\"\nclosure = \"glue\"\n":                    `line 3: procedure "p": there is no closure kind "glue"; add a [[closure]]`,
		"[[procedure]]\nid = \"p\"\nclosure = \"rivet\"\n":                   `line 1: procedure "p" does not say how to close`,
		head + "hardness = \"soggy\"":                                        `line 5: procedure "p": "soggy" is no hardness; write "hard" or "soft"`,
		head + "metals = [\"tin\"]":                                          `line 5: procedure "p": there is no metal "tin"`,
		head + "inner_below = 6":                                             `line 5: the length "6" has no unit`,
		head + "inner_from = \"5 mm\"\ninner_below = \"5 mm\"":               `line 6: procedure "p": inner_below is not above inner_from`,
		head + "feel = [\"\\u001b[2J\"]":                                     "line 1: procedure[0] holds a character that cannot be shown",
		head + "mark = \"sure\"":                                             `line 5: "sure" is no mark`,
		head + "squeezes = 3":                                                `line 5: unknown key "procedure.squeezes"`,
		head + head:                                                          `line 5: procedure "p" is in this file twice`,
		head + "[[procedure.correction]]\nfinding = \"rust\"\nsteps=[\"x\"]": `line 6: procedure "p": a look at a closure of kind "butt-end" does not find "rust"; use one of gap, overlap`,
		head + "[[procedure.correction]]\nfinding = \"gap\"":                 `line 5: procedure "p": the correction of "gap" has no steps`,
		head + "correction = [{finding = \"gap\", steps = [\"x\"]}, {finding = \"gap\", steps = [\"y\"]}]": `correction "gap" is in this file twice`,
	} {
		_, err := book.With([]byte(text), "own.toml")
		require.ErrorContains(t, err, want, text)
		var refused *FileError
		require.ErrorAs(t, err, &refused)
		assert.NotEmpty(t, refused.Mend, text)
		assert.True(t, isPrintable(err.Error()), "%q", err.Error())
	}
}
