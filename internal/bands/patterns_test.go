package bands

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const own = `[[pattern]]
name = "islands"
title = "Island numbers"
prefix_kind = "letters"
prefix_min = 1
prefix_max = 2
separator = "."
suffix_min = 4
suffix_max = 4
example = "AB.0001"
source = "bench setting"
mark = "user"
`

func TestOwnPatternsAreAdded(t *testing.T) {
	ps, err := Embedded()
	require.NoError(t, err)
	more, err := ps.With([]byte(own), "own.toml")
	require.NoError(t, err)
	assert.Equal(t, []string{"federal", "general", "islands"}, more.Names())
	assert.Equal(t, []string{"federal", "general"}, ps.Names(), "the first set stays as it was")
	p, _ := more.Named("islands")
	assert.Equal(t, "AB.0042", parse(t, p, "ab0042").String())
	replaced, err := more.With([]byte(own), "own.toml")
	require.NoError(t, err)
	assert.Len(t, replaced.Names(), 3)
	_, ok := ps.Named("islands")
	assert.False(t, ok)
}

func TestABrokenPatternIsRefused(t *testing.T) {
	ps, err := Embedded()
	require.NoError(t, err)
	for text, want := range map[string]string{
		"[[pattern]]\nnome = 1":                                        `own.toml, line 2: unknown key "pattern.nome"`,
		"[[pattern]]\nname = 1":                                        "own.toml, line 2",
		"[[pattern]]\nname = \"x\"":                                    `own.toml, line 1: pattern "x": name, title, source and mark must be there`,
		own + "prefix_kind = \"x\"":                                    "own.toml, line 13",
		own[:len(own)-len("mark = \"user\"\n")] + "mark = \"\\u0007\"": "own.toml, line 1: pattern \"islands\": a text holds a character that cannot be shown",
		own + "\n" + own[:len(own)-len("mark = \"user\"\n")]:           `own.toml, line 14: pattern "islands": name, title`,
		"pattern = [{ name = \"x\" }]":                                 `own.toml: pattern "x": name`,
	} {
		_, err := ps.With([]byte(text), "own.toml")
		require.ErrorContains(t, err, want)
		var refused *FileError
		require.ErrorAs(t, err, &refused)
	}
	p := Pattern{Name: "x", Title: "x", Source: "x", Mark: "user", PrefixKind: "digits", PrefixMin: 2, PrefixMax: 2, SuffixMin: 2, SuffixMax: 3, Separator: "-", Example: "12-345"}
	require.NoError(t, p.check())
	for _, spoil := range []func(*Pattern){
		func(p *Pattern) { p.PrefixKind = "runes" },
		func(p *Pattern) { p.PrefixMax = 1 },
		func(p *Pattern) { p.SuffixMin = 0 },
		func(p *Pattern) { p.SuffixMax = 30 },
		func(p *Pattern) { p.Separator = "--" },
		func(p *Pattern) { p.Separator = "A" },
		func(p *Pattern) { p.StringOf = -1 },
		func(p *Pattern) { p.Example = "1-2" },
	} {
		bad := p
		spoil(&bad)
		require.Error(t, bad.check())
	}
}

func FuzzPatterns(f *testing.F) {
	f.Add(embeddedPatterns)
	f.Add([]byte(own))
	f.Add([]byte("pattern = [{ name = \"\u001b\" }]"))
	f.Fuzz(func(t *testing.T, data []byte) {
		ps, err := (Patterns{}).With(data, "own.toml")
		if err != nil {
			require.Equal(t, printable(err.Error()), err.Error())
			return
		}
		for _, name := range ps.Names() {
			p, _ := ps.Named(name)
			n, err := p.Parse(p.Example)
			require.NoError(t, err)
			require.Equal(t, n, parse(t, p, n.String()))
		}
	})
}
