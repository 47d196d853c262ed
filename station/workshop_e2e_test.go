//go:build linux || darwin

package station_test

import (
	"fmt"
	"regexp"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"
)

// A training run of level 1 in the real program, played to its end by keys.
func TestTrainingRunInTheRealProgram(t *testing.T) {
	b := newBench(t)
	b.run("--simulate", "--level", "1", "--seed", "3")
	b.does(keyEnter, "F2 as soon as it is in the hand")
	for _, bird := range []struct{ search, name, number, springs string }{
		{"common tern", "Common Tern", "1232-37120", "It springs open"},
		{"snowy plover", "Snowy Plover", "1231-37130", "It stays as the pliers leave it"},
	} {
		b.does(keyF2, "species:")
		b.does(bird.search, "► "+bird.name)
		b.does(keyEnter, "Which age?")
		b.tellsWhatIsSeen()
		b.does(" ", "mm, 1 of 3")
		b.does(" ", "mm, 2 of 3")
		b.does(" ", "mm, 3 of 3")
		b.does("1", "which metal?")
		b.does("a", "The next band on the tubing is "+bird.number)
		b.does(bird.number, "number: "+bird.number)
		b.does(keyEnter, "nobody says how it looks")
		b.pliersAt(1)
		b.does("m", bird.springs)
		b.does("3", "1.0 mm right")
		b.does("m", "It stays as the pliers leave it")
		b.does("l", "What do you see?")
		b.does("f", "State each point")
		b.does("e", "√ e")
		b.does("r", "√ r")
		b.does("a", "√ a")
		b.does("i", "√ i")
		b.does(bird.number[len(bird.number)-3:], "on the band:")
		b.does(keyEnter, "The closing is confirmed")
		b.does(keyF8, "Left the hand at")
		b.does("b", "Nothing is missing")
		b.does(keyF9, "is complete")
	}
	b.does("s", "In all: 100 of 100")
	b.does(keyEnter, "s shows how it went")
	b.does(keyCtrlQ, "")
	require.Equal(t, 0, b.end())
	require.Len(t, b.table("handlings"), 2)
}

// A run that was left in the middle of its bird is taken up where it stood: the
// same bird and leg, and the numbers on its tubing; another seed begins anew.
func TestATrainingRunGoesOnInTheRealProgram(t *testing.T) {
	b := newBench(t)
	b.run("--simulate", "--level", "1", "--seed", "3")
	b.does(keyEnter, "F2 as soon as it is in the hand")
	b.does(keyF2, "species:")
	b.does("common tern", "► Common Tern")
	b.does(keyEnter, "Which age?")
	b.tellsWhatIsSeen()
	b.does(" ", "mm, 1 of 3")
	b.shows("√ saved")
	require.NoError(t, b.cmd.Process.Kill())
	b.end()

	b.run("--simulate", "--level", "1")
	b.shows("Open birds taken up where they stood.", "►1 Common Tern", "Reading 2 of 3")
	b.does(" ", "mm, 2 of 3")
	b.does(" ", "mm, 3 of 3")
	b.does("1", "which metal?")
	b.does("a", "The next band on the tubing is 1232-37120")
	b.does(keyCtrlQ, "Leave the station?")
	b.does("y", "")
	require.Equal(t, 0, b.end())

	b.run("--simulate", "--level", "1", "--seed", "4")
	b.does(keyEnter, "F2 as soon as it is in the hand")
	b.shows("no bird in the hand")
	b.does(keyCtrlQ, "")
	require.Equal(t, 0, b.end())
}

// tellsWhatIsSeen answers the bird's questions as the screen has the bird.
func (b *realBench) tellsWhatIsSeen() {
	b.t.Helper()
	seen := regexp.MustCompile(`You see: age ([a-z]), sex ([a-z])`).FindStringSubmatch(b.text())
	require.NotNil(b.t, seen, b.text())
	b.does(seen[1], "Which sex?")
	b.does(seen[2], "Which leg")
	b.does("r", "the space bar squeezes it")
}

// pliersAt moves the pliers to so many millimetres from the edge.
func (b *realBench) pliersAt(mm float64) {
	b.t.Helper()
	found := regexp.MustCompile(`([0-9]\.[05]) mm mid`).FindStringSubmatch(b.text())
	require.NotNil(b.t, found, b.text())
	now, err := strconv.ParseFloat(found[1], 64)
	require.NoError(b.t, err)
	for now != mm {
		key, step := "+", 0.5
		if now > mm {
			key, step = "-", -0.5
		}
		now += step
		b.does(key, fmt.Sprintf("%.1f mm mid", now))
	}
}
