//go:build unix

package device_test

import (
	"errors"
	"fmt"
	"os"
	"runtime"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"seamfit/device"
)

// sendStream writes 1,000 frames a second in ticks of 5 ms, numbered, and
// returns how many it sent.
func sendStream(t *testing.T, instrument *os.File, duration time.Duration) int {
	ticks := time.NewTicker(5 * time.Millisecond)
	defer ticks.Stop()
	begun := time.Now()
	n := 0
	for range ticks.C {
		due := min(time.Since(begun), duration)
		for ; n < int(due/time.Millisecond); n++ {
			if _, err := fmt.Fprintf(instrument, "%d.%03d mm\r\n", n/1000%100, n%1000); err != nil {
				assert.NoError(t, err)
				return n
			}
		}
		if due == duration {
			return n
		}
	}
	return n
}

func asDropped(err error, e **device.FrameError) bool {
	return errors.As(err, e) && (*e).Kind == device.KindDropped
}

func liveHeap() uint64 {
	runtime.GC()
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return m.HeapAlloc
}
