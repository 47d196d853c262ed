package bands

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func pattern(t require.TestingT, name string) *Pattern {
	ps, err := Embedded()
	require.NoError(t, err)
	p, ok := ps.Named(name)
	require.True(t, ok, name)
	return p
}

func parse(t require.TestingT, p *Pattern, text string) Number {
	n, err := p.Parse(text)
	require.NoError(t, err, text)
	return n
}

// Source: US Geological Survey, Bird Banding Laboratory, band-number page: a
// string of 100 is 888-88801 … 888-88900, the last of a prefix is 888-00000.
func TestPublishedRunOfAString(t *testing.T) {
	p := pattern(t, "federal")
	assert.Equal(t, 100, p.StringOf)
	n := parse(t, p, "888-88801")
	for range 99 {
		next, err := n.Next()
		require.NoError(t, err)
		n = next
	}
	assert.Equal(t, "888-88900", n.String())

	last := parse(t, p, "888-00000")
	_, err := last.Next()
	require.ErrorIs(t, err, ErrSeriesEnd)
	before, err := parse(t, p, "888-99999").Next()
	require.NoError(t, err)
	assert.Equal(t, last, before, "…00000 follows …99999")
	assert.Equal(t, 1, last.Compare(parse(t, p, "888-00001")))
}

func TestFederalNumbersAsPeopleWriteThem(t *testing.T) {
	p := pattern(t, "federal")
	for text, want := range map[string]string{
		"1236-56701": "1236-56701", "123656701": "1236-56701", "88888801": "888-88801",
		" 888 - 88801 ": "888-88801", "1236\u201356701": "1236-56701", "1236 56701": "1236-56701",
		"0888-88801": "0888-88801",
	} {
		assert.Equal(t, want, parse(t, p, text).String(), text)
	}
	n := parse(t, p, "1236-56701")
	assert.Equal(t, "1236", n.Prefix())
	assert.Equal(t, "56701", n.Suffix())
	assert.Equal(t, "701", n.Tail(3))
	assert.Equal(t, "123656701", n.Tail(99))
	assert.Empty(t, n.Tail(-1))
	assert.True(t, Number{}.IsZero())
	assert.Empty(t, Number{}.String())
	assert.Empty(t, Number{}.Tail(3))
}

func TestWhatIsNoFederalNumber(t *testing.T) {
	p := pattern(t, "federal")
	for _, text := range []string{
		"", "-", "12-34567", "12345-67890", "1236-5670", "1236-567011", "1236-5670A", "1236567",
		"1236-56701\r", "1236-56701\x1b[2J", "1236--56701", "1236-567-01", "１２３６-56701", "1236-5670?",
		"12365670112365670112365670112365670112365670112365670112365670112365670",
	} {
		_, err := p.Parse(text)
		var refused *NumberError
		require.ErrorAs(t, err, &refused, "%q", text)
		assert.Equal(t, "write it like 888-88801", refused.Mend)
		assert.NotContains(t, err.Error(), "\x1b")
		assert.NotContains(t, err.Error(), "\r")
	}
}

func TestGeneralNumbers(t *testing.T) {
	p := pattern(t, "general")
	n := parse(t, p, "xa 00999")
	assert.Equal(t, "XA00999", n.String())
	next, err := n.Next()
	require.NoError(t, err)
	assert.Equal(t, "XA01000", next.String(), "the width stays")
	assert.Equal(t, "1A", parse(t, p, "1A234").Prefix())
	assert.Empty(t, parse(t, p, "00042").Prefix())
	_, err = parse(t, p, "XA99999").Next()
	require.ErrorIs(t, err, ErrSeriesEnd)
	zero := parse(t, p, "XA00000")
	assert.Equal(t, -1, zero.Compare(parse(t, p, "XA00001")), "here zeros come first")
	for _, text := range []string{"XA", "XA-00999", "ABCDEFG1", "123456789", "Ä123", "A?1"} {
		_, err := p.Parse(text)
		require.Error(t, err, text)
	}
}

func TestAnInscriptionMatchesWhatCouldBeRead(t *testing.T) {
	p := pattern(t, "federal")
	worn, err := p.Inscribed("12?6 567?1")
	require.NoError(t, err)
	assert.Equal(t, Inscription("12?6-567?1"), worn)
	assert.False(t, worn.Complete())
	assert.True(t, worn.Matches(parse(t, p, "1236-56701")))
	assert.True(t, worn.Matches(parse(t, p, "1246-56791")))
	assert.False(t, worn.Matches(parse(t, p, "1236-56702")))
	assert.False(t, worn.Matches(parse(t, p, "888-56701")))
	whole, err := p.Inscribed("1236-56701")
	require.NoError(t, err)
	assert.True(t, whole.Complete())
	_, err = p.Inscribed("1?6-567?")
	require.Error(t, err)
	_, err = pattern(t, "general").Inscribed("A?1")
	require.ErrorContains(t, err, "leaves open where the prefix ends")
}

func TestReadBack(t *testing.T) {
	p := pattern(t, "federal")
	for text, want := range map[string]string{"701": "701", " 7 01 ": "701", "6-56701": "656701"} {
		got, err := p.Tail(text)
		require.NoError(t, err)
		assert.Equal(t, want, got)
	}
	for _, text := range []string{"", "-", "7?1", "7\x1b1", "7.1"} {
		_, err := p.Tail(text)
		require.Error(t, err, "%q", text)
	}
}

func TestStates(t *testing.T) {
	for _, s := range States() {
		assert.True(t, s.Valid())
		assert.Equal(t, s == InStock || s == Opened, s.Usable(), string(s))
	}
	assert.False(t, State("eaten").Valid())
}

func TestNextStepsThroughAPrefixWithoutRepeating(t *testing.T) {
	for _, name := range []string{"federal", "general"} {
		p := pattern(t, name)
		rapid.Check(t, func(t *rapid.T) {
			n := parse(t, p, rapid.StringMatching(`[1-9][0-9]{2}`).Draw(t, "prefix")+map[string]string{"federal": "-", "general": "A"}[name]+
				rapid.StringMatching(`[0-9]{5}`).Draw(t, "suffix"))
			require.Equal(t, n, parse(t, p, n.String()), "the canonical form reads back")
			next, err := n.Next()
			if err != nil {
				require.ErrorIs(t, err, ErrSeriesEnd)
				return
			}
			require.Equal(t, 1, next.Compare(n))
			require.Equal(t, n.Prefix(), next.Prefix())
			require.Len(t, next.String(), len(n.String()))
		})
	}
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{"888-88801", "123656701", "XA00999", "1?6-567?1", "\x1b", ""} {
		f.Add(s)
	}
	ps, err := Embedded()
	require.NoError(f, err)
	f.Fuzz(func(t *testing.T, text string) {
		for _, name := range ps.Names() {
			p, _ := ps.Named(name)
			n, err := p.Parse(text)
			worn, wornErr := p.Inscribed(text)
			if err == nil {
				require.Equal(t, n, parse(t, p, n.String()))
				require.NoError(t, wornErr)
				require.True(t, worn.Matches(n))
				_, _ = n.Next()
			}
			if wornErr == nil {
				again, err := p.Inscribed(string(worn))
				require.NoError(t, err)
				require.Equal(t, worn, again)
			}
			_, _ = p.Tail(text)
		}
	})
}
