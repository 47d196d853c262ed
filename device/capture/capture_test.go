package capture_test

import (
	"bytes"
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"seamfit/device"
	"seamfit/device/capture"
	"seamfit/device/devicetest"
	"seamfit/internal/length"
)

const header = `seamfit capture 1
instrument: digital caliper
form: plain
baud: 4800
framing: 7E2
unit: mm
date: 2026-05-14T09:00:00Z

`

func TestRecordingsInTestdataConform(t *testing.T) {
	for _, ex := range devicetest.Examples() {
		t.Run(string(ex.Form), func(t *testing.T) {
			path := filepath.Join("..", "..", "testdata", "captures", string(ex.Form)+".txt")
			text, err := os.ReadFile(path)
			require.NoError(t, err)
			c, err := capture.Parse(bytes.NewReader(text))
			require.NoError(t, err)
			assert.Equal(t, ex.Form, c.Header.Form)
			devicetest.Conformance(t, devicetest.Subject{
				Name: "caliper", Wants: ex.Wants,
				Open: func(t testing.TB) device.Source {
					p, err := capture.NewPlayback(c, capture.PlaybackOptions{Device: "caliper"})
					require.NoError(t, err)
					return p
				},
			})
		})
	}
}

func TestAPlaybackTellsTheRecordingsTimes(t *testing.T) {
	c, err := capture.Parse(strings.NewReader(header + `0.500000 < "+8.42\r"` + "\n"))
	require.NoError(t, err)
	p, err := capture.NewPlayback(c, capture.PlaybackOptions{})
	require.NoError(t, err)
	r, err := p.Next(t.Context())
	require.NoError(t, err)
	assert.Equal(t, "2026-05-14T09:00:00.5Z", r.At.Format(time.RFC3339Nano))
	assert.Equal(t, "digital caliper", r.Device)
	_, err = p.Next(t.Context())
	require.ErrorIs(t, err, device.ErrGone)
	require.ErrorIs(t, err, capture.ErrEnd)
}

func TestAPacedPlaybackKeepsItsTimesThroughInterruptions(t *testing.T) {
	c, err := capture.Parse(strings.NewReader(header + `1.000000 < "+8.42\r"` + "\n" + `3.000000 < "+8.43\r"` + "\n"))
	require.NoError(t, err)
	synctest.Test(t, func(t *testing.T) {
		p, err := capture.NewPlayback(c, capture.PlaybackOptions{Paced: true})
		require.NoError(t, err)
		begun := time.Now()
		var arrivals []time.Duration
		for len(arrivals) < 2 {
			ctx, cancel := context.WithTimeout(t.Context(), 300*time.Millisecond)
			_, err := p.Next(ctx)
			cancel()
			if errors.Is(err, context.DeadlineExceeded) {
				continue
			}
			require.NoError(t, err)
			arrivals = append(arrivals, time.Since(begun))
		}
		assert.Equal(t, []time.Duration{time.Second, 3 * time.Second}, arrivals)
	})
}

func TestWhatIsRecordedIsReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := capture.Header{
			Instrument: "digital caliper", Form: device.Plain, Baud: 4800, Framing: "7E2", Unit: length.MM,
			Date: time.Date(2026, 5, 14, 9, 0, 0, 0, time.UTC),
		}
		want := &capture.Capture{Header: h}
		var file bytes.Buffer
		r, err := capture.NewRecorder(&file, h)
		require.NoError(t, err)
		offset := time.Duration(0)
		for range rapid.IntRange(0, 5).Draw(t, "chunks") {
			offset += time.Duration(rapid.Int64Range(0, 5e6).Draw(t, "µs")) * time.Microsecond
			chunk := capture.Chunk{
				Offset: offset, Direction: capture.FromDevice,
				Bytes: rapid.SliceOfN(rapid.Byte(), 1, 40).Draw(t, "bytes"),
			}
			if rapid.Bool().Draw(t, "sent") {
				chunk.Direction = capture.ToDevice
			}
			require.NoError(t, r.Record(chunk.Offset, chunk.Direction, chunk.Bytes))
			want.Chunks = append(want.Chunks, chunk)
		}
		for _, c := range file.Bytes() {
			require.True(t, c == '\n' || (c >= ' ' && c <= '~'), "byte %#02x in the file", c)
		}
		got, err := capture.Parse(&file)
		require.NoError(t, err)
		require.Equal(t, want, got)
	})
}

func TestAClockThatIsSetBackLeavesTheOrder(t *testing.T) {
	var file bytes.Buffer
	r, err := capture.NewRecorder(&file, capture.Header{Instrument: "caliper", Form: device.Print})
	require.NoError(t, err)
	require.NoError(t, r.Record(2*time.Second, capture.FromDevice, []byte("a")))
	require.NoError(t, r.Record(time.Second, capture.FromDevice, []byte("b")))
	c, err := capture.Parse(&file)
	require.NoError(t, err)
	assert.Equal(t, 2*time.Second, c.Chunks[1].Offset)
}

func TestABrokenFileIsRefusedWithItsLine(t *testing.T) {
	for text, want := range map[string]string{
		"":                                   "ends inside its header",
		"hello\n":                            "line 1: not a recording",
		"seamfit capture 1\nform: morse\n\n": "line 2",
		"seamfit capture 1\nform: plain\n\n": "instrument is missing",
		"seamfit capture 1\ncolour: red\n\n": `header "colour" is not known`,
		"seamfit capture 1\nnonsense\n\n":    "not a header line",
		"seamfit capture 1\ninstrument: x\nform: plain\nbaud: 9600\nframing: 9X9\n\n": "framing",
		header + "abc\n":                                           "line 9: offset",
		header + `0.000000 < "\q"` + "\n":                          `\q is no escape`,
		header + `0.000000 < "\x1"` + "\n":                         "two hexadecimal digits",
		header + `0.000000 < "+8.42` + "\n":                        "between quotes",
		header + `0.000000 ? "+8.42"` + "\n":                       "between quotes",
		header + `1.000000 < "a"` + "\n" + `0.500000 < "b"` + "\n": "before the line above",
		header + "0.000000 < \"\x1b\"\n":                           "must be written as an escape",
		"seamfit capture 1\ninstrument: \x1b[2J\nform: plain\n\n":  "plain ASCII",
	} {
		_, err := capture.Parse(strings.NewReader(text))
		require.ErrorContains(t, err, want, "%q", text)
		assert.NotContains(t, err.Error(), "\x1b")
	}
}

func FuzzParse(f *testing.F) {
	f.Add(header + `0.000000 < "+8.42\r"` + "\n")
	f.Add(header + `1.000000 > "\x00\"\\"` + "\n")
	f.Fuzz(func(t *testing.T, text string) {
		c, err := capture.Parse(strings.NewReader(text))
		if err != nil {
			return
		}
		var file bytes.Buffer
		r, err := capture.NewRecorder(&file, c.Header)
		require.NoError(t, err)
		for _, chunk := range c.Chunks {
			require.NoError(t, r.Record(chunk.Offset, chunk.Direction, chunk.Bytes))
		}
	})
}
