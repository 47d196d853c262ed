package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/device"
	"seamfit/device/capture"
	"seamfit/internal/length"
	"seamfit/internal/settings"
	"seamfit/station"
)

// benchApp is the program at a bench of its own, without files of the user's.
func benchApp() *app {
	return &app{world: world{
		stdin: strings.NewReader(""), stdout: io.Discard, stderr: io.Discard,
		env: func(string) string { return "" }, now: time.Now,
	}, format: "text"}
}

func writeRecording(t *testing.T, form string, lines ...string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "rec.txt")
	text := "seamfit capture 1\ninstrument: caliper\nform: " + form + "\nunit: mm\ndate: 2026-05-14T09:00:00Z\n\n" +
		strings.Join(lines, "\n") + "\n"
	require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
	return path
}

// playAll plays a recording to its end and returns what came of it, and how
// long that took.
func playAll(t *testing.T, p *player) (events []device.Event, took time.Duration) {
	t.Helper()
	begun := time.Now()
	for {
		e, err := p.Next(t.Context())
		if err != nil {
			require.ErrorIs(t, err, capture.ErrEnd)
			return events, time.Since(begun)
		}
		events = append(events, e)
	}
}

func kinds(events []device.Event) []device.EventKind {
	all := make([]device.EventKind, len(events))
	for i, e := range events {
		all[i] = e.Kind
	}
	return all
}

func TestARecordingTakesTheCalipersPlaceAtItsOwnPace(t *testing.T) {
	path := writeRecording(t, "plain", `0.500000 < "+8.4"`, `0.600000 < "2\rERR3\r"`, `7.000000 < "+8.43\r"`)
	synctest.Test(t, func(t *testing.T) {
		p, err := benchApp().play(path, settings.Default())
		require.NoError(t, err)
		events, took := playAll(t, p)
		assert.Equal(t, []device.EventKind{device.EventState, device.EventReading, device.EventFrame, device.EventReading}, kinds(events))
		assert.Equal(t, 8_420*length.Micrometre, events[1].Reading.Value)
		assert.Equal(t, 7*time.Second, took)
		require.NoError(t, p.Close())
		_, err = p.Next(context.Background())
		require.ErrorIs(t, err, device.ErrClosed)
	})
}

func TestAStreamsRecordingGivesASteadyValueOnce(t *testing.T) {
	var lines []string
	say := func(line string, n int) {
		for range n {
			ms := 100 * (len(lines) + 1)
			lines = append(lines, fmt.Sprintf(`%d.%03d000 < "%s\r\n"`, ms/1000, ms%1000, line))
		}
	}
	say("8.42 mm", 20)
	say("15.00 mm", 2)
	say("8.43 mm", 20)
	path := writeRecording(t, "print", lines...)
	synctest.Test(t, func(t *testing.T) {
		p, err := benchApp().play(path, settings.Default())
		require.NoError(t, err)
		events, _ := playAll(t, p)
		var taken []string
		for _, e := range events {
			if e.Kind == device.EventReading {
				taken = append(taken, string(e.Reading.Raw))
			}
		}
		assert.Equal(t, []string{"8.42 mm", "8.43 mm"}, taken)
		assert.Len(t, events, 1+len(lines))

		s := settings.Default()
		s.Caliper.Streams = "no"
		p, err = benchApp().play(path, s)
		require.NoError(t, err)
		events, _ = playAll(t, p)
		assert.NotContains(t, kinds(events), device.EventLive, "the settings say that it is pressed")
	})
}

func TestDevicesOfTheSettings(t *testing.T) {
	s := settings.Default()
	s.Caliper.Port, s.Caliper.ID, s.Caliper.Form = "/dev/none", "usb:1:2:3", "print"
	s.Caliper.AnswerS, s.Caliper.SteadySamples, s.Caliper.SteadyS = 3, 5, 0.25
	s.Scanner.Port, s.Scanner.Code39Check, s.Scanner.Prefix, s.Scanner.Suffix = "/dev/none2", true, "\x02", "\x03"
	a := benchApp()

	cfg := a.supervised(s)
	assert.Equal(t, "usb:1:2:3", cfg.ID)
	assert.Equal(t, 3*time.Second, cfg.AnswerLimit)
	require.NotNil(t, cfg.Steady)
	assert.Equal(t, 5, cfg.Steady.Samples)
	assert.Equal(t, 250*time.Millisecond, cfg.Steady.For)
	s.Caliper.Streams = "no"
	assert.Nil(t, a.supervised(s).Steady)
	s.Caliper.Form, s.Caliper.Streams = "wide", "yes"
	assert.NotNil(t, a.supervised(s).Steady)
	assert.Equal(t, device.ScannerOptions{Prefix: "\x02", Suffix: "\x03", Code39Check: true}, scannerOptions(s.Scanner))

	d, err := a.devices(s, stationFlags{})
	require.NoError(t, err, "missing ports are the screen's to tell")
	require.NotNil(t, d.caliper)
	require.NotNil(t, d.scanner)
	var cfg2 station.Config
	d.equip(&cfg2)
	assert.True(t, cfg2.Options.Streams)
	assert.True(t, cfg2.Options.Asks)
	assert.Nil(t, cfg2.Options.Typed)
	e, err := d.caliper.Next(t.Context())
	require.NoError(t, err)
	assert.Equal(t, device.StateOpening, e.State.Kind)
	e, err = d.caliper.Next(t.Context())
	require.NoError(t, err)
	assert.Equal(t, device.PortMissing, e.State.Fault)
	assert.NotEmpty(t, e.State.Mend)
	scan, err := d.scanner.Next(t.Context())
	require.NoError(t, err)
	assert.Equal(t, device.StateOpening, scan.State.Kind)
	require.NoError(t, d.Close())

	d, err = a.devices(settings.Default(), stationFlags{})
	require.NoError(t, err)
	assert.Nil(t, d.caliper)
	assert.Nil(t, d.scanner)

	typing := settings.Default()
	typing.Caliper.Form, typing.Caliper.Unit, typing.Caliper.DecimalComma = "typed", "in", true
	d, err = a.devices(typing, stationFlags{})
	require.NoError(t, err)
	assert.Nil(t, d.caliper, "it has no port")
	assert.Equal(t, &device.DecoderOptions{Unit: length.In, Device: "caliper", DecimalComma: true}, d.typed)
	d, err = a.devices(typing, stationFlags{caliper: "/dev/none"})
	require.NoError(t, err)
	assert.NotNil(t, d.caliper, "typed over a port that the flag names")
	require.NoError(t, d.Close())

	assert.Empty(t, withPort(s, "/dev/other").Caliper.ID, "another port is another device")
	assert.Equal(t, "usb:1:2:3", withPort(s, "/dev/none").Caliper.ID)
	assert.Equal(t, "usb:1:2:3", withPort(s, "").Caliper.ID)
}

func TestDevicesThatMakeNoSenseAreRefused(t *testing.T) {
	for what, change := range map[string]func(*settings.Settings){
		"wire form":           func(s *settings.Settings) { s.Caliper.Form = "morse" },
		"makes no sense":      func(s *settings.Settings) { s.Caliper.Port, s.Caliper.Baud = "/dev/none", 0 },
		"holds a line end":    func(s *settings.Settings) { s.Scanner.Port, s.Scanner.Suffix = "/dev/none", "\n" },
		"is not known; write": func(s *settings.Settings) { s.Scanner.Port, s.Scanner.Framing = "/dev/none", "9X9" },
	} {
		s := settings.Default()
		change(&s)
		_, err := benchApp().devices(s, stationFlags{})
		require.ErrorContains(t, err, what)
		assert.Contains(t, err.Error(), ";", "with its mend")
		var usage usageError
		assert.NotErrorAs(t, err, &usage)
	}
}
