package catalogue

import (
	"fmt"
	"math/rand"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func first(book *Book, query string) string {
	found := book.Search(query, 5)
	if len(found) == 0 {
		return ""
	}
	return found[0].English
}

func TestSearchByAnyPartOfAName(t *testing.T) {
	book := embeddedBook(t)
	for query, want := range map[string]string{
		"common tern":      "Common Tern",
		"tern common":      "Common Tern",
		"TERN  COM":        "Common Tern",
		"hirundo":          "Common Tern",
		"leachs":           "Leach's Storm-Petrel",
		"Leach\u2019s":     "Leach's Storm-Petrel",
		"storm-petrel":     "Leach's Storm-Petrel",
		"Oceanodroma":      "Leach's Storm-Petrel",
		"06150":            "Common Tern",
		"accipiter cooper": "Cooper's Hawk",
		"comon tern":       "Common Tern",
		"commno tern":      "Common Tern",
		"argntatus":        "Herring Gull",
		"Fratrecula":       "Atlantic Puffin",
		"osprye":           "Osprey",
		"peregrin falcno":  "Peregrine Falcon",
		"Hérring Gull":     "Herring Gull",
	} {
		assert.Equal(t, want, first(book, query), "%q", query)
	}
	for _, query := range []string{"xyzzy", "tern hawk", "trn", "ossspprrrey", "\x1b[2J", strings.Repeat("a", 100)} {
		assert.Empty(t, book.Search(query, 5), "%q", query)
	}
	assert.Len(t, book.Search("", 3), 3)
	assert.Empty(t, book.Search("tern", 0))
	assert.Empty(t, book.Search("tern", -1))
	byHand := &Book{Species: book.Species}
	assert.Equal(t, book.Search("gul", 5), byHand.Search("gul", 5))
}

func TestAnExactNameComesBeforeALookAlike(t *testing.T) {
	book := embeddedBook(t)
	found := book.Search("merlin", 5)
	require.NotEmpty(t, found)
	assert.Equal(t, "Merlin", found[0].English)
	for _, s := range book.Species {
		assert.Equal(t, s.Scientific, book.Search(s.Scientific, 1)[0].Scientific)
	}
}

// alignment is optimal string alignment of word with the best beginning of
// text, by the table of the textbooks.
func alignment(word, text string) int {
	rows := make([][]int, len(word)+1)
	for i := range rows {
		rows[i] = make([]int, len(text)+1)
		rows[i][0] = i
	}
	least := len(word)
	for j := 1; j <= len(text); j++ {
		rows[0][j] = j
		for i := 1; i <= len(word); i++ {
			cost := 1
			if word[i-1] == text[j-1] {
				cost = 0
			}
			rows[i][j] = min(rows[i-1][j]+1, rows[i][j-1]+1, rows[i-1][j-1]+cost)
			if i > 1 && j > 1 && word[i-1] == text[j-2] && word[i-2] == text[j-1] {
				rows[i][j] = min(rows[i][j], rows[i-2][j-2]+1)
			}
		}
		least = min(least, rows[len(word)][j])
	}
	return least
}

func TestTypingErrorsAreCountedAsTheTextbookTableDoes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		query := rapid.StringMatching(`[abc0]{1,64}`).Draw(t, "word")
		text := rapid.StringMatching(`[abc0]{0,80}`).Draw(t, "text")
		w := newTyped(query)
		errors := w.typosIn(text)
		require.Equal(t, alignment(query, text), errors)
		// The short cuts never lose a match.
		if found := w.worthIn(&nameWord{text: text, letters: lettersOf(text)}); errors <= w.typos {
			require.NotEqual(t, uint8(noMatch), found)
		}
	})
	assert.Equal(t, 1, newTyped("commno").typosIn("common"), "two neighbours swapped are one error")
}

func FuzzSearch(f *testing.F) {
	book := embeddedBook(f)
	for _, query := range []string{"tern", "Leach's", "argntatus", "\x1b", "ÄÖ ß", strings.Repeat("long ", 40)} {
		f.Add(query)
	}
	f.Fuzz(func(t *testing.T, query string) {
		found := book.Search(query, 4)
		require.LessOrEqual(t, len(found), 4)
		more := book.Search(query, 8)
		require.GreaterOrEqual(t, len(more), len(found))
		require.Equal(t, found, more[:len(found)], "asking for more changes nothing above")
	})
}

// manySpecies makes 12,000 species with names of usual lengths.
func manySpecies(tb testing.TB) *Book {
	tb.Helper()
	random := rand.New(rand.NewSource(1))
	syllables := []string{"la", "rus", "ster", "na", "fal", "co", "ac", "ci", "pi", "ter", "phy", "llo", "sco", "pus", "tur", "dus", "em", "ber", "i", "za"}
	name := func(n int) string {
		var b strings.Builder
		for range n {
			b.WriteString(syllables[random.Intn(len(syllables))])
		}
		return b.String()
	}
	var file strings.Builder
	for i := range 12_000 {
		fmt.Fprintf(&file, "[[species]]\nscientific = \"%s %s%d\"\nenglish = \"%s %s\"\n", name(3), name(3), i, name(3), name(2))
	}
	book, err := (&Book{}).With([]byte(file.String()), "many.toml")
	require.NoError(tb, err)
	require.Len(tb, book.Species, 12_000)
	return book
}

func BenchmarkSearch12000(b *testing.B) {
	book := manySpecies(b)
	for _, query := range []string{"s", "larus", "turdus ember", "phyloscopus", "stern falconaci", "zzzz"} {
		b.Run(query, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				book.Search(query, 10)
			}
		})
	}
}

func BenchmarkLoad12000(b *testing.B) {
	data, err := MarshalSpecies(manySpecies(b).Species)
	require.NoError(b, err)
	b.SetBytes(int64(len(data)))
	for b.Loop() {
		if _, err := (&Book{}).With(data, "many.toml"); err != nil {
			b.Fatal(err)
		}
	}
}

// Names are the same when strings.EqualFold says so, but for their blanks.
func TestANameIsKnownInEitherCase(t *testing.T) {
	letters := rapid.SampledFrom([]rune("aAſsSσςΣκKKéÉİıi ß\t"))
	rapid.Check(t, func(t *rapid.T) {
		a, b := rapid.StringOf(letters).Draw(t, "a"), rapid.StringOf(letters).Draw(t, "b")
		if rapid.Bool().Draw(t, "the same") {
			b = strings.ToUpper(a)
		}
		words := func(s string) string { return strings.Join(strings.Fields(s), " ") }
		assert.Equal(t, strings.EqualFold(words(a), words(b)), nameKey(a) == nameKey(b), "%q %q", a, b)
	})
}
