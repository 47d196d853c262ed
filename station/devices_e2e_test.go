//go:build linux || darwin

package station_test

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"testing"

	"github.com/creack/pty"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/term"
)

// line opens a further serial line and returns the instrument's end of it and
// the port's name.
func (b *realBench) line() (*os.File, string) {
	b.t.Helper()
	instrument, port, err := pty.Open()
	require.NoError(b.t, err)
	b.t.Cleanup(func() { instrument.Close(); port.Close() })
	_, err = term.MakeRaw(int(port.Fd()))
	require.NoError(b.t, err)
	return instrument, port.Name()
}

// A caliper that is asked, and a scanner, on ports that appear only after the
// station has started: by the settings alone.
func TestAskedCaliperAndScannerThatComeLate(t *testing.T) {
	b := newBench(t)
	scanner, scannerPort := b.line()
	late := filepath.Join(b.dir, "caliper")
	settings := filepath.Join(b.dir, "bench.toml")
	require.NoError(t, os.WriteFile(settings, []byte(
		"[caliper]\nport = '"+late+"'\nform = 'wide'\nbaud = 9600\nframing = '8N1'\nanswer_s = 0.4\n"+
			"[scanner]\nport = '"+scannerPort+"'\nprefix = \"\\u0002\"\nsuffix = \"\\u0003\"\n"), 0o600))
	b.run("--settings", settings)
	b.opensShift()
	b.shows("There is no port "+late[:20], "plug the cable in")
	require.NoError(t, os.Symlink(b.port, late))
	b.settled()
	b.tells("common tern", "Common Tern", "a", "f")

	// What the gauge answers to its command, as its manual gives the frame;
	// here with a leg's width.
	asked := func(answer string) {
		t.Helper()
		command := make([]byte, 2)
		_, err := io.ReadFull(b.caliper, command)
		require.NoError(t, err)
		assert.Equal(t, "R\r", string(command))
		_, err = io.WriteString(b.caliper, answer)
		require.NoError(t, err)
	}
	b.shows("ask the caliper")
	b.does("a", "The caliper is asked.")
	asked("R\r\n+ 3.02000 MM\r\n") // with the cable's echo
	b.shows("mm, 1 of 3")
	b.does("a", "The caliper is asked.")
	asked("")
	b.shows("did not answer within 400ms", "ask again, or press its own button")

	scans := func(code string) {
		t.Helper()
		_, err := io.WriteString(scanner, "\x02"+code+"\x03\r")
		require.NoError(t, err)
	}
	scans("SF:TAKE")
	asked("+ 3.01000 MM\r\n")
	b.shows("mm, 2 of 3")
	other := func() { // the same card at once would be the same scan
		t.Helper()
		scans("SF:CLEAR")
		b.shows("Forget what was not recorded yet")
	}
	other()
	scans("SF:TAKE")
	asked("NOT FOUND\r\n")
	b.shows("No gauge answers on this channel", "check the gauge's cable")
	other()
	scans("SF:TAKE")
	asked("+ 0.11850,IN\r\n")
	b.shows("The caliper now shows in", "in, 3 of 3")

	_, err := io.WriteString(scanner, "1232-40001\r")
	require.NoError(t, err)
	b.shows("lacks the prefix that is set")
	require.NoError(t, scanner.Close())
	b.shows("Scanner is gone from")
	b.does(keyCtrlQ, "IN THE HAND")
	b.does("y", "")
	require.Equal(t, 0, b.end())
}

// A bird from the first card to the complete record, by a scanner and a
// caliper's button on two ports: no key is pressed once the shift is open.
func TestABirdByScannerAndButtonThroughTheRealProgram(t *testing.T) {
	b := newBench(t)
	scanner, scannerPort := b.line()
	b.run("--caliper", b.port, "--scanner", scannerPort)
	b.opensShift()
	b.settled()
	scans := func(code, shows string) {
		t.Helper()
		_, err := io.WriteString(scanner, code+"\r")
		require.NoError(t, err)
		b.shows(shows)
	}
	scans("SF:BIRD", "species:")
	scans("SF:SP-STERNA-HIRUNDO", "Common Tern")
	scans("SF:AGE-ADULT", "adult")
	scans("SF:SEX-FEMALE", "female")
	scans("SF:LEG-RIGHT", "Reading 1 of 3")
	b.reads("+3.02\r", "mm, 1 of 3")
	b.reads("+3.01\r", "mm, 2 of 3")
	b.reads("+3.03\r", "3.02 ± 0.04 mm, 3 readings")
	scans("SF:BEST", "Size 2: which metal?")
	scans("SF:METAL-ALUMINIUM", "2 aluminium, fits")
	scans("1232-40017", "1232-40017 taken")
	scans("SF:FOUND-GAP", "g■gap")
	scans("SF:LOOKED", "closing 1: gap")
	scans("SF:FLUSH", "closing 2: flush")
	scans("SF:STATE-EDGES", "√ e Edges")
	scans("SF:STATE-TURNS", "√ r Turns")
	scans("SF:STATE-CAUGHT", "√ a Nothing")
	scans("SF:STATE-RIMS", "√ i Rims")
	scans("1232-40017", "That is the number already taken")
	scans("SF:DIGIT-0", "on the band: 0")
	scans("SF:DIGIT-1", "on the band: 01")
	scans("SF:DIGIT-7", "on the band: 017")
	scans("SF:ENTER", "The closing is confirmed.")
	scans("SF:LEFT-HAND", "Left the hand at")
	scans("SF:FATE-BANDED", "Nothing is missing.")
	scans("SF:COMPLETE", "The record of bird 1 is complete.")
	b.shows("√ saved")
	b.does(keyCtrlQ, "")
	require.Equal(t, 0, b.end())
	birds := b.table("handlings")
	require.Len(t, birds, 1)
	for column, value := range map[string]string{
		"species": "Sterna hirundo", "age": "adult", "sex": "female", "leg": "right", "size": "2", "metal": "aluminium",
		"number": "1232-40017", "verdict": "fits", "fate": "banded", "confirmed": "true", "complete": "true",
	} {
		assert.Equal(t, value, birds[0][column], column)
	}
	assert.Len(t, b.table("closings"), 2)
}

// A recording takes the caliper's place: a stream is dim until it stands still,
// and each stand is one reading.
func TestRecordingAtTheStation(t *testing.T) {
	b := newBench(t)
	text := "seamfit capture 1\ninstrument: bridge board\nform: print\ndate: 2031-05-17T06:40:00Z\n\n"
	at := 0
	say := func(hundredths int) {
		at += 100
		text += fmt.Sprintf("%d.%03d000 < \"%d.%02d mm\\r\\n\"\n", at/1000, at%1000, hundredths/100, hundredths%100)
	}
	for range 40 { // jaws that open and close on the same leg, for two minutes
		for i := range 15 {
			say(900 + 7*i)
		}
		for range 15 {
			say(302)
		}
	}
	path := filepath.Join(b.dir, "stream.capture")
	require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
	b.run("--caliper", "capture:"+path)
	b.opensShift()
	b.tells("common tern", "Common Tern", "a", "f")
	b.shows("mm, 1 of 3", "live: hold still", "mm, 2 of 3", "live: hold still", "3 readings")
	b.does(keyCtrlQ, "IN THE HAND")
	b.does("y", "")
	require.Equal(t, 0, b.end())
	readings := b.table("readings")
	require.Len(t, readings, 3)
	for _, r := range readings {
		assert.Equal(t, "3.02 mm", r["raw"])
	}
}
