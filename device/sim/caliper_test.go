package sim_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/device"
	"seamfit/device/devicetest"
	"seamfit/device/sim"
	"seamfit/internal/length"
)

func TestTheSimulatorConforms(t *testing.T) {
	for _, form := range device.Forms() {
		t.Run(string(form), func(t *testing.T) {
			widths := []length.Length{8_420_000, 8_424_000, 8_425_000, -10_000, 12_345_000}
			seen := []length.Length{8_420_000, 8_420_000, 8_430_000, -10_000, 12_350_000}
			subject := devicetest.Subject{Name: "simulated caliper"}
			subject.Open = func(t testing.TB) device.Source {
				c, err := sim.New(sim.Config{Seed: 1, Form: form, Channel: 4})
				require.NoError(t, err)
				for _, w := range widths {
					require.NoError(t, c.Squeeze(w))
				}
				return c
			}
			raws := rawFrames(t, form, widths)
			for i, value := range seen {
				subject.Wants = append(subject.Wants, devicetest.Want{
					Raw: raws[i], Value: value, Unit: length.MM, Resolution: 10_000, Assumed: assumed(form), Channel: channel(form),
				})
			}
			devicetest.Conformance(t, subject)
		})
	}
}

// rawFrames returns the bytes of each press without its line end.
func rawFrames(t *testing.T, form device.Form, widths []length.Length) []string {
	c, err := sim.New(sim.Config{Seed: 1, Form: form, Channel: 4})
	require.NoError(t, err)
	var raws []string
	for _, w := range widths {
		raw, err := c.Press(w)
		require.NoError(t, err)
		for raw[len(raw)-1] == '\r' || raw[len(raw)-1] == '\n' {
			raw = raw[:len(raw)-1]
		}
		raws = append(raws, string(raw))
	}
	return raws
}

func assumed(form device.Form) bool {
	return form == device.Plain || form == device.Channel || form == device.Typed
}

func channel(form device.Form) string {
	if form == device.Channel || form == device.Multiplexed {
		return "4"
	}
	return ""
}

func TestTheSameSeedEmitsTheSameBytes(t *testing.T) {
	press := func(seed uint64) string {
		c, err := sim.New(sim.Config{Seed: seed, Form: device.Plain, NoiseSD: 0.05})
		require.NoError(t, err)
		var all []byte
		for range 20 {
			raw, err := c.Press(8_420_000)
			require.NoError(t, err)
			all = append(all, raw...)
		}
		return string(all)
	}
	assert.Equal(t, press(7), press(7))
	assert.NotEqual(t, press(7), press(8))
}

func TestTheNoiseHasTheSpreadThatIsSet(t *testing.T) {
	c, err := sim.New(sim.Config{Seed: 3, Form: device.Plain, NoiseSD: 0.05, Resolution: length.Micrometre})
	require.NoError(t, err)
	const n = 4000
	var sum, squares float64
	for range n {
		require.NoError(t, c.Squeeze(8_420_000))
		r, err := c.Next(t.Context())
		require.NoError(t, err)
		x := r.Value.MM() - 8.42
		sum += x
		squares += x * x
	}
	sd := math.Sqrt((squares - sum*sum/n) / (n - 1))
	// Four standard errors of a mean and of an SD of normal values.
	assert.InDelta(t, 0, sum/n, 4*0.05/math.Sqrt(n))
	assert.InDelta(t, 0.05, sd, 4*0.05/math.Sqrt(2*n))
}

func TestInchesAreShownInHalfThousandths(t *testing.T) {
	c, err := sim.New(sim.Config{Form: device.Print, Unit: length.In})
	require.NoError(t, err)
	raw, err := c.Press(8_420_100)
	require.NoError(t, err)
	assert.Equal(t, "0.3315 in\r\n", string(raw))
}

func TestSettingsThatMakeNoSenseAreRefused(t *testing.T) {
	for _, cfg := range []sim.Config{
		{Form: "morse"},
		{Form: device.Plain, NoiseSD: -1},
		{Form: device.Plain, NoiseSD: math.NaN()},
		{Form: device.Plain, Resolution: -1},
	} {
		_, err := sim.New(cfg)
		require.Error(t, err)
	}
}

func TestASqueezeAfterCloseIsRefused(t *testing.T) {
	c, err := sim.New(sim.Config{Form: device.Plain})
	require.NoError(t, err)
	require.NoError(t, c.Close())
	require.ErrorIs(t, c.Squeeze(8_420_000), device.ErrClosed)
}
