package catalogue

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestABrokenFileIsRefusedWithLineReasonAndMend(t *testing.T) {
	book := embeddedBook(t)
	const head = "[[catalogue]]\nname = \"own\"\n[[catalogue.size]]\n" // lines 1 to 3
	for text, want := range map[string]string{
		"[[catalogue]\n": "line 1",
		"\n\nname = 3":   `line 3: unknown key "name"`,
		head + "label = \"A\"\ninner = \"2 mm\"\ncolor = \"red\"":                                     `line 6: unknown key "catalogue.size.color"; check its spelling`,
		head + "label = \"A\"\ninner = 0.312":                                                         `line 5: the length "0.312" has no unit; write it as "0.312 in"`,
		head + "label = \"A\"\ninner = \"0.312\"":                                                     `line 5: the length "0.312" has no unit`,
		head + "label = \"A\"\ninner = \"2,3 mm\"":                                                    `line 5: the length "2,3 mm" is not a decimal number`,
		head + "label = \"A\"\ninner = \"-2 mm\"":                                                     `line 5: the length "-2 mm" is not between 0.1 and 60 mm`,
		head + "label = \"A\"\ninner = \"312 in\"":                                                    `line 5: the length "312 in" is not between 0.1 and 60 mm; check the decimal point and the unit`,
		head + "label = \"A\"\ninner = \"1/3 mm\"":                                                    "line 5: the length \"1/3 mm\" is finer than a nanometre",
		head + "label = \"A\"\ninner = \"1/0 in\"":                                                    "line 5",
		head + "label = \"A\"\ninner = true":                                                          "line 5",
		head + "label = \"A\"\ninner = [1]":                                                           "line 5",
		head + "label = \"A\"":                                                                        `line 3: size "A" is round and has no inner diameter`,
		head + "inner = \"2 mm\"":                                                                     "line 3: label is missing",
		head + "label = \"A\\u001b]\"\ninner = \"2 mm\"":                                              `line 4: label holds a character that cannot be shown`,
		head + "label = \"A\"\ninner = \"2 mm\"\nshape = \"oval\"":                                    `line 6: size "A": "oval" is no shape; write "round" or "other"`,
		head + "label = \"A\"\ninner = \"2 mm\"\nmark = \"sure\"":                                     `line 6: "sure" is no mark`,
		head + "label = \"A\"\ninner = \"2 mm\"\nclosures = [\"glue\"]":                               `line 6: there is no closure kind "glue"`,
		head + "label = \"A\"\ninner = \"2 mm\"\n[[catalogue.size]]\nlabel = \"A\"\ninner = \"3 mm\"": `line 6: size "A" is in this file twice`,
		head + "label = \"A\"\ninner = \"2 mm\"\nmass_mg = -1":                                        "line 6",
		"[[species]]\nenglish = \"Gull\"":                                                             "line 1: scientific is missing; add it",
		"[[species]]\nscientific = \"A b\"\n\nsizes = [{ size = \"99\" }]":                            `line 4: A b: catalogue "us-federal" has no size "99"`,
		"[[species]]\nscientific = \"A b\"\nsizes = [{ size = \"1\", catalogue = \"moon\" }]":         `line 3: A b: there is no catalogue "moon"`,
		"[[species]]\nscientific = \"A b\"\nsizes = [{ size = \"1\", sex = \"f\" }]":                  `line 3: "f" is no sex`,
		"[[species]]\nscientific = \"A b\"\nmin_width = \"3 mm\"\nmax_width = \"2 mm\"":               "line 4: A b: the greatest width is below the least",
		"[[closure]]\nid = \"tie\"\ndefects = [\"knot\"]":                                             `line 3: closure kind "tie": there is no finding "knot"`,
		"[[closure]]\nid = \"tie\"":                                                                   `line 1: closure kind "tie" has no statements`,
		"[[metal]]\nhard = true":                                                                      "line 1: name is missing",
	} {
		_, err := book.With([]byte(text), "own.toml")
		require.Error(t, err, text)
		assert.Contains(t, err.Error(), want, text)
		assert.True(t, strings.HasPrefix(err.Error(), "own.toml, line "), "%v", err)
		var refused *FileError
		require.ErrorAs(t, err, &refused)
		assert.NotEmpty(t, refused.Mend, text)
		assert.True(t, isPrintable(err.Error()), "%q", err.Error())
	}
	_, err := book.With(make([]byte, maxFile+1), "own.toml")
	require.ErrorContains(t, err, "larger than 16 MB")
}

func FuzzWith(f *testing.F) {
	for _, name := range []string{"us-federal.toml", "uk-europe.toml", "closures.toml", "procedures.toml", "species.toml"} {
		data, err := embedded.ReadFile("data/" + name)
		require.NoError(f, err)
		f.Add(data)
	}
	f.Add([]byte("[[catalogue]]\nname = \"own\"\n[[catalogue.size]]\nlabel = \"A\"\ninner = \"1 1/8 in\""))
	f.Add([]byte("[[species]]\nscientific = \"A b\"\nmin_width = 3.5"))
	book := embeddedBook(f)
	f.Fuzz(func(t *testing.T, data []byte) {
		own, err := book.With(data, "own.toml")
		if err != nil {
			require.True(t, isPrintable(err.Error()), "%q", err.Error())
			return
		}
		for _, c := range own.Catalogues {
			for _, s := range c.Sizes {
				require.True(t, isPrintable(s.Label))
				require.True(t, s.Shape == Other || s.Inner >= smallest)
				require.NotEmpty(t, s.Source)
				require.True(t, s.Mark.valid())
			}
		}
		for _, s := range own.Species {
			require.True(t, isPrintable(s.Scientific+s.English+s.Note))
			require.True(t, s.Mark.valid())
		}
	})
}
