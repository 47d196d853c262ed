//go:build unix

package device_test

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/creack/pty"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/device"
)

// plug is a device that is plugged in and out under one name. Names of
// pseudo-terminals are reused, so the name is a link to the present one.
type plug struct {
	name       string
	instrument *os.File
}

func (p *plug) in(t *testing.T) {
	instrument, end, err := pty.Open()
	require.NoError(t, err)
	defer end.Close()
	require.NoError(t, os.Symlink(end.Name(), p.name))
	p.instrument = instrument
}

func (p *plug) out(t *testing.T) {
	require.NoError(t, os.Remove(p.name))
	require.NoError(t, p.instrument.Close())
}

// TestAThousandUnplugsLoseAndInventNothing cuts the cable in the middle of a
// frame, again and again. Every frame that was sent whole arrives once, and
// nothing else does. What was sent is waited for before the cable is cut,
// because a hang-up loses what the system has not handed over.
func TestAThousandUnplugsLoseAndInventNothing(t *testing.T) {
	cycles := 1000
	if testing.Short() {
		cycles = 50
	}
	forms := device.SerialForms()
	encode := map[device.Form]string{
		device.Plain: "+%d.%02d\r", device.Print: "%d.%02d mm\r\n", device.Channel: "01A+%05d.%02d\r",
		device.Wide: "+%5d.%02d MM\r\n", device.Multiplexed: "2 MW+%05d.%02d mm\r\n", device.Nibbles: "FFFF0%04d%02d20\r\n",
	}
	warm, end, err := pty.Open() // the runtime opens descriptors of its own with the first
	require.NoError(t, err)
	require.NoError(t, errors.Join(warm.Close(), end.Close()))
	descriptors, goroutines := openDescriptors(t), runtime.NumGoroutine()
	for _, form := range forms {
		t.Run(string(form), func(t *testing.T) {
			replug(t, form, encode[form], cycles/len(forms)+1)
		})
	}
	settles(t, descriptors, goroutines)
}

// settles waits until no more are open and running than before.
func settles(t *testing.T, descriptors, goroutines int) {
	t.Helper()
	tick := time.NewTicker(5 * time.Millisecond)
	defer tick.Stop()
	deadline := time.After(10 * time.Second)
	for openDescriptors(t) > descriptors || runtime.NumGoroutine() > goroutines {
		select {
		case <-tick.C:
		case <-deadline:
			t.Fatalf("%d descriptors, were %d; %d goroutines, were %d",
				openDescriptors(t), descriptors, runtime.NumGoroutine(), goroutines)
		}
	}
}

func replug(t *testing.T, form device.Form, format string, cycles int) {
	p := &plug{name: filepath.Join(t.TempDir(), "port")}
	cfg := ptyConfig(p.name, form)
	s, err := device.NewSupervisor(device.SupervisorConfig{
		Serial: cfg, FirstWait: 200 * time.Microsecond, LongestWait: 200 * time.Microsecond,
	}, device.SystemOpener, nil)
	require.NoError(t, err)
	defer s.Close()
	ctx, cancel := context.WithTimeout(context.Background(), 5*time.Minute)
	defer cancel()

	rng := rand.New(rand.NewPCG(9, uint64(len(form))))
	tail := ""
	for cycle := range cycles {
		p.in(t)
		waitFor(ctx, t, s, device.StateReady)
		// The rest of the frame that was cut comes first, as it would from a
		// board with a buffer. A print-out's rest may look like a print-out:
		// the wait after opening is what keeps it out, see its own test.
		if form != device.Print {
			_, err := p.instrument.WriteString(tail)
			require.NoError(t, err)
		}
		for i := range 1 + rng.IntN(3) {
			frame := fmt.Sprintf(format, cycle%1000, i)
			_, err := p.instrument.WriteString(frame)
			require.NoError(t, err)
			e, err := s.Next(ctx)
			require.NoError(t, err)
			require.Equal(t, device.EventReading, e.Kind, "%v %+v", e.Err, e.State)
			require.Equal(t, strings.TrimRight(frame, "\r\n"), string(e.Reading.Raw))
		}
		frame := fmt.Sprintf(format, cycle%1000, 99)
		cut := 1 + rng.IntN(len(strings.TrimRight(frame, "\r\n")))
		tail = frame[cut:]
		_, err := p.instrument.WriteString(frame[:cut])
		require.NoError(t, err)
		p.out(t)
		waitFor(ctx, t, s, device.StateLost)
	}
}

// waitFor takes events up to the state; none of them may be a reading.
func waitFor(ctx context.Context, t *testing.T, s *device.Supervisor, kind device.StateKind) {
	t.Helper()
	for {
		e, err := s.Next(ctx)
		require.NoError(t, err)
		require.Equal(t, device.EventState, e.Kind, "%s %v", device.Escape(e.Reading.Raw), e.Err)
		if e.State.Kind == kind {
			return
		}
	}
}

// openDescriptors counts this process's, where the system tells them.
func openDescriptors(t *testing.T) int {
	entries, err := os.ReadDir("/proc/self/fd")
	if os.IsNotExist(err) {
		return 0
	}
	require.NoError(t, err)
	return len(entries)
}

// TestAStreamIsTakenWholeOrCounted sends 1,000 print-outs a second: 3 s of
// them, or a minute with SEAMFIT_LONG=1.
func TestAStreamIsTakenWholeOrCounted(t *testing.T) {
	duration := 3 * time.Second
	if os.Getenv("SEAMFIT_LONG") != "" {
		duration = time.Minute
	} else if testing.Short() {
		duration = 300 * time.Millisecond
	}
	instrument, port := openPTY(t)
	src, err := device.OpenSerial(ptyConfig(port, device.Print), device.SystemOpener)
	require.NoError(t, err)
	defer src.Close()

	sent := make(chan int, 1)
	go func() { sent <- sendStream(t, instrument, duration) }()
	var got, dropped, total int
	var heap [2]uint64
	for total == 0 || got+dropped < total {
		select {
		case total = <-sent:
		default:
		}
		ctx, cancel := context.WithTimeout(context.Background(), time.Second)
		r, err := src.Next(ctx)
		cancel()
		var e *device.FrameError
		switch {
		case err == nil:
			require.Equal(t, fmt.Sprintf("%d.%03d mm", got/1000%100, got%1000), string(r.Raw), "in order")
			got++
		case asDropped(err, &e):
			dropped += e.Count
		default:
			require.ErrorIs(t, err, context.DeadlineExceeded)
		}
		if got == 500 {
			heap[0] = liveHeap()
		}
	}
	heap[1] = liveHeap()
	assert.Equal(t, total, got, "this computer keeps up with 1,000 a second")
	assert.Zero(t, dropped)
	assert.Less(t, heap[1], heap[0]+1<<20, "memory stays flat")
	t.Logf("%d frames in %v, heap %d kB after 500 and %d kB at the end", got, duration, heap[0]>>10, heap[1]>>10)
}
