//go:build unix

package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
	"unicode"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/device"
	"seamfit/device/capture"
	"seamfit/device/devicetest"
	"seamfit/internal/length"
)

// listening is `find --listen` at work.
type listening struct {
	t        *testing.T
	caliper  *os.File
	out, log *printout
	stop     context.CancelFunc
	result   chan error
}

// listenOn begins to listen with the flags and returns once the port has
// settled.
func listenOn(t *testing.T, format string, f findFlags) *listening {
	t.Helper()
	l := &listening{t: t, out: newPrintout(), log: newPrintout(), result: make(chan error, 1)}
	l.caliper, f.listen = openLine(t)
	settings := filepath.Join(t.TempDir(), "bench.toml")
	require.NoError(t, os.WriteFile(settings, nil, 0o600))
	a := &app{
		world:        world{stdin: strings.NewReader(""), stdout: l.out, stderr: l.log, env: os.Getenv, now: time.Now},
		settingsPath: settings, format: format,
	}
	ctx, stop := context.WithCancel(t.Context())
	l.stop = stop
	t.Cleanup(stop)
	go func() { l.result <- a.listen(ctx, f) }()
	l.log.until(t, "listening to")
	return l
}

func (l *listening) sends(text string) {
	l.t.Helper()
	_, err := io.WriteString(l.caliper, text)
	require.NoError(l.t, err)
}

func (l *listening) end() error {
	l.t.Helper()
	select {
	case err := <-l.result:
		return err
	case <-time.After(patience):
		l.t.Fatal("it does not end")
		return nil
	}
}

// lines waits for n lines of results.
func (l *listening) lines(n int) []string {
	l.t.Helper()
	for range n {
		l.out.until(l.t, "\n")
	}
	return strings.Split(strings.TrimSuffix(l.out.String(), "\n"), "\n")
}

// errorWords are the words of the shape that tools rely on.
func errorWords() []string {
	return []string{"sensor", "command", "parity", "range", "no_gauge", "grammar", "too_long"}
}

// The bytes and what they mean are those of the instruments' documents; see
// devicetest.
func TestListenTellsEachFormAsJSON(t *testing.T) {
	for _, ex := range devicetest.Examples() {
		t.Run(string(ex.Form), func(t *testing.T) {
			t.Parallel()
			l := listenOn(t, "json", findFlags{form: string(ex.Form), unit: "mm"})
			l.sends(ex.Bytes)
			var wants []devicetest.Want
			for _, w := range ex.Wants {
				switch w.Kind {
				case device.KindEcho, device.KindBatteryLow, device.KindBatteryWell:
				default:
					wants = append(wants, w)
				}
			}
			for i, line := range l.lines(len(wants)) {
				dec := json.NewDecoder(strings.NewReader(line))
				dec.DisallowUnknownFields()
				var got heardLine
				require.NoError(t, dec.Decode(&got))
				want := wants[i]
				assert.Equal(t, want.Raw, got.Raw)
				if want.Kind != "" {
					assert.Equal(t, string(want.Kind), got.Error)
					assert.Contains(t, errorWords(), got.Error)
					assert.Nil(t, got.ValueMM)
					assert.Nil(t, got.ResolutionMM)
					assert.Contains(t, line, `"value_mm":null`)
					continue
				}
				assert.Empty(t, got.Error)
				assert.Equal(t, want.Channel, got.Channel)
				assert.InDelta(t, float64(want.Value)/1e6, *got.ValueMM, 1e-9)
				assert.InDelta(t, float64(want.Resolution)/1e6, *got.ResolutionMM, 1e-9)
				assert.Equal(t, want.Unit.String(), got.Unit)
			}
			l.stop()
			require.NoError(t, l.end(), "ending it is no failure")
		})
	}
}

func TestListenShowsHostileBytesEscaped(t *testing.T) {
	for _, format := range []string{"text", "json"} {
		t.Run(format, func(t *testing.T) {
			t.Parallel()
			l := listenOn(t, format, findFlags{})
			l.sends("+8.42\r\x1b]0;owned\a\x9b31m\xff\r" + strings.Repeat("\x1b[2J", 40) + "\r\x1b[31m")
			l.lines(3)
			if format == "text" {
				l.out.until(t, `"\x1b[31m"`)
				l.out.until(t, "the line has no end so far")
			}
			l.stop()
			require.NoError(t, l.end())
			for _, c := range l.out.String() + l.log.String() {
				assert.True(t, c == '\n' || unicode.IsPrint(c), "%q is written raw", c)
			}
			assert.Contains(t, l.out.String(), "owned")
		})
	}
}

func TestListenShowsReadingsInWords(t *testing.T) {
	t.Parallel()
	l := listenOn(t, "text", findFlags{form: "channel"})
	l.sends("02A+0008.420\rnoise\r")
	lines := l.lines(2)
	assert.Regexp(t, `^\d\d:\d\d:\d\d\.\d{3}  "02A\+0008\.420" +gauge 2: 8\.420 mm \(unit as set\)$`, lines[0])
	assert.Regexp(t, `"noise" .* is no frame of this wire form; measure again; .*framing$`, lines[1])
	require.NoError(t, l.caliper.Close())
	err := l.end()
	require.ErrorIs(t, err, device.ErrGone)
	assert.Contains(t, err.Error(), "; plug the cable in")
}

func TestWhatIsRecordedPlaysBackAsItWasHeard(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "rec.txt")
	l := listenOn(t, "json", findFlags{form: "wide", record: path})
	l.sends("+ 2.1380, MM\r\nNOT FOUND\r\n\x1b\r\n")
	l.lines(3)
	l.stop()
	require.NoError(t, l.end())
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.NotContains(t, string(text), "\x1b")
	c, err := capture.Parse(bytes.NewReader(text))
	require.NoError(t, err)
	assert.Equal(t, device.Wide, c.Header.Form)
	assert.Equal(t, 9600, c.Header.Baud, "the form's usual speed, since the settings are of another")
	assert.Equal(t, length.MM, c.Header.Unit)
	p, err := capture.NewPlayback(c, capture.PlaybackOptions{})
	require.NoError(t, err)
	r, err := p.Next(t.Context())
	require.NoError(t, err)
	assert.Equal(t, length.Length(2_138_000), r.Value)
	for _, kind := range []device.Kind{device.KindNoGauge, device.KindGrammar} {
		_, err = p.Next(t.Context())
		var failed *device.FrameError
		require.ErrorAs(t, err, &failed)
		assert.Equal(t, kind, failed.Kind)
	}
}

// The whole program: each line is there as soon as its frame is, and signals
// end it in order.
func TestListenEndsOnSignals(t *testing.T) {
	self, err := os.Executable()
	require.NoError(t, err)
	for _, signal := range []syscall.Signal{syscall.SIGINT, syscall.SIGTERM} {
		t.Run(signal.String(), func(t *testing.T) {
			t.Parallel()
			caliper, port := openLine(t)
			cmd := exec.CommandContext(t.Context(), self, "find", "--listen", port, "--form", "print", "--format", "json")
			cmd.Args[0] = "seamfit" // testscript runs the program by this name
			cmd.Env = append(os.Environ(), "XDG_CONFIG_HOME="+t.TempDir())
			stdout, err := cmd.StdoutPipe()
			require.NoError(t, err)
			stderr, err := cmd.StderrPipe()
			require.NoError(t, err)
			require.NoError(t, cmd.Start())
			said, err := bufio.NewReader(stderr).ReadString('\n')
			require.NoError(t, err)
			require.Contains(t, said, "listening to "+port+" at 9600 8N1, wire form print")
			_, err = io.WriteString(caliper, "8.42 mm\r\n")
			require.NoError(t, err)
			line, err := bufio.NewReader(stdout).ReadString('\n')
			require.NoError(t, err)
			assert.JSONEq(t, `{"raw":"8.42 mm","value_mm":8.42,"unit":"mm","resolution_mm":0.01,"channel":"","error":""}`, line)
			require.NoError(t, cmd.Process.Signal(signal))
			require.NoError(t, cmd.Wait(), "exit code 0")
		})
	}
}
