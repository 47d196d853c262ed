// Package devicetest holds what every device.Source must do, as one suite
// that the simulator, recordings and serial ports all pass. It is for tests
// only and keeps no state.
package devicetest

import (
	"context"
	"errors"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/device"
	"seamfit/internal/length"
)

// limit bounds every wait of the suite; a source that passes never needs it.
const limit = 10 * time.Second

// Want is a frame that a source must deliver.
type Want struct {
	Raw        string
	Value      length.Length
	Unit       length.Unit
	Resolution length.Length
	Assumed    bool
	Channel    string
	Kind       device.Kind // of the FrameError or Notice; "" is a reading
}

// Subject is a source under test. Open returns one that delivers exactly
// Wants, in order, and then nothing, or ErrGone. Each call is a new one.
type Subject struct {
	Name  string // of the device, as readings carry it
	Open  func(t testing.TB) device.Source
	Wants []Want
}

// Conformance checks s against the contract of device.Source.
func Conformance(t *testing.T, s Subject) {
	t.Run("delivers everything once and in order", s.delivers)
	t.Run("readings keep their bytes", s.keepsBytes)
	t.Run("an ended context loses nothing", s.losesNothing)
	t.Run("close releases a waiting Next", s.closeReleases)
	t.Run("close is final and may be repeated", s.closeIsFinal)
}

func (s Subject) open(t *testing.T) (device.Source, context.Context) {
	src := s.Open(t)
	ctx, cancel := context.WithTimeout(context.Background(), limit)
	t.Cleanup(func() {
		cancel()
		assert.NoError(t, src.Close())
	})
	return src, ctx
}

func (s Subject) delivers(t *testing.T) {
	src, ctx := s.open(t)
	assert.Equal(t, s.Name, src.Name())
	var before time.Time
	for i, want := range s.Wants {
		r, err := src.Next(ctx)
		Check(t, want, r, err)
		if err == nil {
			assert.Equal(t, s.Name, r.Device, "frame %d", i)
			assert.False(t, r.At.IsZero(), "frame %d has an arrival time", i)
			assert.False(t, r.At.Before(before), "frame %d arrived after the one before it", i)
			before = r.At
		}
	}
	s.nothingMore(t, src)
}

// Check compares one result of Next with what was wanted.
func Check(t testing.TB, want Want, r device.Reading, err error) {
	t.Helper()
	if want.Kind != "" {
		require.Error(t, err, "%s", want.Raw)
		assert.True(t, device.GoesOn(err), "%v", err)
		kind, raw := kindOf(err)
		assert.Equal(t, want.Kind, kind, "%v", err)
		assert.Equal(t, want.Raw, string(raw))
		return
	}
	require.NoError(t, err, "%s", want.Raw)
	assert.Equal(t, want.Raw, string(r.Raw))
	assert.Equal(t, want.Value, r.Value, "value of %s", want.Raw)
	assert.Equal(t, want.Unit, r.Unit, "unit of %s", want.Raw)
	assert.Equal(t, want.Resolution, r.Resolution, "resolution of %s", want.Raw)
	assert.Equal(t, want.Assumed, r.UnitAssumed, "unit of %s assumed", want.Raw)
	assert.Equal(t, want.Channel, r.Channel, "channel of %s", want.Raw)
}

func kindOf(err error) (device.Kind, []byte) {
	var frame *device.FrameError
	var notice *device.Notice
	switch {
	case errors.As(err, &frame):
		return frame.Kind, frame.Raw
	case errors.As(err, &notice):
		return notice.Kind, notice.Raw
	default:
		return "", nil
	}
}

// nothingMore asks once more, for a moment.
func (s Subject) nothingMore(t *testing.T, src device.Source) {
	ctx, cancel := context.WithTimeout(context.Background(), 20*time.Millisecond)
	defer cancel()
	r, err := src.Next(ctx)
	require.Error(t, err, "one reading too many: %s", device.Escape(r.Raw))
	assert.True(t, errors.Is(err, context.DeadlineExceeded) || errors.Is(err, device.ErrGone), "%v", err)
}

func (s Subject) keepsBytes(t *testing.T) {
	src, ctx := s.open(t)
	var got []string
	var kept [][]byte
	for range s.Wants {
		r, err := src.Next(ctx)
		raw := r.Raw
		if err != nil {
			_, raw = kindOf(err)
		}
		got, kept = append(got, string(raw)), append(kept, raw)
	}
	for i := range kept {
		assert.Equal(t, got[i], string(kept[i]), "frame %d was overwritten by a later one", i)
	}
}

func (s Subject) losesNothing(t *testing.T) {
	src, ctx := s.open(t)
	for _, want := range s.Wants {
		ended, cancel := context.WithCancel(context.Background())
		cancel()
		_, err := src.Next(ended)
		require.ErrorIs(t, err, context.Canceled)
		r, err := src.Next(ctx)
		Check(t, want, r, err)
	}
}

func (s Subject) closeReleases(t *testing.T) {
	src, ctx := s.open(t)
	for range s.Wants {
		_, err := src.Next(ctx)
		require.True(t, err == nil || device.GoesOn(err), "%v", err)
	}
	result := make(chan error, 1)
	go func() {
		_, err := src.Next(ctx)
		result <- err
	}()
	require.NoError(t, src.Close())
	select {
	case err := <-result:
		// A recording may have told its end before Close was called.
		assert.True(t, errors.Is(err, device.ErrClosed) || errors.Is(err, device.ErrGone), "%v", err)
	case <-ctx.Done():
		t.Fatal("Next still waits after Close")
	}
}

func (s Subject) closeIsFinal(t *testing.T) {
	src, ctx := s.open(t)
	require.NoError(t, src.Close())
	require.NoError(t, src.Close())
	for range 3 {
		_, err := src.Next(ctx)
		require.ErrorIs(t, err, device.ErrClosed)
		assert.False(t, device.GoesOn(err))
	}
	assert.Equal(t, s.Name, src.Name())
}
