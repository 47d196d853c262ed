//go:build unix

package device_test

import (
	"errors"
	"io/fs"
	"math/rand/v2"
	"os"
	"testing"
	"time"

	"github.com/creack/pty"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

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
	splits := map[string]func(string) []string{
		"at once":      func(s string) []string { return []string{s} },
		"byte by byte": func(s string) []string { return byBytes(s) },
		"random splits": func(s string) []string {
			return randomSplit(rand.New(rand.NewPCG(3, 4)), s)
		},
	}
	for _, ex := range devicetest.Examples() {
		for name, split := range splits {
			t.Run(string(ex.Form)+" "+name, func(t *testing.T) {
				devicetest.Conformance(t, devicetest.Subject{
					Name: "caliper", Wants: ex.Wants,
					Open: func(t testing.TB) device.Source {
						instrument, port := openPTY(t)
						src, err := device.OpenSerial(ptyConfig(port, ex.Form), device.SystemOpener)
						require.NoError(t, err)
						for _, piece := range split(ex.Bytes) {
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
