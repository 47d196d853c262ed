//go:build linux || darwin

package station_test

import (
	"os/exec"
	"path/filepath"
	"syscall"
	"testing"

	"github.com/creack/pty"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/term"
)

// tells begins a bird and says what it is.
func (b *realBench) tells(search, name, age, sex string) {
	b.t.Helper()
	b.does(keyF2, "species:")
	b.does(search, "► "+name)
	b.does(keyEnter, "Which age?")
	b.does(age, "Which sex?")
	b.does(sex, "Which leg gets the band?")
	b.does("r", "Reading 1 of 3")
}

// confirms states the four points of a butt-end band and reads it back.
func (b *realBench) confirms(tail string) {
	b.t.Helper()
	b.does("e", "√ e Edges")
	b.does("r", "√ r Turns")
	b.does("a", "√ a Nothing")
	b.does("i", "√ i Rims")
	b.does(tail+keyEnter, "The closing is confirmed.")
}

func (b *realBench) opensShift() {
	b.t.Helper()
	b.shows("Banding needs a permit and training")
	b.does(keyEnter, "place:")
	b.does("Hollow Skerry"+keyEnter, "bander:")
	b.does("Mira Tolland"+keyEnter, "permit:")
	b.does("P-77"+keyEnter, "The shift is open.")
	b.shows("√ saved")
}

// Three birds through the real program, with a caliper on a real serial line:
// an easy one, one at a size's limit, and one whose first band overlaps. The
// records then hold what the screen said.
func TestThreeBirdsThroughTheRealProgram(t *testing.T) {
	b := newBench(t)
	b.run("--caliper", b.port)
	b.opensShift()
	b.settled()

	b.tells("common tern", "Common Tern", "a", "f")
	b.reads("+3.02\r", "mm, 1 of 3")
	b.reads("+3.01\r", "mm, 2 of 3")
	b.reads("+3.03\r", "3.02 ± 0.04 mm, 3 readings")
	b.does("1", "which metal?")
	b.does("a", "2 aluminium, fits")
	b.does("1232-40001"+keyEnter, "1232-40001 taken")
	b.does("f", "closing 1: flush")
	b.does(keyF9, "Not stated of the last closing: Edges meet all round.")
	b.does("x", "Flush. State each point")
	b.confirms("001")
	b.does(keyF8, "Left the hand at")
	b.does("b", "Nothing is missing.")
	b.does(keyF9, "The record of bird 1 is complete.")

	b.tells("piping", "Piping Plover", "a", "m")
	b.reads("+2.59\r", "mm, 1 of 3")
	b.reads("+2.60\r", "mm, 2 of 3")
	b.reads("+2.59\r", "near tight")
	b.does("1", "Size 1A: which metal?")
	b.does("a", "1A aluminium, fits")
	b.does("1231-77051"+keyEnter, "1231-77051 taken")
	b.does("g", "g■gap")
	b.does(keyEnter, "closing 1: gap")
	b.does("f", "closing 2: flush")
	b.confirms("051")
	b.does(keyF8, "Left the hand at")
	b.does("b", "Nothing is missing.")
	b.does(keyF9, "The record of bird 2 is complete.")

	b.tells("herring gull larus arg", "Herring Gull", "a", "u")
	b.reads("+7.22\r", "mm, 1 of 3")
	b.reads("+7.20\r", "mm, 2 of 3")
	b.reads("+7.23\r", "mm, 3 of 3")
	b.does("1", "Size 6: which metal?")
	b.does("s", "6 stainless steel, butt-end, fits")
	b.does("1236-56701"+keyEnter, "1236-56701 taken")
	b.does("o", "o■overlap")
	b.does(keyEnter, "closing 1: overlap")
	b.does(keyF6, "reason:")
	b.does("overlap, spreaders do not go in"+keyEnter, "recorded as destroyed")
	b.does("1236-56702"+keyEnter, "1236-56702 taken")
	b.does("f", "closing 1: flush")
	b.confirms("702")
	b.does(keyCtrlO, "Left the hand at")
	b.does("b", "Nothing is missing.")
	b.does(keyF9, "The record of bird 3 is complete.")
	b.shows("√ saved")
	b.does(keyCtrlQ, "")
	require.Equal(t, 0, b.end())

	birds := b.table("handlings")
	require.Len(t, birds, 3)
	for i, want := range []map[string]string{
		{"species": "Sterna hirundo", "sex": "female", "size": "2", "metal": "aluminium", "number": "1232-40001", "verdict": "fits"},
		{"species": "Charadrius melodus", "sex": "male", "size": "1A", "metal": "aluminium", "number": "1231-77051", "verdict": "fits"},
		{"species": "Larus argentatus", "sex": "not known", "size": "6", "metal": "stainless steel", "number": "1236-56702", "verdict": "fits"},
	} {
		for column, value := range want {
			assert.Equal(t, value, birds[i][column], column)
		}
		for column, value := range map[string]string{
			"place": "Hollow Skerry", "bander": "Mira Tolland", "permit": "P-77", "age": "adult", "leg": "right", "fate": "banded",
			"confirmed": "true", "complete": "true", "disputed": "false", "training": "false", "closure": "butt-end",
		} {
			assert.Equal(t, value, birds[i][column], column)
		}
		assert.NotEmpty(t, birds[i]["left_hand"])
	}
	assert.Equal(t, []string{"+3.02", "+3.01", "+3.03", "+2.59", "+2.60", "+2.59", "+7.22", "+7.20", "+7.23"}, b.column("readings", "raw"))
	assert.Equal(t, []string{"[]", `["gap"]`, "[]", `["overlap"]`, "[]"}, b.column("closings", "findings"))
	states := map[string]string{}
	for _, band := range b.table("bands") {
		states[band["number"]] = band["state"] + ": " + band["reason"]
	}
	assert.Equal(t, map[string]string{
		"1232-40001": "on bird: ", "1231-77051": "on bird: ", "1236-56702": "on bird: ",
		"1236-56701": "destroyed: overlap, spreaders do not go in",
	}, states)
	var backs []string
	for _, c := range b.table("confirmations") {
		if c["read_back"] != "" {
			backs = append(backs, c["read_back"])
		}
	}
	assert.Equal(t, []string{"001", "051", "702"}, backs)
}

// Killed in the middle of the second bird, the station goes on where it stood.
func TestKilledInTheMiddleOfTheSecondBird(t *testing.T) {
	b := newBench(t)
	b.run("--caliper", b.port)
	b.opensShift()
	b.settled()
	b.tells("common tern", "Common Tern", "a", "f")
	b.tells("piping", "Piping Plover", "a", "f")
	b.reads("+2.59\r", "mm, 1 of 3")
	b.reads("+2.60\r", "mm, 2 of 3")
	b.shows("√ saved")
	require.NoError(t, b.cmd.Process.Kill())
	b.end()

	b.run("--caliper", b.port)
	b.shows("Open birds taken up where they stood.", "►2 Piping Plover", "1 Common Tern", "Reading 3 of 3", "readings: 2.59 2.60")
	b.settled()
	b.reads("+2.59\r", "near tight")
	b.does("1", "which metal?")
	b.does("a", "1A aluminium, fits")
	b.does("1231-77051"+keyEnter, "1231-77051 taken")
	b.shows("√ saved") // not before: until then the screen says "saving"
	require.NoError(t, b.cmd.Process.Kill())
	b.end()

	b.run("--caliper", b.port)
	b.shows("Closing 1: close the band", "1231-77051 taken, not yet closed")
	b.does("f", "closing 1: flush")
	b.confirms("051")
	b.does(keyF8, "Left the hand at")
	b.does("b", "Nothing is missing.")
	b.does(keyF9, "The record of bird 2 is complete.")
	b.does(keyCtrlQ, "1 bird not complete: 1 Common Tern (IN THE HAND)")
	b.does("y", "")
	require.Equal(t, 0, b.end())
	birds := b.table("handlings")
	require.Len(t, birds, 2)
	assert.Equal(t, "false", birds[0]["complete"])
	assert.Equal(t, "true", birds[1]["complete"])
	assert.Len(t, b.table("readings"), 3)
}

// SIGTERM and SIGHUP end the station, give the terminal back as it was, and
// keep what was entered.
func TestSignalsGiveTheTerminalBack(t *testing.T) {
	for _, signal := range []syscall.Signal{syscall.SIGTERM, syscall.SIGHUP} {
		t.Run(signal.String(), func(t *testing.T) {
			b := newBench(t)
			tty, slave, err := pty.Open() // shows what a fresh terminal is set to
			require.NoError(t, err)
			defer tty.Close()
			defer slave.Close()
			b.run("--simulate")
			b.shows("This is a training run")
			assert.False(t, b.emu.whole())
			b.does(keyEnter, "The shift is open.")
			b.does(keyF2, "species:")
			b.shows("√ saved")
			require.NoError(t, b.cmd.Process.Signal(signal))
			assert.Equal(t, 1, b.end())
			b.until("the first screen", b.emu.whole)
			fresh, err := term.GetState(int(slave.Fd()))
			require.NoError(t, err)
			after, err := term.GetState(int(b.tty.Fd()))
			require.NoError(t, err)
			assert.Equal(t, fresh, after, "echo, lines and signals as before")
			b.shows("seamfit: the station was ended from outside")
			b.run("--simulate")
			b.shows("TRAINING", "►1 species?")
		})
	}
}

// The caliper's cable is pulled out: the screen says so with the mend, and
// typing goes on.
func TestUnpluggedCaliperIsTold(t *testing.T) {
	b := newBench(t)
	b.run("--caliper", b.port)
	b.opensShift()
	b.settled()
	b.tells("common tern", "Common Tern", "a", "f")
	b.reads("+3.02\r", "mm, 1 of 3")
	require.NoError(t, b.caliper.Close())
	b.shows("is gone from", "plug the cable in")
	b.does("t", "width:")
	b.does("3,01"+keyEnter, "mm, 2 of 3, typed")
	b.does(keyCtrlQ, "IN THE HAND")
	b.does("y", "")
	require.Equal(t, 0, b.end())
}

// Without a terminal, or in one that can't show a full screen, a line says
// what is wrong and how to mend it.
func TestNoTerminal(t *testing.T) {
	b := newBench(t)
	for name, c := range map[string]struct {
		term string
		want string
	}{
		"no terminal":   {"xterm-256color", "terminal window"},
		"TERM is empty": {"", "set TERM"},
		"TERM is dumb":  {"dumb", "set TERM"},
	} {
		t.Run(name, func(t *testing.T) {
			cmd := exec.Command(program(t), "station", "--simulate", "--db", filepath.Join(t.TempDir(), "training.db"))
			cmd.Env = append(b.env[:len(b.env):len(b.env)], "TERM="+c.term)
			cmd.SysProcAttr = &syscall.SysProcAttr{Setsid: true} // no terminal to fall back to
			out, err := cmd.CombinedOutput()
			require.Error(t, err)
			assert.Equal(t, 1, cmd.ProcessState.ExitCode())
			assert.Contains(t, string(out), "seamfit: ")
			assert.Contains(t, string(out), "; ")
			assert.Contains(t, string(out), c.want)
			assert.NotContains(t, string(out), "\x1b")
		})
	}
}

// A terminal whose name nobody knows is tried as the common kind.
func TestUnknownTerminalIsTriedOnce(t *testing.T) {
	b := newBench(t)
	b.env = append(b.env, "TERM=skerry-9000")
	b.run("--simulate")
	b.shows("This is a training run")
	b.does(keyCtrlQ, "")
	require.Equal(t, 0, b.end())
}

// NO_COLOR sends no colour to the terminal.
func TestNoColorIsHeeded(t *testing.T) {
	b := newBench(t)
	b.env = append(b.env, "NO_COLOR=1")
	b.run("--simulate")
	b.shows("This is a training run")
	b.does(keyEnter, "TRAINING")
	assert.Zero(t, b.emu.coloured())
	b.does(keyCtrlQ, "")
	require.Equal(t, 0, b.end())
}

// The training run in the real program: the space bar squeezes the simulated
// caliper, and the records are marked as training.
func TestTrainingInTheRealProgram(t *testing.T) {
	b := newBench(t)
	b.run("--simulate")
	b.does(keyEnter, "F2 as soon as it is in the hand")
	b.does(keyF2, `Type "common tern"`)
	b.does("common tern", "► Common Tern")
	b.does(keyEnter, "Which age?")
	b.does("a", "Which sex?")
	b.does("u", "Which leg")
	b.does("r", "The space bar squeezes it")
	b.does(" ", "mm, 1 of 3")
	b.does(" ", "mm, 2 of 3")
	b.does(" ", "take it with 1")
	b.does(keyTab, "Go to size with Tab")
	b.does(keyCtrlQ, "Leave the station?")
	b.does("y", "")
	require.Equal(t, 0, b.end())
	b.run("--simulate")
	b.shows("TRAINING", "Open birds taken up")
	b.does(keyCtrlQ, "Leave the station?")
	b.does("y", "")
	require.Equal(t, 0, b.end())
}
