//go:build unix

package device_test

import (
	"errors"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"os/exec"
	"syscall"
	"testing"
	"time"

	"github.com/creack/pty"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.bug.st/serial"

	"seamfit/device"
	"seamfit/device/devicetest"
	"seamfit/internal/length"
)

// openPTY returns the instrument's end of a pseudo-terminal and the name of
// the bench's end, which works as a serial port.
func openPTY(t testing.TB) (instrument *os.File, port string) {
	instrument, end, err := pty.Open()
	require.NoError(t, err)
	port = end.Name()
	// Held open, so that the line keeps its settings until the bench is there.
	t.Cleanup(func() {
		_ = end.Close()
		if err := instrument.Close(); err != nil && !errors.Is(err, fs.ErrClosed) {
			t.Errorf("closing the pseudo-terminal: %v", err)
		}
	})
	return instrument, port
}

func ptyConfig(port string, form device.Form) device.SerialConfig {
	return device.SerialConfig{
		Port: port, Baud: 9600, Framing: "8N1", Form: form, Unit: length.MM, Device: "caliper",
		Settle: device.NoSettle, ReadTimeout: 20 * time.Millisecond,
	}
}

func TestSerialOverAPseudoTerminalConforms(t *testing.T) {
	ways := []struct {
		name  string
		split func(string) []string
		open  device.Opener
	}{
		{"at once", func(s string) []string { return []string{s} }, device.SystemOpener},
		{"written byte by byte", byBytes, device.SystemOpener},
		{"read byte by byte", func(s string) []string { return []string{s} }, openNarrow},
		{"random splits", func(s string) []string { return randomSplit(rand.New(rand.NewPCG(3, 4)), s) }, device.SystemOpener},
	}
	for _, ex := range devicetest.Examples() {
		for _, way := range ways {
			t.Run(string(ex.Form)+" "+way.name, func(t *testing.T) {
				devicetest.Conformance(t, devicetest.Subject{
					Name: "caliper", Wants: ex.Wants,
					Open: func(t testing.TB) device.Source {
						instrument, port := openPTY(t)
						src, err := device.OpenSerial(ptyConfig(port, ex.Form), way.open)
						require.NoError(t, err)
						for _, piece := range way.split(ex.Bytes) {
							_, err := instrument.WriteString(piece)
							require.NoError(t, err)
						}
						return src
					},
				})
			})
		}
	}
}

// narrow gives one byte at a time.
type narrow struct{ device.Port }

func (n narrow) Read(p []byte) (int, error) { return n.Port.Read(p[:1]) }

func openNarrow(name string, mode *serial.Mode) (device.Port, error) {
	port, err := device.SystemOpener(name, mode)
	if err != nil {
		return nil, err
	}
	return narrow{port}, nil
}

func byBytes(s string) []string {
	pieces := make([]string, 0, len(s))
	for i := range len(s) {
		pieces = append(pieces, s[i:i+1])
	}
	return pieces
}

func TestAnUnplugIsToldFromOurOwnClose(t *testing.T) {
	instrument, port := openPTY(t)
	src, err := device.OpenSerial(ptyConfig(port, device.Plain), device.SystemOpener)
	require.NoError(t, err)
	_, err = instrument.WriteString("+8.42\r+8.4")
	require.NoError(t, err)
	// Let the whole of it arrive: a hang-up loses what is unread.
	require.Eventually(t, func() bool { return src.Stats().Bytes == 10 }, 5*time.Second, time.Millisecond)
	require.NoError(t, instrument.Close())

	r, err := src.Next(t.Context())
	require.NoError(t, err, "what arrived before the loss is delivered")
	assert.Equal(t, "+8.42", string(r.Raw))
	for range 2 {
		_, err = src.Next(t.Context())
		require.ErrorIs(t, err, device.ErrGone)
		require.NotErrorIs(t, err, device.ErrClosed)
		assert.False(t, device.GoesOn(err))
	}
	require.NoError(t, src.Close())
	_, err = src.Next(t.Context())
	require.ErrorIs(t, err, device.ErrClosed)
}

func TestPortsThatCannotBeOpened(t *testing.T) {
	missing := t.TempDir() + "/none"
	file := t.TempDir() + "/file"
	require.NoError(t, os.WriteFile(file, []byte("no port"), 0o600))
	for port, fault := range map[string]device.PortFault{
		missing: device.PortMissing,
		file:    device.PortNotSerial,
	} {
		_, err := device.OpenSerial(ptyConfig(port, device.Plain), device.SystemOpener)
		var e *device.PortError
		require.ErrorAs(t, err, &e)
		assert.Equal(t, fault, e.Fault)
		assert.NotEmpty(t, e.Mend())
	}
	_, err := device.OpenSerial(ptyConfig(missing, device.Plain), device.SystemOpener)
	require.ErrorIs(t, err, fs.ErrNotExist, "the cause stays")
}

// A pseudo-terminal takes any speed and framing, so this opener asks for stop
// bits that the system has not.
func TestARefusedModeIsToldFromAFileThatIsNoPort(t *testing.T) {
	_, port := openPTY(t)
	first := true
	_, err := device.OpenSerial(ptyConfig(port, device.Plain), func(name string, m *serial.Mode) (device.Port, error) {
		if first {
			first = false
			m.StopBits = serial.OnePointFiveStopBits
		}
		return device.SystemOpener(name, m)
	})
	var e *device.PortError
	require.ErrorAs(t, err, &e)
	assert.Equal(t, device.PortMode, e.Fault)
	assert.Contains(t, e.Error(), "refuses 9600 baud 8N1")
}

// The system refuses nothing to root, so a child without its rights tries.
func TestABusyPortAndAForbiddenOne(t *testing.T) {
	if port := os.Getenv("SEAMFIT_TEST_PORT"); port != "" {
		_, err := device.OpenSerial(ptyConfig(port, device.Plain), device.SystemOpener)
		var e *device.PortError
		require.ErrorAs(t, err, &e)
		fmt.Printf("fault=%s\n", e.Fault)
		return
	}
	_, port := openPTY(t)
	src, err := device.OpenSerial(ptyConfig(port, device.Plain), device.SystemOpener)
	require.NoError(t, err)
	defer src.Close()
	require.NoError(t, os.Chmod(port, 0o666))
	assert.Contains(t, openAsNobody(t, port), "fault=busy")
	require.NoError(t, src.Close())
	require.NoError(t, os.Chmod(port, 0))
	assert.Contains(t, openAsNobody(t, port), "fault=denied")
}

// openAsNobody runs the test above in a child without root's rights.
func openAsNobody(t *testing.T, port string) string {
	self, err := os.ReadFile(os.Args[0])
	require.NoError(t, err)
	dir, err := os.MkdirTemp("", "seamfit-device-test")
	require.NoError(t, err)
	defer os.RemoveAll(dir)
	require.NoError(t, os.Chmod(dir, 0o755))
	child := dir + "/child"
	require.NoError(t, os.WriteFile(child, self, 0o755))
	cmd := exec.Command(child, "-test.run=^TestABusyPortAndAForbiddenOne$")
	cmd.Dir = dir
	cmd.Env = []string{"SEAMFIT_TEST_PORT=" + port}
	if os.Geteuid() == 0 {
		cmd.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: 65534, Gid: 65534}}
	}
	out, err := cmd.CombinedOutput()
	require.NoError(t, err, "%s", out)
	return string(out)
}

// TestAWriteAfterCloseNeverReachesAnotherFile first shows the trap in the port
// library, so that this test fails when the library has closed it, and then
// that the bench's sources are not caught in it.
func TestAWriteAfterCloseNeverReachesAnotherFile(t *testing.T) {
	_, name := openPTY(t)
	trap, err := serial.Open(name, &serial.Mode{BaudRate: 9600})
	require.NoError(t, err)
	require.NoError(t, trap.Close())
	hit := afterClose(t, func() { _, _ = trap.Write([]byte("?\r")) })
	assert.True(t, hit, "the library no longer writes into files that reuse its descriptor")

	src, err := device.OpenSerial(ptyConfig(name, device.Plain), device.SystemOpener)
	require.NoError(t, err)
	require.NoError(t, src.Close())
	var asked error
	hit = afterClose(t, func() { asked = src.Ask(device.AskReading) })
	assert.False(t, hit, "a command was written into another file")
	require.ErrorIs(t, asked, device.ErrClosed)
}

// afterClose opens files that take over the lowest free descriptors, writes,
// and reports whether anything reached one of them.
func afterClose(t *testing.T, write func()) bool {
	var files []*os.File
	for range 16 {
		f, err := os.CreateTemp(t.TempDir(), "database")
		require.NoError(t, err)
		files = append(files, f)
	}
	write()
	hit := false
	for _, f := range files {
		info, err := f.Stat()
		require.NoError(t, err)
		hit = hit || info.Size() > 0
		require.NoError(t, f.Close())
	}
	return hit
}
