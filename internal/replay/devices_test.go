package replay

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/device"
	"seamfit/device/devicetest"
	"seamfit/internal/bench"
	"seamfit/internal/length"
)

// devicesOf decodes a caliper of form and a scanner.
func devicesOf(t *testing.T, form device.Form, options device.ScannerOptions) Devices {
	t.Helper()
	caliper, err := device.NewDecoder(form, device.DecoderOptions{Unit: length.MM})
	require.NoError(t, err)
	scanner, err := device.NewScanDecoder(options)
	require.NoError(t, err)
	return Devices{Caliper: caliper, Scanner: scanner}
}

const openBird = "{\"do\":\"shift\"}\n{\"do\":\"bird\",\"species\":\"Larus argentatus\",\"age\":\"adult\",\"leg\":\"right\"}"

// caliperLine is the event of bytes from the caliper.
func caliperLine(t *testing.T, text string) string {
	t.Helper()
	line, err := json.Marshal(map[string]string{"caliper": text})
	require.NoError(t, err)
	return string(line)
}

// raws are the bytes of the readings that the bird has.
func raws(b *Bench) []string {
	h, _ := b.state.ActiveHandling()
	var all []string
	for _, r := range h.Readings {
		all = append(all, string(r.Raw))
	}
	return all
}

func codes(b *Bench) []bench.Code {
	var all []bench.Code
	for _, r := range b.Refusals() {
		all = append(all, r.Blockers[0].Code)
	}
	return all
}

// The frames and what they mean are those of the instruments' documents; see
// devicetest.
func TestEveryFormsFramesAreListedByTheirKind(t *testing.T) {
	for _, ex := range devicetest.Examples() {
		t.Run(string(ex.Form), func(t *testing.T) {
			b, _ := newBenchWith(t, devicesOf(t, ex.Form, device.ScannerOptions{}))
			play(t, b, openBird+"\n"+caliperLine(t, ex.Bytes))
			var readings []string
			var want []bench.Code
			for _, w := range ex.Wants {
				switch w.Kind {
				case "":
					readings = append(readings, w.Raw)
				case device.KindEcho, device.KindBatteryWell, device.KindName:
				default:
					want = append(want, bench.Code("frame_"+string(w.Kind)))
				}
			}
			var frames []bench.Code
			for _, r := range b.Refusals() {
				// A value that is no leg's width is the domain's to refuse.
				if code := r.Blockers[0].Code; strings.HasPrefix(string(code), "frame_") {
					frames = append(frames, code)
					assert.Contains(t, r.Blockers[0].Mend, ";")
				}
			}
			assert.Equal(t, want, frames)
			for _, raw := range raws(b) {
				assert.Contains(t, readings, raw)
			}
			assert.NotEmpty(t, raws(b))
		})
	}
}

func streaming(t *testing.T) *Bench {
	t.Helper()
	d := devicesOf(t, device.Print, device.ScannerOptions{})
	steady := device.DefaultSteady()
	d.Steady = &steady
	b, _ := newBenchWith(t, d)
	play(t, b, openBird)
	return b
}

func TestOfAStreamEachSteadyValueIsTakenOnce(t *testing.T) {
	b := streaming(t)
	play(t, b, caliperLine(t, strings.Repeat("8.42 mm\r\n", 50)))
	play(t, b, caliperLine(t, "9.10 mm\r\n14.00 mm\r\n9.70 mm\r\n"))
	for range 20 {
		play(t, b, caliperLine(t, "8.43 mm\r\n"))
	}
	assert.Equal(t, []string{"8.42 mm", "8.43 mm"}, raws(b))
	assert.Empty(t, b.Refusals())

	play(t, b, `{"do":"set_aside","reading":2,"reason":"jaws tilted"}`+"\n"+caliperLine(t, strings.Repeat("8.43 mm\r\n", 10)))
	assert.Equal(t, []string{"8.42 mm", "8.43 mm", "8.43 mm"}, raws(b), "the same jaws, once more, in place of the one set aside")
}

func TestAStreamHeedsTheTimesOfItsLines(t *testing.T) {
	at := time.Date(2026, 5, 17, 6, 0, 0, 0, time.UTC)
	send := func(b *Bench, every time.Duration, n int) {
		for range n {
			at = at.Add(every)
			play(t, b, fmt.Sprintf(`{"caliper":"8.42 mm\r\n","at":%q}`, at.Format(time.RFC3339Nano)))
		}
	}
	b := streaming(t)
	send(b, 2*time.Second, 20)
	assert.Empty(t, raws(b), "so far apart they are no stream")
	send(b, 200*time.Millisecond, 3)
	assert.Len(t, raws(b), 1, "four samples in 600 ms")

	b = streaming(t)
	play(t, b, caliperLine(t, "8.42 mm\r\n8.42 mm\r\n8.42 mm\r\nnoise\r\n8.42 mm\r\n8.42 mm\r\n8.42 mm\r\n"))
	assert.Empty(t, raws(b), "a frame that fails begins the wait anew")
	assert.Equal(t, []bench.Code{"frame_grammar"}, codes(b))
	play(t, b, caliperLine(t, "8.42 mm\r\n"))
	assert.Len(t, raws(b), 1)
}

func TestScansGoThroughTheScannersDecoder(t *testing.T) {
	b, _ := newBenchWith(t, devicesOf(t, device.Plain, device.ScannerOptions{Prefix: "\x02", Suffix: "\x03", Code39Check: true}))
	play(t, b, openBird+`
{"scanner":"\u0002]A01234-56"}
{"scanner":"789 \u0003\r\n"}`)
	assert.Empty(t, b.Refusals(), "the check character of 1234-56789 is a blank, and is not trimmed")
	h, _ := b.state.ActiveHandling()
	require.NotEmpty(t, h.Bands)
	assert.Equal(t, "1234-56789", h.Bands[0].Number)

	play(t, b, `{"scanner":"1234-56790\r"}
{"scanner":"\u00021234-56790\r"}
{"scanner":"\u00021234-56790A\u0003\r"}
{"scanner":"\u0002\u001b[2J\u0003\r"}
{"scanner":"\u0002TAKEK\u0003\r"}`)
	assert.Equal(t, []bench.Code{"scan_prefix", "scan_suffix", "scan_check", "scan_control", "scan_check"}, codes(b))
	for _, r := range b.Refusals() {
		assert.NotContains(t, r.Blockers[0].Mend, "\x1b")
		assert.Contains(t, r.Blockers[0].Mend, "; scan again")
	}
}

func TestTheCardThatAsksForAReadingIsNoNumber(t *testing.T) {
	b, _ := newBench(t)
	play(t, b, openBird+"\n"+`{"scanner":"TAKE\r"}`+"\n"+`{"scanner":"SF:TAKE\r"}`)
	assert.Empty(t, b.Refusals())
	h, _ := b.state.ActiveHandling()
	assert.Empty(t, h.Bands)
}

func TestDevicesThatMakeNoSenseAreRefused(t *testing.T) {
	good := devicesOf(t, device.Print, device.ScannerOptions{})
	noCaliper, noScanner, noTime := good, good, good
	noCaliper.Caliper = nil
	noScanner.Scanner = nil
	noTime.Steady = &device.SteadyConfig{Samples: 1}
	for _, d := range []Devices{noCaliper, noScanner, noTime} {
		_, err := New(bench.State{}, nil, d, Source{})
		require.Error(t, err)
	}
}
