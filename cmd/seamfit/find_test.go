//go:build unix

package main

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/creack/pty"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.bug.st/serial"

	"seamfit/device"
	"seamfit/device/devicetest"
	"seamfit/internal/length"
	"seamfit/internal/settings"
)

// patience is how long the program may take to say what is waited for: far
// longer than it does, since the machine may be busy.
const patience = 20 * time.Second

// printout is what the program has written so far.
type printout struct {
	mu   sync.Mutex
	text bytes.Buffer
	more chan struct{} // one slot: something was written
	seen int           // up to where until has looked
}

func newPrintout() *printout { return &printout{more: make(chan struct{}, 1)} }

func (s *printout) Write(p []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	select {
	case s.more <- struct{}{}:
	default:
	}
	return s.text.Write(p)
}

func (s *printout) String() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.text.String()
}

// until waits for a text behind the last one that was waited for.
func (s *printout) until(t *testing.T, text string) {
	t.Helper()
	limit := time.NewTimer(patience)
	defer limit.Stop()
	for {
		all := s.String()
		if i := strings.Index(all[s.seen:], text); i >= 0 {
			s.seen += i + len(text)
			return
		}
		select {
		case <-s.more:
		case <-limit.C:
			t.Fatalf("not said: %q; said so far:\n%s", text, all)
		}
	}
}

// seance is a guide at work with a person and a caliper.
type seance struct {
	t       *testing.T
	guide   *guide
	out     *printout
	person  *io.PipeWriter
	caliper *os.File // the instrument's end of the port
	port    string
	path    string // of the settings
	stop    context.CancelFunc
	result  chan error
}

// openLine returns the instrument's end of a pseudo-terminal and the name of
// the other, which works as a serial port.
func openLine(t *testing.T) (*os.File, string) {
	t.Helper()
	instrument, end, err := pty.Open()
	require.NoError(t, err)
	t.Cleanup(func() { _ = end.Close(); _ = instrument.Close() })
	return instrument, end.Name()
}

func newSeance(t *testing.T) *seance {
	t.Helper()
	s := &seance{t: t, out: newPrintout(), result: make(chan error, 1), path: filepath.Join(t.TempDir(), "conf", "bench.toml")}
	s.caliper, s.port = openLine(t)
	in, person := io.Pipe()
	s.person = person
	a := &app{
		world:        world{stdin: in, stdout: s.out, stderr: s.out, env: os.Getenv, now: time.Now},
		settingsPath: s.path, format: "text",
	}
	s.guide = newGuide(a, device.SystemOpener, func() ([]device.PortInfo, error) {
		return []device.PortInfo{{Name: "/dev/ttyS9"}, {Name: s.port, USB: true, Vendor: "0403", Product: "6001", Serial: "A1"}}, nil
	})
	s.guide.pace = guidePace{
		rounds: 2, settle: device.NoSettle, hear: 300 * time.Millisecond, answer: 150 * time.Millisecond, stream: 200 * time.Millisecond,
	}
	return s
}

func (s *seance) begin() {
	ctx, stop := context.WithCancel(s.t.Context())
	s.stop = stop
	go func() { s.result <- s.guide.run(ctx) }()
	s.t.Cleanup(func() { stop(); _ = s.person.Close() })
}

func (s *seance) says(text string) { s.t.Helper(); s.out.until(s.t, text) }

func (s *seance) types(line string) {
	_, err := io.WriteString(s.person, line+"\n")
	require.NoError(s.t, err)
}

func (s *seance) sends(text string) {
	_, err := io.WriteString(s.caliper, text)
	require.NoError(s.t, err)
}

// end waits for the guide to come to its end.
func (s *seance) end() error {
	s.t.Helper()
	select {
	case err := <-s.result:
		return err
	case <-time.After(patience):
		s.t.Fatalf("the guide does not end; said so far:\n%s", s.out)
		return nil
	}
}

func (s *seance) settings() settings.Settings {
	s.t.Helper()
	data, err := os.ReadFile(s.path)
	require.NoError(s.t, err)
	got, err := settings.Load(data, s.path)
	require.NoError(s.t, err)
	return got
}

// press sends a line when the guide asks for a measurement.
func (s *seance) press(prompt, line string) {
	s.t.Helper()
	s.says(prompt)
	s.sends(line)
}

// valueLines are those lines of a form that carry a value, as the instruments'
// documents print them (devicetest names the documents).
func valueLines(form device.Form) []string {
	var lines []string
	for _, ex := range devicetest.Examples() {
		for _, w := range ex.Wants {
			if ex.Form == form && w.Kind == "" {
				lines = append(lines, w.Raw+"\r\n")
			}
		}
	}
	return lines
}

func TestFindRecognisesEachForm(t *testing.T) {
	for _, form := range device.SerialForms() {
		t.Run(string(form), func(t *testing.T) {
			t.Parallel()
			s := newSeance(t)
			line := func(i int) string { all := valueLines(form); return all[i%len(all)] }
			s.begin()
			s.says("  1  /dev/ttyS9\n")
			s.says("serial number A1\n")
			s.types("2")
			s.says("press the caliper's button about once a second")
			s.says(": ") // the first speed is listened to
			s.sends(line(0))
			s.press("1 of 3: close the jaws", line(1))
			s.says("Diameter of a rod")
			s.types("")
			s.press("2 of 3", line(2))
			s.press("3 of 3", line(0))
			s.says("certain: " + string(form))
			if !form.NamesUnit() && form != device.Nibbles {
				s.says("name no unit")
				s.types("mm")
			}
			s.says("Write them?")
			s.types("")
			require.NoError(t, s.end())
			got := s.settings().Caliper
			assert.Equal(t, string(form), got.Form)
			assert.Equal(t, s.port, got.Port)
			assert.Equal(t, "usb:0403:6001:A1", got.ID)
			assert.Equal(t, 9600, got.Baud, "the speed that was tried first")
			assert.Equal(t, "8N1", got.Framing)
			streams := ""
			if form.Streams() {
				streams = "no"
			}
			assert.Equal(t, streams, got.Streams)
		})
	}
}

func TestFindAsksBetweenFormsThatBothFit(t *testing.T) {
	for _, c := range []struct{ lines, want string }{
		{"+8.42\r", "plain"},
		{"+8.42\r", "typed"},
		{"8.42 mm\r\n", "print"},
		{"+12.34567 MM\r\n", "wide"},
	} {
		t.Run(c.want, func(t *testing.T) {
			t.Parallel()
			s := newSeance(t)
			s.guide.among = device.Forms()
			s.begin()
			s.types(s.port)
			s.says("9600 8N1: ")
			s.sends(c.lines)
			s.press("1 of 3", c.lines)
			s.says("Diameter")
			s.types("none")
			s.says("no diameter")
			s.types("")
			s.press("2 of 3", c.lines)
			s.press("3 of 3", c.lines)
			s.says("Several wire forms fit")
			s.says("Which do the caliper's papers describe?")
			s.types("")
			s.says("Which do the caliper's papers describe?")
			s.types("channel")
			s.says("Which do the caliper's papers describe?")
			s.types(c.want)
			if c.lines == "+8.42\r" {
				s.says("mm or in?")
				s.types("mm")
			}
			s.says("Write them?")
			s.types("y")
			require.NoError(t, s.end())
			assert.Equal(t, c.want, s.settings().Caliper.Form)
		})
	}
}

// slowPort is a port that brings sense only at one speed and framing.
func slowPort(mode serial.Mode) device.Opener {
	return func(name string, m *serial.Mode) (device.Port, error) {
		port, err := device.SystemOpener(name, m)
		if err == nil && *m != mode {
			port = garbled{port}
		}
		return port, err
	}
}

type garbled struct{ device.Port }

func (g garbled) Read(p []byte) (int, error) {
	n, err := g.Port.Read(p)
	for i := range p[:n] {
		p[i] = p[i]<<1 | 0x81
	}
	return n, err
}

func TestFindAsksACaliperAndTellsItsUnitByARod(t *testing.T) {
	t.Parallel()
	s := newSeance(t)
	// The form's own settings [the manual of an opto-coupled caliper cable].
	s.guide.open = slowPort(serial.Mode{BaudRate: 4800, DataBits: 7, Parity: serial.EvenParity, StopBits: serial.TwoStopBits})
	answers := make(chan string, 8)
	go func() { // the caliper: it answers, and is never pressed
		heard := make([]byte, 64)
		for value := "+0.0005"; ; {
			n, err := s.caliper.Read(heard)
			if err != nil {
				return
			}
			if strings.Contains(string(heard[:n]), "?\r") {
				select {
				case value = <-answers:
				default:
				}
				_, _ = io.WriteString(s.caliper, value+"\r")
			}
		}
	}()
	s.begin()
	s.says("Which port")
	s.types("7")
	s.says("no number 7")
	s.types("2")
	s.says("9600 8N1: ")
	s.says("fits no form")
	s.says(`4800 7E2: "+0.0005"`)
	s.says("1 of 3: close the jaws, and press its button, or Enter here to have it asked.")
	s.types("")
	s.says("Diameter of a rod")
	s.types("6,00")
	for _, prompt := range []string{"2 of 3: measure the rod", "3 of 3: measure the rod once more"} {
		answers <- "+0.2360"
		s.says(prompt)
		s.types("")
	}
	s.says("certain: plain")
	s.says("by the rod they are in in")
	s.says(`0.2360 in`)
	s.says("Write them?")
	s.types("")
	require.NoError(t, s.end())
	got := s.settings().Caliper
	assert.Equal(t, "plain", got.Form)
	assert.Equal(t, "in", got.Unit)
	assert.Equal(t, 4800, got.Baud)
	assert.Equal(t, "7E2", got.Framing)
}

// stream sends a line again and again until the test ends.
func stream(t *testing.T, w io.Writer, line string) {
	done := make(chan struct{})
	stopped := make(chan struct{})
	go func() {
		defer close(stopped)
		tick := time.NewTicker(20 * time.Millisecond)
		defer tick.Stop()
		for {
			select {
			case <-tick.C:
				if _, err := io.WriteString(w, line); err != nil {
					return
				}
			case <-done:
				return
			}
		}
	}()
	t.Cleanup(func() { close(done); <-stopped })
}

func TestFindTakesAStreamAtEnter(t *testing.T) {
	t.Parallel()
	s := newSeance(t)
	stream(t, s.caliper, "8.42 mm\r\n")
	s.begin()
	s.types(s.port)
	s.says("It sends by itself")
	s.says("1 of 3: close the jaws, hold it still, and press Enter here.")
	s.types("")
	s.says("Diameter")
	s.types("6")
	s.says("2 of 3")
	s.types("")
	s.says("3 of 3")
	s.types("")
	s.says("certain: print")
	s.says("Closed jaws do not read zero")
	s.says("The rod of 6.00 mm was read as 8.42 mm")
	s.says("Write them?")
	s.types("")
	require.NoError(t, s.end())
	assert.Equal(t, "print", s.settings().Caliper.Form)
	assert.Empty(t, s.settings().Caliper.Streams, "as its form usually does")
}

func TestFindFollowsAStreamOfAFormThatUsuallyIsNone(t *testing.T) {
	t.Parallel()
	s := newSeance(t)
	s.guide.format = "json"
	var result printout
	s.guide.stdout = &result
	stream(t, s.caliper, "+ 2.1380, MM\r\n")
	s.begin()
	s.types(s.port)
	for _, question := range []string{"1 of 3", "Diameter", "2 of 3", "3 of 3", "Write them?"} {
		s.says(question)
		s.types("")
	}
	require.NoError(t, s.end())
	assert.Equal(t, "yes", s.settings().Caliper.Streams)
	var got foundSettings
	require.NoError(t, json.Unmarshal([]byte(result.String()), &got), result.String())
	assert.Equal(t, "wide", got.Form)
	assert.Equal(t, "certain", got.Certainty)
	assert.True(t, got.Written)
	assert.InDelta(t, 2.138, got.Readings[0].ValueMM, 1e-12)
}

func TestFindKeepsTheSettingsThatAreThere(t *testing.T) {
	t.Parallel()
	s := newSeance(t)
	require.NoError(t, os.MkdirAll(filepath.Dir(s.path), 0o700))
	require.NoError(t, os.WriteFile(s.path, []byte("[bench]\nname = 'ness' # ours\n[caliper]\nname = 'blue'\nquiet_s = 20\n"), 0o644))
	s.begin()
	s.types("k")
	for _, value := range []string{"0.00", "oops", "8,42"} {
		s.says("press its button:")
		s.types(value)
		if value == "0.00" {
			s.says("Diameter")
			s.types("")
		}
	}
	s.says("3 of 3")
	s.types("8.43 mm")
	s.says("mm or in?")
	s.types("mm")
	s.says("Write them?")
	s.types("")
	require.NoError(t, s.end())
	data, err := os.ReadFile(s.path)
	require.NoError(t, err)
	assert.Equal(t, "[bench]\nname = 'ness' # ours\n[caliper]\nname = 'blue'\nquiet_s = 20\nform = 'typed'\ndecimal_comma = true\n", string(data))
	info, err := os.Stat(s.path)
	require.NoError(t, err)
	assert.Equal(t, os.FileMode(0o600), info.Mode().Perm())
	all, err := os.ReadDir(filepath.Dir(s.path))
	require.NoError(t, err)
	assert.Len(t, all, 1, "no other file is left")
}

func TestFindSaysWhatTheCaliperSaysAndNeverRaw(t *testing.T) {
	t.Parallel()
	s := newSeance(t)
	s.begin()
	s.types(s.port)
	s.says("9600 8N1: ")
	s.sends("+0.00\r")
	s.press("1 of 3", "ERR3\r")
	s.says("out of its range; close the jaws")
	s.sends("\x1b[2J\a\x9bc\r")
	s.says(`\x1b[2J\x07\x9bc`)
	s.sends("+0.01\r")
	s.says("Diameter")
	s.types("")
	s.press("2 of 3", "+5.00\r")
	s.press("3 of 3", "+6.00\r")
	s.says("likely: plain")
	s.says("mm or in?")
	s.types("cubits")
	s.says("mm or in?")
	s.types("mm")
	s.says("Write them?")
	s.types("n")
	s.says("Nothing was written.")
	require.NoError(t, s.end())
	assert.NoFileExists(t, s.path)
	for _, c := range s.out.String() {
		assert.True(t, c == '\n' || (c >= ' ' && c <= '~'), "%q reached the terminal", c)
	}
}

func TestFindEndsWithTheMend(t *testing.T) {
	t.Parallel()
	t.Run("nothing comes", func(t *testing.T) {
		s := newSeance(t)
		s.guide.pace.rounds, s.guide.pace.hear, s.guide.pace.answer = 1, time.Millisecond, time.Millisecond
		s.begin()
		s.types(s.port)
		require.ErrorContains(t, s.end(), "check its cable, its battery")
	})
	t.Run("nothing that fits", func(t *testing.T) {
		s := newSeance(t)
		s.guide.pace.rounds = 1
		s.begin()
		s.types(s.port)
		s.says("9600 8N1: ")
		s.sends("hello\r\n\x1b")
		require.ErrorContains(t, s.end(), `fits no wire form that is known ("hello\x1b" at 9600 8N1); look at it with find --listen`)
	})
	t.Run("no such port", func(t *testing.T) {
		s := newSeance(t)
		s.begin()
		s.types("/dev/none")
		require.ErrorContains(t, s.end(), "there is no port /dev/none; plug the cable in")
	})
	t.Run("the port goes", func(t *testing.T) {
		s := newSeance(t)
		s.begin()
		s.types(s.port)
		s.says("9600 8N1: ")
		s.sends("+0.00\r")
		s.says("1 of 3")
		require.NoError(t, s.caliper.Close())
		require.ErrorContains(t, s.end(), "the connection is lost")
	})
	t.Run("stopped", func(t *testing.T) {
		s := newSeance(t)
		s.begin()
		s.types(s.port)
		s.says("9600 8N1: ")
		s.stop()
		require.ErrorIs(t, s.end(), errFindStopped)
	})
	t.Run("the answers end", func(t *testing.T) {
		s := newSeance(t)
		s.begin()
		s.says("Which port")
		require.NoError(t, s.person.Close())
		require.ErrorIs(t, s.end(), errFindInput)
	})
	t.Run("the settings are broken", func(t *testing.T) {
		s := newSeance(t)
		require.NoError(t, os.MkdirAll(filepath.Dir(s.path), 0o700))
		require.NoError(t, os.WriteFile(s.path, []byte("[caliper]\nspeed = 3\n"), 0o600))
		require.ErrorContains(t, editSettings(s.path, func(*settings.Settings) {}), `line 2: unknown key "caliper.speed"`)
	})
}

func TestASettingsFileBehindALinkStaysThere(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(dir, "real.toml"), []byte("# kept\n"), 0o644))
	link := filepath.Join(dir, "bench.toml")
	require.NoError(t, os.Symlink("real.toml", link))
	require.NoError(t, editSettings(link, func(s *settings.Settings) { s.Caliper.Unit = length.In.String() }))
	data, err := os.ReadFile(filepath.Join(dir, "real.toml"))
	require.NoError(t, err)
	assert.Equal(t, "# kept\n\n[caliper]\nunit = 'in'\n", string(data))
	info, err := os.Lstat(link)
	require.NoError(t, err)
	assert.Equal(t, os.ModeSymlink, info.Mode().Type())
}
