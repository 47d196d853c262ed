//go:build unix

package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/device"
	"seamfit/device/sim"
	"seamfit/internal/length"
)

// sitting is the program at work in a test: a person who types, and a caliper
// on a pseudo-terminal.
type sitting struct {
	t       *testing.T
	out     *printout
	keys    io.WriteCloser
	caliper *os.File
	done    chan int
}

// sit runs a command line with a caliper on --port.
func sit(t *testing.T, args ...string) *sitting {
	t.Helper()
	instrument, port := openLine(t)
	in, keys, err := os.Pipe()
	require.NoError(t, err)
	s := &sitting{t: t, out: newPrintout(), keys: keys, caliper: instrument, done: make(chan int, 1)}
	w := world{
		stdin: in, stdout: s.out, stderr: s.out, env: func(string) string { return "" },
		now: func() time.Time { return time.Now().Truncate(time.Millisecond) }, newID: func() string { return uuid.Must(uuid.NewV7()).String() },
	}
	go func() { s.done <- run(append(args, "--port", port), w) }()
	t.Cleanup(func() {
		_ = keys.Close()
		_ = in.Close()
	})
	return s
}

// await returns the submatches of the pattern in what was written since the
// last one, and reads on behind it.
func (s *sitting) await(pattern string) []string {
	s.t.Helper()
	match, ok := s.within(patience, pattern)
	require.True(s.t, ok, "waiting for %q in:\n%s", pattern, s.out.String())
	return match
}

func (s *sitting) within(limit time.Duration, pattern string) ([]string, bool) {
	s.t.Helper()
	re := regexp.MustCompile(pattern)
	timer := time.NewTimer(limit)
	defer timer.Stop()
	for {
		text := s.out.String()
		if at := re.FindStringSubmatchIndex(text[s.out.seen:]); at != nil {
			var match []string
			for i := 0; i < len(at); i += 2 {
				match = append(match, text[s.out.seen:][at[i]:at[i+1]])
			}
			s.out.seen += at[1]
			return match, true
		}
		select {
		case <-s.out.more:
		case <-timer.C:
			return nil, false
		}
	}
}

func (s *sitting) say(line string) {
	_, err := io.WriteString(s.keys, line+"\n")
	require.NoError(s.t, err)
}

func (s *sitting) send(raw []byte) {
	_, err := s.caliper.Write(raw)
	require.NoError(s.t, err)
}

func (s *sitting) ended(code int) {
	s.t.Helper()
	select {
	case got := <-s.done:
		assert.Equal(s.t, code, got, s.out.String())
	case <-time.After(patience):
		s.t.Fatalf("the program goes on:\n%s", s.out.String())
	}
}

// again is how long a person waits before pressing once more: what arrives in
// the first moments after a port has opened is not taken.
const again = 500 * time.Millisecond

// command runs a command line to its end, and returns what it wrote.
func command(t *testing.T, args ...string) string {
	t.Helper()
	var out bytes.Buffer
	code := run(args, world{
		stdin: strings.NewReader(""), stdout: &out, stderr: &out, env: func(string) string { return "" },
		now: func() time.Time { return time.Now().Truncate(time.Millisecond) }, newID: func() string { return uuid.Must(uuid.NewV7()).String() },
	})
	require.Zero(t, code, out.String())
	return out.String()
}

// rods enters rods of these diameters, and returns their true widths by name.
func rods(t *testing.T, db string, diameters ...string) map[string]float64 {
	t.Helper()
	widths := map[string]float64{}
	for _, d := range diameters {
		value, _, err := length.Parse(d, length.MM)
		require.NoError(t, err)
		name := "R-" + d
		command(t, "calibrate", "rods", "add", name, "--diameter", d, "--expanded", "0.001", "--by", "A. Holm", "--db", db)
		widths[name] = value.MM()
	}
	return widths
}

// A caliper with a scale 0.4 % too long and a zero 0.03 mm off, rounding to
// 0.01 mm and scattering by 0.008 mm: the calibration finds both within its
// stated uncertainty, and the corrected widths are the true ones.
func TestALiveCalibrationFindsTheCalipersError(t *testing.T) {
	const scale, zero = 1.004, 0.03
	db := filepath.Join(t.TempDir(), "bench.db")
	widths := rods(t, db, "3.0002", "6.0001", "9.0003", "11.9998")
	caliper, err := sim.New(sim.Config{Seed: 7, Form: device.Plain, NoiseSD: 0.008})
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, caliper.Close()) })

	s := sit(t, "calibrate", "--db", db, "--by", "A. Holm", "--celsius", "20", "--readings", "6", "--caliper", "the old one")
	prompt := `  (R-[0-9.]+), reading (\d+) of 6: `
	reading := `#\d+ +([0-9.]+) mm  error`
	for range 4 * 6 {
		rod := s.await(prompt)
		raw, err := caliper.Press(mm(t, widths[rod[1]]*scale+zero))
		require.NoError(t, err)
		s.send(raw)
		// What arrives in the first moments after the port has opened is not
		// taken: a person presses again.
		for {
			if _, ok := s.within(again, reading); ok {
				break
			}
			s.send(raw)
		}
	}
	s.await(`Store it for caliper "the old one", in force from now until \S+\? \(y/n\) `)
	s.say("y")
	s.await("Stored.")
	s.ended(exitDone)

	var c struct {
		Pivot     float64 `json:"pivot_mm"`
		Offset    float64 `json:"offset_mm"`
		OffsetSE  float64 `json:"offset_se_mm"`
		Slope     float64 `json:"slope"`
		SlopeSE   float64 `json:"slope_se"`
		DOF       float64 `json:"dof"`
		N         int     `json:"n"`
		By        string  `json:"by"`
		InForce   bool    `json:"in_force"`
		Conforms  bool    `json:"conforms"`
		Corrected []struct {
			Reading    float64 `json:"reading_mm"`
			Correction float64 `json:"correction_mm"`
			U          float64 `json:"u_mm"`
		} `json:"at"`
	}
	text := command(t, "calibrate", "show", "--caliper", "the old one", "--at", "4,7,10", "--db", db, "--format", "json")
	require.NoError(t, json.Unmarshal([]byte(text), &c))
	assert.GreaterOrEqual(t, c.N, 24)
	assert.True(t, c.InForce)
	assert.False(t, c.Conforms, "an error of 0.07 mm is over its limit")
	assert.Equal(t, "A. Holm", c.By)
	// reading = scale·true + zero, so the correction is true − reading.
	truth := func(x float64) float64 { return (x-zero)/scale - x }
	const k = 2.07 // t of 22 degrees of freedom at 95 %, JCGM 100:2008, table G.2 (between 20 and 25)
	assert.InDelta(t, truth(c.Pivot), c.Offset, k*c.OffsetSE)
	assert.InDelta(t, 1/scale-1, c.Slope, k*c.SlopeSE)
	require.Len(t, c.Corrected, 3)
	for _, at := range c.Corrected {
		assert.InDelta(t, truth(at.Reading), at.Correction, k*at.U, "at %g mm", at.Reading)
		assert.Less(t, at.U, 0.004)
	}

	// The same caliper on a leg of 7.50 mm.
	raw := 7.5*scale + zero
	leg := command(t, "fit", "--width", fmt.Sprintf("%.2f,%.2f,%.2f", raw, raw+0.01, raw-0.01), "--db", db, "--format", "json", "--settings", settingsFor(t, "the old one"))
	var fitted struct {
		Leg struct {
			Mean       float64 `json:"mean_mm"`
			Expanded   float64 `json:"expanded_mm"`
			Calibrated bool    `json:"calibrated"`
		} `json:"leg"`
	}
	require.NoError(t, json.Unmarshal([]byte(leg), &fitted))
	assert.True(t, fitted.Leg.Calibrated)
	assert.InDelta(t, 7.5, fitted.Leg.Mean, fitted.Leg.Expanded)
	assert.Greater(t, math.Abs(raw-7.5), fitted.Leg.Expanded, "uncorrected, it would not have been")
}

func mm(t *testing.T, v float64) length.Length {
	l, err := length.FromMM(v)
	require.NoError(t, err)
	return l
}

// settingsFor writes a bench.toml that names the caliper.
func settingsFor(t *testing.T, caliper string) string {
	path := filepath.Join(t.TempDir(), "bench.toml")
	require.NoError(t, os.WriteFile(path, fmt.Appendf(nil, "[caliper]\nname = %q\n", caliper), 0o600))
	return path
}

// A caliper that sends what is no reading: every byte reaches the screen
// escaped, and the sitting goes on.
func TestWhatACaliperSendsNeverReachesTheTerminalRaw(t *testing.T) {
	db := filepath.Join(t.TempDir(), "bench.db")
	rods(t, db, "4", "8")
	s := sit(t, "calibrate", "--db", db, "--by", "A. Holm", "--celsius", "20", "--readings", "2")
	s.await(`R-4, reading 1 of 2: `)
	s.await(`ready on`)
	for {
		s.send([]byte("\x1b[2J\x1b]0;mine\x07\r"))
		if _, ok := s.within(again, `! .*\\x1b\[2J.* is no frame of this wire form; measure again`); ok {
			break
		}
	}
	s.send([]byte("ERR0\r"))
	s.await("the caliper reports a sensor error; wipe the scale")
	s.send([]byte("+4.01\r"))
	s.await(`#1 +4.0100 mm  error \+0.0100`)
	s.send([]byte("+8.01\r"))
	s.await(`! disagrees: it is 4.01 mm off, and reads like rod R-8`)
	s.await(`aside REASON - again\? `)
	s.send([]byte("+4.02\r"))
	s.await(`a reading of 4.02 mm came while a question is open, and is not taken`)
	s.say("aside wrong rod")
	s.await(`#2, 8.01 mm, is set aside: wrong rod`)
	s.await(`R-4, reading 2 of 2: `)
	s.say("\x1b[31mquit")
	s.await(`\\x1b\[31mquit is no reading`)
	s.say("quit")
	s.ended(exitFailed)
	assert.NotContains(t, s.out.String(), "\x1b")
	assert.NotContains(t, s.out.String(), "\x07")
	assert.Contains(t, s.out.String(), "left before the end; nothing was stored")
}

// A port that vanishes is told with its mend; the readings can be typed.
func TestACaliperThatVanishesLeavesTheSittingWhole(t *testing.T) {
	db := filepath.Join(t.TempDir(), "bench.db")
	rods(t, db, "4", "8")
	s := sit(t, "check", "--db", db, "--by", "A. Holm", "--rod", "R-8")
	s.await(`R-8, reading 1 of 3: `)
	s.await(`ready on`)
	for {
		s.send([]byte("+8.01\r"))
		if _, ok := s.within(again, `8.0100 mm  error \+0.0100`); ok {
			break
		}
	}
	require.NoError(t, s.caliper.Close())
	s.await(`! caliper is gone from .*; plug the cable in, .*readings can be typed meanwhile`)
	s.say("8.01")
	s.await(`8.0100 mm  error \+0.0100`)
	s.say("8,02")
	s.await(`in limits`)
	s.ended(exitDone)
}
