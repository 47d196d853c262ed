//go:build linux || darwin

package station_test

import (
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/device"
)

// hostile are lines that would steer a terminal, turn a text around, or break a
// reader; each names itself.
func hostile(source string) (lines []string) {
	for i, line := range []string{
		"\x1b]0;%s\x07", "\x1b[2J%s", "\x1bP%s\x1b\\", "%s\b\x7f\x00\x05", "\u009b31m%s", "%s\x9b2J\xff\xfe", "%s\u202egnp\u2066",
		"\x1b]52;c;%s\x07", "\x1b[6n%s", "=HYPERLINK(%s)", "'; DROP TABLE fact; -- %s",
	} {
		lines = append(lines, fmt.Sprintf(line, fmt.Sprintf("%s%d", source, i)))
	}
	return lines
}

// steers reports what in a terminal's output is no drawing of the station's.
func steers(output string) string {
	for _, raw := range []string{"\x1b]", "\x1bP", "\x1b[2J", "\x1b[6n", "\u009b", "\u202e", "\u2066", "\x00", "\x05", "\x7f"} {
		if i := strings.Index(output, raw); i >= 0 {
			return fmt.Sprintf("%q in %q", raw, output[max(0, i-40):min(len(output), i+40)])
		}
	}
	if !utf8.ValidString(output) {
		return "broken text"
	}
	return ""
}

// What a caliper and a scanner send on the station's own ports, whatever it is,
// is shown as text, and the next reading and the next number are taken as if
// nothing had been.
func TestTrustHostileBytesOnTheStationsPorts(t *testing.T) {
	b := newBench(t)
	scanner, scannerPort := b.line()
	b.run("--caliper", b.port, "--scanner", scannerPort)
	b.opensShift()
	b.settled()
	b.tells("common tern", "Common Tern", "a", "f")
	b.reads("+3.02\r", "mm, 1 of 3")
	drawn := len(b.tape.from(0))
	for _, port := range []struct {
		to   io.Writer
		name string
	}{{b.caliper, "CAL"}, {scanner, "SCAN"}} {
		for i, line := range hostile(port.name) {
			_, err := io.WriteString(port.to, line+"\r")
			require.NoError(t, err)
			b.shows(fmt.Sprintf("%s%d", port.name, i))
		}
	}
	escaped := device.Escape([]byte("\x1b]0;CAL0"))
	b.reads("\x1b]0;CAL0\x07\r", escaped)

	// A flood without a line's end, and noise.
	noise := make([]byte, 1<<16)
	random := rand.New(rand.NewPCG(20310517, 5))
	for i := range noise {
		noise[i] = byte(random.Uint32())
	}
	for _, to := range []*os.File{b.caliper, scanner} {
		_, err := to.WriteString(strings.Repeat("8", 1<<16))
		require.NoError(t, err)
		_, err = to.Write(noise)
		require.NoError(t, err)
		_, err = to.WriteString("\r\n\r\n")
		require.NoError(t, err)
	}
	b.reads("+3.07\r", "mm, 2 of 3")
	_, err := scanner.WriteString("1232-40001\r")
	require.NoError(t, err)
	b.shows("1232-40001 taken", "√ saved")
	assert.Empty(t, steers(b.tape.from(drawn)))
	b.does(keyCtrlQ, "IN THE HAND")
	b.does("y", "")
	require.Equal(t, 0, b.end())

	assert.Equal(t, []string{"+3.02", "+3.07"}, b.column("readings", "raw"))
	assert.Equal(t, []string{"1232-40001"}, b.column("band_events", "number"))
	out, err := exec.Command(program(t), "verify", "--db", b.db()).CombinedOutput()
	require.NoError(t, err, "%s", out)
}
