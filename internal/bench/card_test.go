package bench_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/bands"
	"seamfit/internal/bench"
	"seamfit/internal/catalogue"
)

func cards(t *testing.T, name string) []bench.Card {
	t.Helper()
	book, err := catalogue.Embedded()
	require.NoError(t, err)
	c, ok := book.Catalogue(name)
	require.True(t, ok)
	return bench.Cards(book, c, []string{"Mira Tolland", "Åsa Öst", "Åsa Äst"})
}

func TestEveryCardHasAWordOfItsOwn(t *testing.T) {
	for _, name := range []string{"us-federal", "uk-europe"} {
		seen := map[string]bool{}
		for _, c := range cards(t, name) {
			assert.False(t, seen[c.Word], c.Word)
			seen[c.Word] = true
			assert.Regexp(t, `^SF:[A-Z]+(-[A-Z0-9+-]+)?$`, c.Word)
			assert.NotEmpty(t, c.Title)
			assert.NotEmpty(t, c.Group)
			found, ok := bench.CardNamed(cards(t, name), " "+strings.ToLower(c.Word)+" ")
			assert.True(t, ok)
			assert.Equal(t, c, found)
		}
	}
}

// A card must never be taken for a number, nor a number for a card.
func TestNoCardReadsAsANumber(t *testing.T) {
	patterns, err := bands.Embedded()
	require.NoError(t, err)
	for _, name := range patterns.Names() {
		p, _ := patterns.Named(name)
		for _, c := range cards(t, "us-federal") {
			_, err := p.Parse(c.Word)
			require.Error(t, err, "%s as a number of %s", c.Word, name)
		}
		assert.False(t, bench.IsCard(p.Example))
	}
}

func TestCardsCoverWhatABenchAsks(t *testing.T) {
	book, err := catalogue.Embedded()
	require.NoError(t, err)
	all := cards(t, "us-federal")
	value := func(act bench.CardAct) (values []string) {
		for _, c := range all {
			if c.Act == act {
				values = append(values, c.Value)
			}
		}
		return values
	}
	for _, f := range book.Findings {
		assert.Contains(t, value(bench.CardFinding), f.ID)
	}
	for _, c := range book.Closures {
		for _, st := range c.Statements {
			assert.Contains(t, value(bench.CardStatement), st.ID)
		}
	}
	for _, f := range bench.Fates() {
		assert.Contains(t, value(bench.CardFate), string(f))
	}
	assert.Len(t, value(bench.CardDigit), 10)
	assert.Equal(t, []string{"Mira Tolland", "Åsa Öst", "Åsa Äst"}, value(bench.CardPerson), "names that bar codes can't tell apart")
	for _, sp := range book.Species {
		assert.Contains(t, value(bench.CardSpecies), sp.Scientific)
	}
	assert.NotContains(t, value(bench.CardSize), "1C", "discontinued")
	assert.True(t, bench.IsCard("sf:dance"))
	_, ok := bench.CardNamed(all, "SF:DANCE")
	assert.False(t, ok)
}

func TestTheCardThatAsksTheCaliper(t *testing.T) {
	for scan, want := range map[string]bool{
		"SF:TAKE": true, "TAKE": true, " take\r": true, "sf:take": true, "SF:AGAIN": false, "MISTAKE": false, "": false, "1236-56701": false,
	} {
		assert.Equal(t, want, bench.IsTake(scan), "%q", scan)
	}
}
