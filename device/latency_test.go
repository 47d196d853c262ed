//go:build unix

package device_test

import (
	"os"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"go.bug.st/serial"

	"seamfit/device"
)

// BenchmarkPseudoTerminal measures from the write of a frame's last byte to
// its reading in the hands of the caller of Next, and beside it a bare read
// of the same byte on the same pseudo-terminal, in turns: what differs is
// decoding and one hand-over between goroutines.
func BenchmarkPseudoTerminal(b *testing.B) {
	instrument, name := openPTY(b)
	var bare, whole []time.Duration
	for b.Loop() {
		bare = append(bare, bareReads(b, instrument, name, 20)...)
		whole = append(whole, wholeReadings(b, instrument, name, 20)...)
	}
	median := func(d []time.Duration) float64 {
		slices.Sort(d)
		return float64(d[len(d)/2]) / float64(time.Microsecond)
	}
	b.ReportMetric(median(bare), "bare-p50-µs")
	b.ReportMetric(median(whole), "reading-p50-µs")
	b.ReportMetric(median(whole)-median(bare), "cost-p50-µs")
	b.ReportMetric(0, "ns/op")
}

// bareReads blocks in the library's Read when the byte comes.
func bareReads(b *testing.B, instrument *os.File, name string, n int) []time.Duration {
	port, err := serial.Open(name, &serial.Mode{BaudRate: 9600})
	require.NoError(b, err)
	defer port.Close()
	times := make([]time.Duration, 0, n)
	arrived := make(chan time.Time)
	go func() {
		defer close(arrived)
		buf := make([]byte, 64)
		for range n {
			if _, err := port.Read(buf); err != nil {
				return
			}
			arrived <- time.Now()
		}
	}()
	for range n {
		rest(b)
		begun := time.Now()
		_, err := instrument.WriteString("\r")
		require.NoError(b, err)
		times = append(times, (<-arrived).Sub(begun))
	}
	return times
}

func wholeReadings(b *testing.B, instrument *os.File, name string, n int) []time.Duration {
	src, err := device.OpenSerial(ptyConfig(name, device.Plain), device.SystemOpener)
	require.NoError(b, err)
	defer src.Close()
	times := make([]time.Duration, 0, n)
	arrived := make(chan time.Time)
	go func() {
		defer close(arrived)
		for range n {
			if _, err := src.Next(b.Context()); err != nil {
				return
			}
			arrived <- time.Now()
		}
	}()
	for range n {
		_, err := instrument.WriteString("+8.42")
		require.NoError(b, err)
		rest(b)
		begun := time.Now()
		_, err = instrument.WriteString("\r")
		require.NoError(b, err)
		times = append(times, (<-arrived).Sub(begun))
	}
	return times
}

// rest lets the reader come to its read again.
func rest(b *testing.B) {
	timer := time.NewTimer(2 * time.Millisecond)
	defer timer.Stop()
	select {
	case <-timer.C:
	case <-b.Context().Done():
	}
}
