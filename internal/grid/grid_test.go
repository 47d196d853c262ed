package grid_test

import (
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"seamfit/internal/grid"
)

func put(width, height, x, y int, text string) *grid.Grid {
	g := grid.New(width, height)
	g.All().Put(x, y, text, grid.Style{})
	return g
}

func TestPutClipsAtEveryBorder(t *testing.T) {
	for name, c := range map[string]struct {
		x, y int
		text string
		want string
	}{
		"inside":           {1, 0, "leg", " leg\n\n"},
		"cut on the right": {3, 1, "leg", "\n   le\n"},
		"cut on the left":  {-2, 0, "leg", "g\n\n"},
		"above":            {0, -1, "leg", "\n\n"},
		"below":            {0, 2, "leg", "\n\n"},
		"far right":        {9, 0, "leg", "\n\n"},
	} {
		t.Run(name, func(t *testing.T) {
			assert.Equal(t, c.want, put(5, 2, c.x, c.y, c.text).String())
		})
	}
}

func TestPutReturnsTheColumnAfter(t *testing.T) {
	g := grid.New(3, 1)
	assert.Equal(t, 5, g.All().Put(1, 0, "8.42", grid.Style{}))
	assert.Equal(t, 1, g.All().PutRight(3, 0, "mm", grid.Style{}))
	assert.Equal(t, " mm\n", g.String())
}

// A wide character takes two columns (Unicode Standard Annex #11, East Asian
// Width), and half of one is never shown.
func TestWideCharacters(t *testing.T) {
	g := put(4, 1, 0, 0, "鳥鳥")
	assert.Equal(t, "鳥鳥\n", g.String())
	assert.Empty(t, g.Cell(1, 0).Text, "right half")

	g.All().Put(1, 0, "x", grid.Style{})
	assert.Equal(t, " x鳥\n", g.String(), "left half blanked")
	g.All().Put(2, 0, "y", grid.Style{})
	assert.Equal(t, " xy\n", g.String(), "right half blanked")
	assert.Equal(t, "a\n", put(2, 1, 0, 0, "a鳥").String(), "no room for half")
	assert.Equal(t, 4, grid.Width("鳥鳥"))
}

func TestNothingSteersTheTerminal(t *testing.T) {
	for _, hostile := range []string{
		"\x1b[2J", "\x07", "\r\n", "\x9b31m", "\u009b31m", "\u202etxet", "\u2066", "a\u200b", "\xff\xfe", "\u2028", "\x7f", "\ufeff",
		"a" + strings.Repeat("\u0301", 200), "\U000e0041", "\ue000",
	} {
		for _, r := range put(40, 1, 0, 0, hostile).Lines()[0] {
			assert.Truef(t, r != utf8.RuneError && unicode.IsGraphic(r), "%q shows %U", hostile, r)
		}
	}
	assert.Equal(t, "?[2J\n", put(10, 1, 0, 0, "\x1b[2J").String())
	assert.Equal(t, "e\u0301!\n", put(10, 1, 0, 0, "e\u0301!").String(), "marks stay with their letter")
}

func TestFit(t *testing.T) {
	assert.Equal(t, "Sterna", grid.Fit("Sterna", 6))
	assert.Equal(t, "Ste..", grid.Fit("Sterna", 5))
	assert.Equal(t, "Larus..", grid.Fit("Larus argentatus", 8), "no blank before the points")
	assert.Equal(t, "..", grid.Fit("Sterna", 2))
	assert.Equal(t, ".", grid.Fit("Sterna", 1))
	assert.Empty(t, grid.Fit("Sterna", 0))
	assert.Empty(t, grid.Fit("Sterna", -3))
}

func TestWrap(t *testing.T) {
	assert.Equal(t, []string{"close it,", "then look"}, grid.Wrap("close it, then\nlook", 9))
	assert.Equal(t, []string{"abcd", "efg", "hi"}, grid.Wrap("abcdefg hi", 4), "a long word is broken within itself")
	assert.Empty(t, grid.Wrap("  ", 9))
	assert.Equal(t, []string{"a", "b"}, grid.Wrap("ab", 0))
}

func TestAreaClipsToItself(t *testing.T) {
	g := grid.New(6, 3)
	a := g.All().Sub(1, 1, 3, 1)
	a.Put(-1, 0, "abcdef", grid.Style{})
	a.Put(0, 1, "below", grid.Style{})
	assert.Equal(t, "\n bcd\n\n", g.String())
	a.Fill("-", grid.Style{Bold: true})
	assert.Equal(t, "\n ---\n\n", g.String())
	assert.Equal(t, "\n.bbb\n\n", g.Marks())
	a.Cursor(9, 9)
	assert.Equal(t, [2]int{3, 1}, [2]int{g.CursorX, g.CursorY})
	a.Sub(9, 9, 4, 4).Cursor(0, 0)
	w, h := a.Sub(-1, -1, 3, 3).Size()
	assert.Equal(t, [2]int{2, 1}, [2]int{w, h})
}

func TestMarks(t *testing.T) {
	g := grid.New(8, 1)
	for x, s := range []grid.Style{
		{},
		{Bold: true},
		{Dim: true},
		{Underline: true},
		{Reverse: true},
		{Bold: true, Reverse: true},
		{Dim: true, Reverse: true},
		{Fore: grid.Red},
	} {
		g.All().Put(x, 0, "x", s)
	}
	assert.Equal(t, ".bdurB+\n", g.Marks(), "colour alone is no mark")
}

// Whatever is put wherever, every row keeps its width and every cell can be
// shown.
func TestGridKeepsItsShape(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w, h := rapid.IntRange(0, 12).Draw(t, "w"), rapid.IntRange(0, 4).Draw(t, "h")
		g := grid.New(w, h)
		for range rapid.IntRange(1, 8).Draw(t, "puts") {
			text := rapid.OneOf(rapid.String(), rapid.StringOf(rapid.RuneFrom([]rune("a鳥e\u0301\u200d👩🔬\x1b")))).Draw(t, "text")
			g.All().Sub(rapid.IntRange(-2, 12).Draw(t, "ax"), rapid.IntRange(-2, 4).Draw(t, "ay"), 8, 3).
				Put(rapid.IntRange(-3, 12).Draw(t, "x"), rapid.IntRange(-2, 5).Draw(t, "y"), text, grid.Style{})
		}
		for y := range h {
			columns := 0
			for x := range w {
				columns += grid.Width(g.Cell(x, y).Text)
			}
			if columns != w {
				t.Fatalf("row %d is %d columns wide, not %d: %q", y, columns, w, g.Lines()[y])
			}
		}
	})
}

func TestWrapKeepsEveryLetterAndTheWidth(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringOf(rapid.RuneFrom([]rune("ab ,.é鳥\n"))).Draw(t, "text")
		columns := rapid.IntRange(2, 20).Draw(t, "columns")
		lines := grid.Wrap(text, columns)
		for _, line := range lines {
			if w := grid.Width(line); w > columns || w == 0 {
				t.Fatalf("%q is %d columns wide", line, w)
			}
		}
		if got, want := strings.Join(strings.Fields(strings.Join(lines, "")), ""), strings.Join(strings.Fields(text), ""); got != want {
			t.Fatalf("%q became %q", want, got)
		}
	})
}

func TestFitNeverExceeds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text, columns := rapid.String().Draw(t, "text"), rapid.IntRange(0, 12).Draw(t, "columns")
		if w := grid.Width(grid.Fit(text, columns)); w > columns {
			t.Fatalf("%d columns in %d", w, columns)
		}
	})
}
