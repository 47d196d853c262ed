package device_test

import (
	"context"
	"errors"
	"io/fs"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.bug.st/serial"

	"seamfit/device"
	"seamfit/internal/length"
)

// desk is a computer's ports, for tests on synctest's clock.
type desk struct {
	mu    sync.Mutex
	ports map[string]*fakePort
	infos []device.PortInfo
	fails error
	opens []time.Duration // since the desk was set up
	begun time.Time
	hang  chan struct{} // while not nil, opening hangs until it is closed
}

func newDesk() *desk { return &desk{ports: map[string]*fakePort{}, begun: time.Now()} }

// plug puts a new device on a port.
func (d *desk) plug(name, id string) *fakePort {
	d.mu.Lock()
	defer d.mu.Unlock()
	p := newFakePort()
	d.ports[name] = p
	d.infos = append(d.infos, device.PortInfo{Name: name, USB: id != "", Serial: id})
	return p
}

func (d *desk) unplug(name string) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.ports[name].unplug()
	delete(d.ports, name)
	for i, info := range d.infos {
		if info.Name == name {
			d.infos = append(d.infos[:i:i], d.infos[i+1:]...)
			break
		}
	}
}

func (d *desk) open(name string, _ *serial.Mode) (device.Port, error) {
	d.mu.Lock()
	hang := d.hang
	d.opens = append(d.opens, time.Since(d.begun))
	d.mu.Unlock()
	if hang != nil {
		<-hang
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.fails != nil {
		return nil, d.fails
	}
	if p, ok := d.ports[name]; ok {
		return p, nil
	}
	return nil, fs.ErrNotExist
}

// attempts returns when the bench tried to open a port.
func (d *desk) attempts() []time.Duration {
	d.mu.Lock()
	defer d.mu.Unlock()
	return append([]time.Duration(nil), d.opens...)
}

func (d *desk) list() ([]device.PortInfo, error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	return append([]device.PortInfo(nil), d.infos...), nil
}

func supervise(t *testing.T, d *desk, change func(*device.SupervisorConfig)) *device.Supervisor {
	cfg := device.SupervisorConfig{Serial: fakeConfig()}
	cfg.Serial.Port = "/dev/ttyUSB0"
	cfg.Serial.Settle = device.NoSettle
	if change != nil {
		change(&cfg)
	}
	s, err := device.NewSupervisor(cfg, d.open, d.list)
	require.NoError(t, err)
	return s
}

// next returns the next event within a minute of the test's clock.
func next(t *testing.T, s *device.Supervisor) device.Event {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	defer cancel()
	e, err := s.Next(ctx)
	require.NoError(t, err)
	return e
}

func nextState(t *testing.T, s *device.Supervisor, kind device.StateKind) device.State {
	t.Helper()
	e := next(t, s)
	require.Equal(t, device.EventState, e.Kind)
	require.Equal(t, kind, e.State.Kind, "%s", e.State.Words)
	assert.NotEmpty(t, e.State.Words)
	if kind != device.StateReady && kind != device.StateOpening {
		assert.NotEmpty(t, e.State.Mend)
	}
	assert.Equal(t, e.State, s.State())
	return e.State
}

func nextReading(t *testing.T, s *device.Supervisor, raw string) device.Reading {
	t.Helper()
	e := next(t, s)
	require.Equal(t, device.EventReading, e.Kind)
	require.Equal(t, raw, string(e.Reading.Raw))
	return e.Reading
}

// nothing checks that no event comes for d.
func nothing(t *testing.T, s *device.Supervisor, d time.Duration) {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), d)
	defer cancel()
	e, err := s.Next(ctx)
	require.ErrorIs(t, err, context.DeadlineExceeded, "%+v", e)
}

func ready(t *testing.T, s *device.Supervisor) {
	t.Helper()
	nextState(t, s, device.StateOpening)
	nextState(t, s, device.StateReady)
}

func TestALossAndAReconnectionAreTold(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		d := newDesk()
		port := d.plug("/dev/ttyUSB0", "A1")
		s := supervise(t, d, nil)
		defer s.Close()
		ready(t, s)
		port.send("+8.42\r+8.4")
		nextReading(t, s, "+8.42")
		d.unplug("/dev/ttyUSB0")
		nextState(t, s, device.StateLost)
		require.ErrorIs(t, s.Ask(device.AskReading), device.ErrGone)
		nothing(t, s, 30*time.Second)
		port = d.plug("/dev/ttyUSB0", "A1")
		nextState(t, s, device.StateReady)
		port.send("+3\r+8.43\r") // joined to the half frame it would be 8.43
		nextReading(t, s, "+8.43")
	})
}

func TestAttemptsBackOffAndBeginQuicklyAgainAfterAFrame(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		d := newDesk()
		s := supervise(t, d, nil)
		defer s.Close()
		nextState(t, s, device.StateOpening)
		state := nextState(t, s, device.StateFailed)
		assert.Equal(t, device.PortMissing, state.Fault)
		nothing(t, s, 20*time.Second)
		ms := time.Millisecond
		assert.Equal(t, []time.Duration{0, 250 * ms, 750 * ms, 1750 * ms, 3750 * ms, 7750 * ms, 12750 * ms, 17750 * ms}, d.attempts())

		port := d.plug("/dev/ttyUSB0", "")
		nextState(t, s, device.StateReady)
		port.send("+8.42\r")
		nextReading(t, s, "+8.42")
		d.unplug("/dev/ttyUSB0")
		nextState(t, s, device.StateLost)
		d.plug("/dev/ttyUSB0", "")
		begun := time.Now()
		nextState(t, s, device.StateReady)
		assert.Equal(t, 250*ms, time.Since(begun))
	})
}

func TestADeviceIsFollowedByItsSerialNumberAndNoOtherIsReadForIt(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		d := newDesk()
		d.plug("/dev/ttyUSB0", "A1")
		d.plug("/dev/ttyUSB1", "B2") // the scanner
		s := supervise(t, d, nil)
		defer s.Close()
		ready(t, s)
		d.unplug("/dev/ttyUSB0")
		d.unplug("/dev/ttyUSB1")
		nextState(t, s, device.StateLost)
		scanner := d.plug("/dev/ttyUSB0", "B2")
		nextState(t, s, device.StateOther)
		assert.Zero(t, scanner.reads)
		port := d.plug("/dev/ttyUSB1", "A1")
		state := nextState(t, s, device.StateReady)
		assert.Equal(t, "/dev/ttyUSB1", state.Port)
		port.send("+8.42\r")
		r := nextReading(t, s, "+8.42")
		assert.Equal(t, "caliper", r.Device, "whatever its port is called")
	})
}

func TestSilenceIsToldOnlyWhileReadingsAreExpected(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		d := newDesk()
		port := d.plug("/dev/ttyUSB0", "")
		s := supervise(t, d, func(c *device.SupervisorConfig) { c.Serial.Quiet = 20 * time.Second })
		defer s.Close()
		ready(t, s)
		nothing(t, s, time.Hour)
		s.Expect(true)
		begun := time.Now()
		nextState(t, s, device.StateSilent)
		assert.Equal(t, 20*time.Second, time.Since(begun))
		nothing(t, s, time.Minute)
		port.send("+8.42\r")
		nextState(t, s, device.StateReady)
		nextReading(t, s, "+8.42")
		nextState(t, s, device.StateSilent)
		s.Expect(false)
		nextState(t, s, device.StateReady)
	})
}

func TestAskingWithAndWithoutAnAnswer(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		d := newDesk()
		port := d.plug("/dev/ttyUSB0", "")
		s := supervise(t, d, nil)
		defer s.Close()
		ready(t, s)
		require.NoError(t, s.Ask(device.AskReading))
		assert.Equal(t, "?\r", port.sent())
		port.send("?\r") // the cable's echo is no answer
		assert.Equal(t, device.EventFrame, next(t, s).Kind)
		begun := time.Now()
		nextState(t, s, device.StateUnanswered)
		assert.Equal(t, 2*time.Second, time.Since(begun))
		require.NoError(t, s.Ask(device.AskReading))
		port.send("+8.42\r")
		nextState(t, s, device.StateReady)
		nextReading(t, s, "+8.42")
		nothing(t, s, time.Minute)

		require.NoError(t, s.Ask(device.AskBattery))
		port.send("B0\r")
		e := next(t, s)
		var notice *device.Notice
		require.ErrorAs(t, e.Err, &notice)
		assert.Equal(t, device.KindBatteryLow, notice.Kind)
		assert.NotEmpty(t, notice.Mend())
	})
}

func TestAnOpeningThatHangsHangsNothingAndIsNotRepeated(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		d := newDesk()
		d.hang = make(chan struct{})
		port := d.plug("/dev/ttyUSB0", "")
		s := supervise(t, d, nil)
		defer s.Close()
		nextState(t, s, device.StateOpening)
		state := nextState(t, s, device.StateFailed)
		assert.Equal(t, device.PortHangs, state.Fault)
		for range 20 { // a caller that asks in short turns
			nothing(t, s, time.Second)
		}
		assert.Len(t, d.attempts(), 1, "one opening is enough to hang")
		close(d.hang)
		nextState(t, s, device.StateReady)
		port.send("+8.42\r")
		nextReading(t, s, "+8.42")
	})
}

func TestCloseDuringAnOpeningThatHangs(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		d := newDesk()
		d.hang = make(chan struct{})
		port := d.plug("/dev/ttyUSB0", "")
		s := supervise(t, d, nil)
		nextState(t, s, device.StateOpening)
		result := make(chan error)
		go func() {
			_, err := s.Next(context.Background())
			result <- err
		}()
		synctest.Wait()
		require.NoError(t, s.Close())
		require.ErrorIs(t, <-result, device.ErrClosed)
		close(d.hang)
		synctest.Wait()
		assert.Equal(t, 1, port.closes)
	})
}

func TestFaultsAreStatesWithAMend(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		d := newDesk()
		d.fails = fs.ErrPermission
		s := supervise(t, d, nil)
		defer s.Close()
		nextState(t, s, device.StateOpening)
		state := nextState(t, s, device.StateFailed)
		assert.Equal(t, device.PortDenied, state.Fault)
		assert.Contains(t, state.Mend, "dialout")
		nothing(t, s, time.Minute)
		d.mu.Lock()
		d.fails = errors.New("odd")
		d.mu.Unlock()
		state = nextState(t, s, device.StateFailed)
		assert.Equal(t, device.PortFailed, state.Fault)
	})
}

func TestAStreamGivesLiveValuesAndEachSteadyOneOnce(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		d := newDesk()
		port := d.plug("/dev/ttyUSB0", "")
		s := supervise(t, d, func(c *device.SupervisorConfig) {
			c.Serial.Form = device.Print
			steady := device.DefaultSteady()
			c.Steady = &steady
		})
		defer s.Close()
		ready(t, s)
		sendAll := func(line string, n int) (live, readings int) {
			for range n {
				pass(100 * time.Millisecond)
				port.send(line)
				switch e := next(t, s); e.Kind {
				case device.EventLive:
					live++
				case device.EventReading:
					readings++
				default:
					t.Fatalf("%+v", e)
				}
			}
			return live, readings
		}
		live, readings := sendAll("8.42 mm\r\n", 100)
		assert.Equal(t, 99, live)
		assert.Equal(t, 1, readings)
		_, readings = sendAll("15.00 mm\r\n", 3)
		assert.Zero(t, readings)
		_, readings = sendAll("8.43 mm\r\n", 100)
		assert.Equal(t, 1, readings)
		s.Rearm()
		_, readings = sendAll("8.43 mm\r\n", 100)
		assert.Equal(t, 1, readings)
	})
}

func TestTheAnswerOfAStreamIsNotCapturedOnceMore(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		d := newDesk()
		port := d.plug("/dev/ttyUSB0", "")
		s := supervise(t, d, func(c *device.SupervisorConfig) {
			steady := device.DefaultSteady()
			c.Steady = &steady
		})
		defer s.Close()
		ready(t, s)
		require.NoError(t, s.Ask(device.AskReading))
		port.send("+8.42\r")
		nextReading(t, s, "+8.42")
		for range 50 {
			pass(100 * time.Millisecond)
			port.send("+8.42\r")
			require.Equal(t, device.EventLive, next(t, s).Kind)
		}
	})
}

func TestAUnitThatChangedWhileTheLinkWasDownIsNoticed(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		d := newDesk()
		port := d.plug("/dev/ttyUSB0", "")
		s := supervise(t, d, func(c *device.SupervisorConfig) {
			c.Serial.Form, c.Serial.Unit = device.Print, length.UnknownUnit
		})
		defer s.Close()
		ready(t, s)
		port.send("8.42 mm\r\n")
		assert.False(t, nextReading(t, s, "8.42 mm").UnitChanged)
		d.unplug("/dev/ttyUSB0")
		nextState(t, s, device.StateLost)
		port = d.plug("/dev/ttyUSB0", "")
		nextState(t, s, device.StateReady)
		port.send("0.3315 in\r\n")
		assert.True(t, nextReading(t, s, "0.3315 in").UnitChanged)
	})
}

func TestCloseReleasesEverything(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		d := newDesk()
		port := d.plug("/dev/ttyUSB0", "")
		s := supervise(t, d, nil)
		ready(t, s)
		require.NoError(t, s.Close())
		require.NoError(t, s.Close())
		_, err := s.Next(t.Context())
		require.ErrorIs(t, err, device.ErrClosed)
		assert.Equal(t, 1, port.closes)
		assert.False(t, port.overlap)
	})
}

// What an opening brings with it is dropped, so the device is not told to be
// ready before that is over: a person who presses then is heard.
func TestReadyIsToldWhenReadingsCount(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		d := newDesk()
		port := d.plug("/dev/ttyUSB0", "A1")
		s := supervise(t, d, func(cfg *device.SupervisorConfig) { cfg.Serial.Settle = 300 * time.Millisecond })
		defer s.Close()
		nextState(t, s, device.StateOpening)
		opened := time.Now()
		nothing(t, s, 100*time.Millisecond)
		port.send("noise\r")
		nextState(t, s, device.StateReady)
		assert.Equal(t, 300*time.Millisecond, time.Since(opened))
		port.send("+8.42\r")
		nextReading(t, s, "+8.42")
	})
}

func TestALossWhileItSettlesIsTold(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		d := newDesk()
		d.plug("/dev/ttyUSB0", "A1")
		s := supervise(t, d, func(cfg *device.SupervisorConfig) { cfg.Serial.Settle = time.Second })
		defer s.Close()
		nextState(t, s, device.StateOpening)
		nothing(t, s, 100*time.Millisecond)
		d.unplug("/dev/ttyUSB0")
		nextState(t, s, device.StateLost)
		d.plug("/dev/ttyUSB0", "A1")
		nextState(t, s, device.StateReady)
	})
}
