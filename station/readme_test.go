package station_test

import (
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/bench"
	"seamfit/station"
)

// The picture in the README is what the view draws, letter for letter. With
// -update it is put there anew.
func TestReadmeShowsTheRealScreen(t *testing.T) {
	const path, begin, end = "../README.md", "<!-- screen: kept true by a test in station -->\n```text\n", "```\n"
	picture := newRig(t).keys("F2", "piping", "Enter", "a", "f", "r").readings(259, 260, 259).screen().String()
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	before, rest, found := strings.Cut(string(data), begin)
	require.True(t, found, "the README has no place for the picture")
	shown, after, found := strings.Cut(rest, end)
	require.True(t, found, "the picture does not end")
	if *update && shown != picture {
		require.NoError(t, os.WriteFile(path, []byte(before+begin+picture+end+after), 0o644))
		return
	}
	assert.Equal(t, picture, shown)
}

func BenchmarkView80x24(b *testing.B) {
	r := open(b, bench.State{Setup: setup(b), Shift: shift()}, options())
	r.keys("F2", "piping", "Enter", "a", "f", "r").readings(259, 260, 259)
	g := r.screen()
	b.ReportAllocs()
	for b.Loop() {
		station.View(r.s, g)
	}
}

func BenchmarkUpdateReading(b *testing.B) {
	r := open(b, bench.State{Setup: setup(b), Shift: shift()}, options())
	r.keys("F2", "piping", "Enter", "a", "f", "r").readings(259, 260)
	start := r.s
	b.ReportAllocs()
	for b.Loop() {
		r.s = start
		r.reading(2_590_000)
	}
}
