package device_test

import (
	"context"
	"io/fs"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/device"
)

func linkScanner(t *testing.T, d *desk, opts device.ScannerOptions) *device.ScannerLink {
	t.Helper()
	cfg := device.SerialConfig{Port: "/dev/ttyUSB0", Baud: 9600, Framing: "8N1", Device: "scanner", Settle: device.NoSettle}
	s, err := device.NewScannerLink(cfg, opts, d.open, d.list)
	require.NoError(t, err)
	return s
}

func nextScanEvent(t *testing.T, s *device.ScannerLink, kind device.EventKind) device.ScanEvent {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	defer cancel()
	e, err := s.Next(ctx)
	require.NoError(t, err)
	require.Equal(t, kind, e.Kind, "%+v", e)
	return e
}

func scannerIs(t *testing.T, s *device.ScannerLink, kind device.StateKind) device.State {
	t.Helper()
	state := nextScanEvent(t, s, device.EventState).State
	require.Equal(t, kind, state.Kind, state.Words)
	return state
}

func TestAScannerIsReachedAgainAndHalfAScanIsForgotten(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		d := newDesk()
		port := d.plug("/dev/ttyUSB0", "B2")
		s := linkScanner(t, d, device.ScannerOptions{})
		defer s.Close()
		scannerIs(t, s, device.StateOpening)
		scannerIs(t, s, device.StateReady)
		port.send("1236-56701\r1236-5")
		assert.Equal(t, "1236-56701", nextScanEvent(t, s, device.EventScan).Scan.Text)
		d.unplug("/dev/ttyUSB0")
		state := scannerIs(t, s, device.StateLost)
		assert.Contains(t, state.Words, "scanner is gone from /dev/ttyUSB0")
		assert.NotContains(t, state.Mend, "caliper")

		d.plug("/dev/ttyUSB0", "A1") // the caliper has its name now
		scannerIs(t, s, device.StateOther)
		port = d.plug("/dev/ttyUSB1", "B2")
		scannerIs(t, s, device.StateReady)
		port.send("6702\r1236-56703\r") // joined to the half it would be a number
		assert.Equal(t, "6702", nextScanEvent(t, s, device.EventScan).Scan.Text)
		assert.Equal(t, "1236-56703", nextScanEvent(t, s, device.EventScan).Scan.Text)
	})
}

func TestAScannerThatIsNotThereIsAwaited(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		d := newDesk()
		s := linkScanner(t, d, device.ScannerOptions{Code39Check: true})
		defer s.Close()
		scannerIs(t, s, device.StateOpening)
		state := scannerIs(t, s, device.StateFailed)
		assert.Equal(t, device.PortMissing, state.Fault)
		assert.Contains(t, state.Mend, "switch the scanner on")
		ctx, cancel := context.WithTimeout(t.Context(), 20*time.Second)
		_, err := s.Next(ctx)
		cancel()
		require.ErrorIs(t, err, context.DeadlineExceeded, "the same state is told once")
		ms := time.Millisecond
		assert.Equal(t, []time.Duration{0, 250 * ms, 750 * ms, 1750 * ms, 3750 * ms, 7750 * ms, 12750 * ms, 17750 * ms}, d.attempts())
		port := d.plug("/dev/ttyUSB0", "")
		scannerIs(t, s, device.StateReady)
		port.send("AB123456%\rAB123456$\r") // a published vector of Code 39, and its like with a wrong character
		assert.Equal(t, "AB123456", nextScanEvent(t, s, device.EventScan).Scan.Text)
		var refused *device.ScanError
		require.ErrorAs(t, nextScanEvent(t, s, device.EventScan).Scan.Err, &refused)
		assert.Equal(t, device.ScanCheck, refused.Fault)
	})
}

func TestAScannersFaultsAndItsEnd(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		d := newDesk()
		d.fails = fs.ErrPermission
		s := linkScanner(t, d, device.ScannerOptions{})
		scannerIs(t, s, device.StateOpening)
		assert.Equal(t, device.PortDenied, scannerIs(t, s, device.StateFailed).Fault)
		d.mu.Lock()
		d.fails, d.hang = nil, make(chan struct{})
		d.mu.Unlock()
		port := d.plug("/dev/ttyUSB0", "")
		assert.Equal(t, device.PortHangs, scannerIs(t, s, device.StateFailed).Fault)
		result := make(chan error)
		go func() {
			_, err := s.Next(context.Background())
			result <- err
		}()
		synctest.Wait()
		require.NoError(t, s.Close())
		require.NoError(t, s.Close())
		require.ErrorIs(t, <-result, device.ErrClosed)
		close(d.hang)
		synctest.Wait()
		assert.Equal(t, 1, port.closes)
	})
}

func TestAScannersSettingsAreChecked(t *testing.T) {
	good := device.SerialConfig{Port: "/dev/ttyUSB0", Baud: 9600, Framing: "8N1"}
	_, err := device.NewScannerLink(good, device.ScannerOptions{Prefix: "\r"}, newDesk().open, nil)
	require.ErrorContains(t, err, "holds a line end")
	bad := good
	bad.Baud = -1
	_, err = device.NewScannerLink(bad, device.ScannerOptions{}, newDesk().open, nil)
	require.ErrorContains(t, err, "makes no sense")
}
