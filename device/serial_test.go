package device_test

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"strings"
	"syscall"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.bug.st/serial"

	"seamfit/device"
	"seamfit/internal/length"
)

func fakeConfig() device.SerialConfig {
	return device.SerialConfig{
		Port: "port", Baud: 4800, Framing: "7E2", Form: device.Plain, Unit: length.MM, Device: "caliper",
	}
}

func openFake(t *testing.T, cfg device.SerialConfig) (*device.Serial, *fakePort) {
	port := newFakePort()
	src, err := device.OpenSerial(cfg, port.opener(nil))
	require.NoError(t, err)
	return src, port
}

func TestThePortGetsTheSettingsAndATimeoutBeforeTheFirstRead(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		port := newFakePort()
		var mode *serial.Mode
		src, err := device.OpenSerial(fakeConfig(), port.opener(&mode))
		require.NoError(t, err)
		synctest.Wait()
		assert.Equal(t, &serial.Mode{
			BaudRate: 4800, DataBits: 7, Parity: serial.EvenParity, StopBits: serial.TwoStopBits,
		}, mode)
		require.NoError(t, src.Close())
		assert.Equal(t, device.DefaultReadTimeout, port.timeout)
		assert.Positive(t, port.reads)
		assert.False(t, port.before, "a read came before the timeout was set")
		assert.Equal(t, 1, port.closes)
		assert.False(t, port.overlap, "the port was closed under a reader")
	})
}

func TestBytesFromTheRebootOfABoardAreDropped(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		src, port := openFake(t, fakeConfig())
		defer src.Close()
		port.send("boot v1\r\n+99.99\r") // complete, and still not trusted
		pass(299 * time.Millisecond)
		port.send("+88.88\r")
		synctest.Wait()
		pass(time.Millisecond)
		port.send("+8.42\r")
		r, err := src.Next(t.Context())
		require.NoError(t, err)
		assert.Equal(t, "+8.42", string(r.Raw))
		assert.Equal(t, int64(23), src.Stats().Settled)
	})
}

func TestALineThatBeganBeforeWeListenedIsNeverRead(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		cfg := fakeConfig()
		cfg.Form = device.Print
		src, port := openFake(t, cfg)
		defer src.Close()
		pass(290 * time.Millisecond)
		port.send("2")
		pass(20 * time.Millisecond)
		port.send("8.42 mm\r\n8.43 mm\r\n") // 28.42, of which 8.42 would parse
		r, err := src.Next(t.Context())
		require.NoError(t, err)
		assert.Equal(t, "8.43 mm", string(r.Raw))
		assert.Equal(t, int64(1), src.Stats().Fragments)
	})
}

func TestGarbageAtTheStartDoesNotCostALaterPress(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		src, port := openFake(t, fakeConfig())
		defer src.Close()
		port.send("garbage without an end")
		pass(5 * time.Second)
		port.send("+8.42\r")
		r, err := src.Next(t.Context())
		require.NoError(t, err)
		assert.Equal(t, "+8.42", string(r.Raw))
	})
}

func TestAFirstFragmentThatDoesNotDecodeIsDroppedAndALaterOneTold(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		cfg := fakeConfig()
		cfg.Settle = device.NoSettle
		src, port := openFake(t, cfg)
		defer src.Close()
		port.send("2.34\r+8.42\r2.34\r")
		r, err := src.Next(t.Context())
		require.NoError(t, err)
		assert.Equal(t, "+8.42", string(r.Raw))
		_, err = src.Next(t.Context())
		var e *device.FrameError
		require.ErrorAs(t, err, &e)
		assert.Equal(t, device.KindGrammar, e.Kind)
		assert.Equal(t, int64(1), src.Stats().Fragments)
	})
}

func TestSilenceIsTold(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		cfg := fakeConfig()
		cfg.Quiet = 20 * time.Second
		src, port := openFake(t, cfg)
		defer src.Close()
		begun := time.Now()
		_, err := src.Next(t.Context())
		require.ErrorIs(t, err, device.ErrSilent)
		assert.True(t, device.GoesOn(err))
		assert.Equal(t, 20*time.Second, time.Since(begun))
		port.send("+8.42\r")
		r, err := src.Next(t.Context())
		require.NoError(t, err)
		assert.Equal(t, "+8.42", string(r.Raw))
	})
}

func TestWhatIsNotTakenInTimeIsCountedAndTold(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		cfg := fakeConfig()
		cfg.Settle = device.NoSettle
		src, port := openFake(t, cfg)
		defer src.Close()
		const sent = 5000
		for range sent {
			port.send("+8.42\r")
		}
		synctest.Wait()
		_, err := src.Next(t.Context())
		var e *device.FrameError
		require.ErrorAs(t, err, &e)
		assert.Equal(t, device.KindDropped, e.Kind)
		assert.Equal(t, int64(e.Count), src.Stats().Dropped)
		port.unplug()
		got := 0
		for {
			if _, err := src.Next(t.Context()); err != nil {
				require.ErrorIs(t, err, device.ErrGone)
				require.ErrorIs(t, err, errUnplugged)
				break
			}
			got++
		}
		assert.Equal(t, sent, got+e.Count)
	})
}

func TestAnUnplugReleasesThePortAtOnce(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		src, port := openFake(t, fakeConfig())
		port.unplug()
		synctest.Wait()
		assert.Equal(t, 1, port.closes, "so that a replugged device gets its name back")
		require.Error(t, src.Ask(device.AskReading))
		assert.Empty(t, port.sent())
		require.NoError(t, src.Close())
		assert.Equal(t, 1, port.closes)
	})
}

func TestAskingAndItsLimits(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		src, port := openFake(t, fakeConfig())
		require.NoError(t, src.Ask(device.AskReading))
		assert.Equal(t, "?\r", port.sent())

		port.mu.Lock()
		port.stuck = make(chan struct{})
		port.mu.Unlock()
		begun := time.Now()
		require.ErrorIs(t, src.Ask(device.AskBattery), device.ErrSilent)
		assert.Equal(t, time.Second, time.Since(begun), "a write that hangs does not hang the bench")
		// Close helps the write out and waits for everybody to leave.
		require.NoError(t, src.Close())
		synctest.Wait()
		assert.Equal(t, 1, port.flushed)
		assert.Equal(t, 1, port.closes)
		assert.False(t, port.overlap)
		require.ErrorIs(t, src.Ask(device.AskReading), device.ErrClosed)

		cfg := fakeConfig()
		cfg.Form = device.Print
		stream, _ := openFake(t, cfg)
		defer stream.Close()
		require.ErrorContains(t, stream.Ask(device.AskReading), "press the caliper's button")
	})
}

func TestOpeningHasALimit(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		port := newFakePort()
		release := make(chan struct{})
		hang := func(string, *serial.Mode) (device.Port, error) {
			<-release
			return port, nil
		}
		begun := time.Now()
		_, err := device.OpenSerial(fakeConfig(), hang)
		var e *device.PortError
		require.ErrorAs(t, err, &e)
		assert.Equal(t, device.PortHangs, e.Fault)
		assert.Equal(t, device.DefaultOpenLimit, time.Since(begun))
		close(release)
		synctest.Wait()
		assert.Equal(t, 1, port.closes, "a port that opens too late is closed again")
	})
}

func TestFaultsOfPortsHaveAMend(t *testing.T) {
	// The library's error with a code cannot be made from outside; its own
	// opener makes the ones that the system tells apart (see the pseudo-
	// terminal tests). These are the system's.
	for cause, fault := range map[error]device.PortFault{
		fs.ErrNotExist:    device.PortMissing,
		syscall.ENXIO:     device.PortMissing,
		fs.ErrPermission:  device.PortDenied,
		errors.New("EIO"): device.PortFailed,
		fmt.Errorf("configuring: %w", &serial.PortError{}): device.PortBusy, // its zero value
	} {
		_, err := device.OpenSerial(fakeConfig(), func(string, *serial.Mode) (device.Port, error) { return nil, cause })
		var e *device.PortError
		require.ErrorAs(t, err, &e)
		assert.Equal(t, fault, e.Fault)
		assert.NotEmpty(t, e.Mend())
		assert.Contains(t, e.Error(), "port")
		require.ErrorIs(t, err, cause)
	}
	for _, fault := range []device.PortFault{device.PortMode, device.PortNotSerial, device.PortHangs} {
		e := &device.PortError{Port: "p\x1b", Fault: fault, Baud: 4800}
		assert.NotContains(t, e.Error(), "\x1b")
		assert.NotEmpty(t, e.Mend())
	}
}

func TestSettingsThatMakeNoSense(t *testing.T) {
	for want, change := range map[string]func(*device.SerialConfig){
		"no port is set":         func(c *device.SerialConfig) { c.Port = "" },
		"makes no sense":         func(c *device.SerialConfig) { c.Baud = 0 },
		"8N1 or 7E2":             func(c *device.SerialConfig) { c.Framing = "9X3" },
		"use one of":             func(c *device.SerialConfig) { c.Form = "morse" },
		"set the caliper's unit": func(c *device.SerialConfig) { c.Unit = length.UnknownUnit },
		"is negative":            func(c *device.SerialConfig) { c.Quiet = -1 },
		"control characters":     func(c *device.SerialConfig) { c.Device = "a\x1bb" },
	} {
		cfg := fakeConfig()
		change(&cfg)
		_, err := device.OpenSerial(cfg, func(string, *serial.Mode) (device.Port, error) {
			t.Error("opened in spite of the settings")
			return nil, fs.ErrNotExist
		})
		require.ErrorContains(t, err, want)
		assert.False(t, strings.ContainsAny(err.Error(), "\x1b\n"))
	}
}

func TestFramings(t *testing.T) {
	for _, s := range []string{"8N1", "7E2", "7O1", "8E1"} {
		f, err := device.ParseFraming(s)
		require.NoError(t, err)
		assert.Equal(t, s, f.String())
	}
	for _, s := range []string{"", "8", "8N", "8N12", "6N1", "8X1", "8N3", "8n1"} {
		_, err := device.ParseFraming(s)
		require.ErrorContains(t, err, "framing", "%q", s)
	}
}

func TestTheTapSeesAllBytes(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var seen []string
		cfg := fakeConfig()
		cfg.Tap = func(_ time.Time, p []byte, sent bool) {
			if sent {
				seen = append(seen, ">")
			}
			seen = append(seen, string(p))
		}
		src, port := openFake(t, cfg)
		defer src.Close()
		port.send("noise")
		synctest.Wait()
		require.NoError(t, src.Ask(device.AskReading))
		pass(time.Second)
		port.send("+8.42\r")
		_, err := src.Next(context.Background())
		require.NoError(t, err)
		assert.Equal(t, []string{"noise", ">", "?\r", "+8.42\r"}, seen)
	})
}

func TestAListenerGivesBytesOfAnyForm(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		cfg := fakeConfig()
		cfg.Form = ""
		port := newFakePort()
		l, err := device.OpenListener(cfg, port.opener(nil))
		require.NoError(t, err)
		assert.Equal(t, "caliper", l.Name())
		port.send("boot")
		synctest.Wait()
		pass(time.Second)
		port.send("+8.42\r")
		heard, err := l.Next(t.Context())
		require.NoError(t, err)
		assert.Equal(t, "+8.42\r", string(heard.Bytes))
		require.NoError(t, l.Ask(device.Wide, device.AskReading))
		assert.Equal(t, "R\r", port.sent())
		require.Error(t, l.Ask(device.Print, device.AskReading))
		require.NoError(t, l.Close())
		_, err = l.Next(t.Context())
		require.ErrorIs(t, err, device.ErrClosed)
	})
}

func TestAScannerOnAPort(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		cfg := fakeConfig()
		cfg.Form, cfg.Device, cfg.Settle = "", "scanner", device.NoSettle
		port := newFakePort()
		s, err := device.OpenScanner(cfg, device.ScannerOptions{Prefix: "\x02"}, port.opener(nil))
		require.NoError(t, err)
		port.send("\x021236-")
		port.send("56701\r\nrubbish\r\n")
		scan, err := s.Next(t.Context())
		require.NoError(t, err)
		assert.Equal(t, "1236-56701", scan.Text)
		assert.Equal(t, "scanner", scan.Device)
		scan, err = s.Next(t.Context())
		require.NoError(t, err)
		require.Error(t, scan.Err)
		port.unplug()
		_, err = s.Next(t.Context())
		require.ErrorIs(t, err, device.ErrGone)
		require.NoError(t, s.Close())
		assert.Equal(t, "scanner", s.Name())

		_, err = device.OpenScanner(cfg, device.ScannerOptions{Prefix: "\t"}, port.opener(nil))
		require.ErrorContains(t, err, "line end")
	})
}
