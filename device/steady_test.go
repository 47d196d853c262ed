package device_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"seamfit/device"
	"seamfit/internal/length"
)

// stream feeds values in hundredths of a millimetre, 100 ms apart.
type stream struct {
	steady *device.Steady
	now    time.Time
}

func newStream(t testing.TB) *stream {
	s, err := device.NewSteady(device.DefaultSteady())
	require.NoError(t, err)
	return &stream{steady: s, now: time.Date(2026, 5, 14, 9, 0, 0, 0, time.UTC)}
}

// see returns the values that were captured.
func (s *stream) see(hundredths ...int) []int {
	var captured []int
	for _, h := range hundredths {
		s.now = s.now.Add(100 * time.Millisecond)
		r := device.Reading{Value: length.Length(h) * 10_000, Resolution: 10_000, At: s.now}
		if s.steady.See(r) {
			captured = append(captured, h)
		}
	}
	return captured
}

func repeat(h, n int) []int {
	values := make([]int, n)
	for i := range values {
		values[i] = h
	}
	return values
}

func TestASteadyValueIsCapturedOnce(t *testing.T) {
	s := newStream(t)
	assert.Empty(t, s.see(1500, 1200, 1000, 900, 850), "closing jaws")
	assert.Empty(t, s.see(repeat(842, 6)...), "half a second")
	assert.Equal(t, []int{842}, s.see(842), "600 ms and 7 samples")
	assert.Empty(t, s.see(repeat(842, 500)...), "and never again while the jaws rest")
	assert.Equal(t, device.SteadyTaken, s.steady.Phase())
}

func TestTheLastDigitMayFlicker(t *testing.T) {
	s := newStream(t)
	assert.Equal(t, []int{842}, s.see(842, 843, 842, 843, 843, 842, 842))
	s = newStream(t)
	assert.Empty(t, s.see(842, 843, 844, 843, 842, 843, 844, 842), "two steps are movement")
}

func TestItIsArmedAgainWhenTheJawsMove(t *testing.T) {
	s := newStream(t)
	require.Equal(t, []int{842}, s.see(repeat(842, 7)...))
	assert.Empty(t, s.see(repeat(850, 20)...), "0.08 mm is no new measurement")
	assert.Empty(t, s.see(1500))
	assert.Equal(t, device.SteadyMoving, s.steady.Phase())
	assert.Equal(t, []int{842}, s.see(repeat(842, 7)...), "the same value, measured again")
}

func TestSetAsideMeansAgain(t *testing.T) {
	s := newStream(t)
	require.Equal(t, []int{842}, s.see(repeat(842, 7)...))
	s.steady.Rearm()
	assert.Equal(t, []int{842}, s.see(repeat(842, 7)...))
}

func TestClosedJawsAreNoReading(t *testing.T) {
	s := newStream(t)
	assert.Empty(t, s.see(repeat(0, 100)...))
	assert.Empty(t, s.see(repeat(-2, 100)...))
}

func TestALostLinkNeitherBridgesNorRepeatsAReading(t *testing.T) {
	s := newStream(t)
	s.see(repeat(842, 6)...)
	s.steady.Lose()
	assert.Empty(t, s.see(842), "the time before the loss does not count")
	assert.Equal(t, []int{842}, s.see(repeat(842, 6)...))
	s.steady.Lose()
	assert.Empty(t, s.see(repeat(842, 50)...), "the same jaws after the loss are no new reading")
}

func TestAGapOrAClockSetBackBeginsAnew(t *testing.T) {
	s := newStream(t)
	s.see(repeat(842, 6)...)
	s.now = s.now.Add(2 * time.Second)
	assert.Empty(t, s.see(842))
	s.now = s.now.Add(-time.Hour)
	assert.Empty(t, s.see(repeat(842, 6)...))
	assert.Equal(t, []int{842}, s.see(842))
}

func TestBetweenTwoCapturesTheJawsHaveMoved(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, err := device.NewSteady(device.DefaultSteady())
		require.NoError(t, err)
		now := time.Date(2026, 5, 14, 9, 0, 0, 0, time.UTC)
		var last, farthest length.Length
		captures := 0
		for range rapid.IntRange(0, 200).Draw(t, "samples") {
			now = now.Add(time.Duration(rapid.IntRange(50, 400).Draw(t, "ms")) * time.Millisecond)
			v := length.Length(rapid.SampledFrom([]int{842, 842, 842, 843, 860, 1200, 0}).Draw(t, "value")) * 10_000
			farthest = max(farthest, (v - last).Abs())
			if s.See(device.Reading{Value: v, Resolution: 10_000, At: now}) {
				require.GreaterOrEqual(t, v, device.DefaultSteady().Least)
				if captures > 0 {
					require.GreaterOrEqual(t, farthest, device.DefaultSteady().Rearm)
				}
				captures++
				last, farthest = v, 0
			}
		}
	})
}

func TestSteadySettingsThatMakeNoSense(t *testing.T) {
	for _, change := range []func(*device.SteadyConfig){
		func(c *device.SteadyConfig) { c.Samples = 1 },
		func(c *device.SteadyConfig) { c.For = 0 },
		func(c *device.SteadyConfig) { c.Gap = -1 },
		func(c *device.SteadyConfig) { c.Rearm = 0 },
		func(c *device.SteadyConfig) { c.Least = -1 },
	} {
		cfg := device.DefaultSteady()
		change(&cfg)
		_, err := device.NewSteady(cfg)
		require.Error(t, err)
	}
}

func TestEachChannelOfAStreamIsSteadyForItself(t *testing.T) {
	s, err := device.NewSteadyChannels(device.DefaultSteady())
	require.NoError(t, err)
	at := time.Date(2026, 5, 17, 6, 0, 0, 0, time.UTC)
	see := func(n int) (one, two int) {
		for range n {
			at = at.Add(100 * time.Millisecond)
			if s.See(device.Reading{Value: 8_420_000, Resolution: 10_000, Channel: "1", At: at}) {
				one++
			}
			// The other jaws move all the time.
			if s.See(device.Reading{Value: length.Length(at.UnixMilli()) * 1000, Resolution: 10_000, Channel: "2", At: at}) {
				two++
			}
		}
		return one, two
	}
	one, two := see(20)
	assert.Equal(t, 1, one)
	assert.Zero(t, two)
	s.Rearm()
	one, _ = see(20)
	assert.Equal(t, 1, one)
	s.Lose()
	one, _ = see(20)
	assert.Zero(t, one, "the same jaws on the same leg")
	_, err = device.NewSteadyChannels(device.SteadyConfig{})
	require.Error(t, err)
}
