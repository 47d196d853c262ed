package sim_test

import (
	"context"
	"errors"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/device"
	"seamfit/device/sim"
	"seamfit/internal/length"
)

const width = length.Length(8_420_000)

// heard are the results of Next until nothing more waits.
type heard struct {
	readings []device.Reading
	errs     []error
	gone     bool
}

func hear(t *testing.T, c *sim.Caliper) heard {
	t.Helper()
	var h heard
	for {
		ctx, cancel := context.WithTimeout(t.Context(), 20*time.Millisecond)
		r, err := c.Next(ctx)
		cancel()
		switch {
		case err == nil:
			h.readings = append(h.readings, r)
		case device.GoesOn(err):
			h.errs = append(h.errs, err)
		default:
			h.gone = errors.Is(err, device.ErrGone)
			return h
		}
	}
}

// forEveryForm squeezes four times with a fault on the second press.
func forEveryForm(t *testing.T, fault sim.Fault, then func(t *testing.T, form device.Form, h heard)) {
	for _, form := range device.Forms() {
		t.Run(string(form), func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				c, err := sim.New(sim.Config{Seed: 5, Form: form, Script: []sim.Step{{Press: 2, Fault: fault}}})
				require.NoError(t, err)
				defer c.Close()
				for i := range 4 {
					require.NoError(t, c.Squeeze(width+length.Length(i)*length.Millimetre))
				}
				then(t, form, hear(t, c))
			})
		})
	}
}

// values returns the readings in hundredths of a millimetre.
func (h heard) values() []int {
	var v []int
	for _, r := range h.readings {
		v = append(v, int((r.Value+5000)/10_000))
	}
	return v
}

func TestSilenceLosesOnePress(t *testing.T) {
	forEveryForm(t, sim.Silence, func(t *testing.T, _ device.Form, h heard) {
		assert.Equal(t, []int{842, 1042, 1142}, h.values())
	})
}

func TestADuplicateFrameComesTwice(t *testing.T) {
	forEveryForm(t, sim.Duplicate, func(t *testing.T, _ device.Form, h heard) {
		assert.Equal(t, []int{842, 942, 942, 1042, 1142}, h.values())
	})
}

func TestAStickyDisplayShowsTheValueBefore(t *testing.T) {
	forEveryForm(t, sim.Sticky, func(t *testing.T, _ device.Form, h heard) {
		assert.Equal(t, []int{842, 842, 1042, 1142}, h.values())
	})
}

func TestASlowLinkIsLateAndInOrder(t *testing.T) {
	forEveryForm(t, sim.SlowLink, func(t *testing.T, _ device.Form, h heard) {
		assert.Equal(t, []int{842, 942, 1042, 1142}, h.values())
	})
	synctest.Test(t, func(t *testing.T) {
		c, err := sim.New(sim.Config{Form: device.Plain, Script: []sim.Step{{Press: 1, Fault: sim.SlowLink}}})
		require.NoError(t, err)
		begun := time.Now()
		require.NoError(t, c.Squeeze(width))
		_, err = c.Next(t.Context())
		require.NoError(t, err)
		assert.Equal(t, 400*time.Millisecond, time.Since(begun))
	})
}

func TestDriftGrowsByAStep(t *testing.T) {
	c, err := sim.New(sim.Config{Form: device.Plain, Script: []sim.Step{{Press: 2, For: 3, Fault: sim.Drift}}})
	require.NoError(t, err)
	for range 5 {
		require.NoError(t, c.Squeeze(width))
	}
	assert.Equal(t, []int{842, 843, 844, 845, 845}, hear(t, c).values())
}

// A noisy line may deliver a wrong number that is well formed; what must
// never happen is that it disturbs more than its neighbours.
func TestNoiseAndFlippedBitsDoNotReachFarther(t *testing.T) {
	for _, fault := range []sim.Fault{sim.Noise, sim.BitFlip} {
		forEveryForm(t, fault, func(t *testing.T, _ device.Form, h heard) {
			v := h.values()
			require.NotEmpty(t, v)
			assert.Equal(t, 842, v[0])
			assert.Equal(t, 1142, v[len(v)-1])
		})
	}
}

func TestTheWrongUnitIsToldOnlyByFormsThatNameIt(t *testing.T) {
	forEveryForm(t, sim.WrongUnit, func(t *testing.T, form device.Form, h heard) {
		require.Len(t, h.readings, 4)
		r := h.readings[1]
		if form.NamesUnit() || form == device.Nibbles {
			assert.Equal(t, length.In, r.Unit)
			assert.True(t, r.UnitChanged)
			assert.Equal(t, []int{842, 942, 1042, 1142}, h.values())
			return
		}
		assert.True(t, r.UnitAssumed)
		assert.Equal(t, "0.371", r.Value.Format(length.MM, 3), "9.42 mm in inches, taken for mm as the setting says")
	})
}

func TestAnUnplugInMidFrame(t *testing.T) {
	for _, form := range device.Forms() {
		for seed := range uint64(20) {
			c, err := sim.New(sim.Config{Seed: seed, Form: form, Script: []sim.Step{{Press: 2, Fault: sim.Unplug}}})
			require.NoError(t, err)
			require.NoError(t, c.Squeeze(width))
			require.NoError(t, c.Squeeze(width+length.Millimetre))
			require.ErrorIs(t, c.Squeeze(width), device.ErrGone)
			h := hear(t, c)
			assert.True(t, h.gone)
			// Cut between CR and LF, the second frame was whole.
			assert.Contains(t, [][]int{{842}, {842, 942}}, h.values())
			c.Replug()
			require.NoError(t, c.Squeeze(width))
			r, err := c.Next(t.Context())
			require.NoError(t, err)
			assert.Equal(t, width, r.Value, "half a frame was joined to another")
		}
	}
}

func TestALowBatteryIsToldWhenAskedAndThenAllIsSilent(t *testing.T) {
	c, err := sim.New(sim.Config{Form: device.Plain, Script: []sim.Step{{Press: 2, Fault: sim.LowBattery}}})
	require.NoError(t, err)
	ask := func() string {
		raw, err := c.Answer([]byte("SET?\r"))
		require.NoError(t, err)
		return string(raw)
	}
	assert.Equal(t, "B1\r", ask())
	for range 2 {
		require.NoError(t, c.Squeeze(width))
	}
	assert.Equal(t, "B0\r", ask())
	for range 8 {
		require.NoError(t, c.Squeeze(width))
	}
	assert.Len(t, hear(t, c).readings, 4)
	assert.Empty(t, ask())
	c.ChangeBattery()
	assert.Equal(t, "B1\r", ask())
}

func TestAnAskedCaliperAnswers(t *testing.T) {
	c, err := sim.New(sim.Config{Form: device.Plain})
	require.NoError(t, err)
	c.Hold(width)
	for _, command := range []string{"?\r", "PRI\r", "SET?\r", "what\r"} {
		require.NoError(t, c.Command([]byte(command)))
	}
	h := hear(t, c)
	assert.Equal(t, []int{842, 842}, h.values())
	require.Len(t, h.errs, 2)
	var notice *device.Notice
	require.ErrorAs(t, h.errs[0], &notice)
	assert.Equal(t, device.KindBatteryWell, notice.Kind)
	var e *device.FrameError
	require.ErrorAs(t, h.errs[1], &e)
	assert.Equal(t, device.KindCommand, e.Kind)

	stream, err := sim.New(sim.Config{Form: device.Print})
	require.NoError(t, err)
	raw, err := stream.Answer([]byte("?\r"))
	require.NoError(t, err)
	assert.Empty(t, raw)
}

func TestRatesAreSeeded(t *testing.T) {
	run := func(seed uint64) string {
		c, err := sim.New(sim.Config{
			Seed: seed, Form: device.Plain, NoiseSD: 0.03,
			Rates: map[sim.Fault]float64{sim.Noise: 0.3, sim.BitFlip: 0.3, sim.Silence: 0.2, sim.Duplicate: 0.1},
		})
		require.NoError(t, err)
		var all []byte
		for range 100 {
			raw, err := c.Press(width)
			require.NoError(t, err)
			all = append(all, raw...)
		}
		return string(all)
	}
	assert.Equal(t, run(1), run(1))
	assert.NotEqual(t, run(1), run(2))
}

func TestScripts(t *testing.T) {
	steps, err := sim.ParseScript("3 silence; 5+4 sticky\n 9 unplug;")
	require.NoError(t, err)
	assert.Equal(t, []sim.Step{
		{Press: 3, For: 1, Fault: sim.Silence}, {Press: 5, For: 4, Fault: sim.Sticky}, {Press: 9, For: 1, Fault: sim.Unplug},
	}, steps)
	for text, want := range map[string]string{
		"silence":         "write a press and a fault",
		"x silence":       "no number of a press",
		"3+y silence":     "no count",
		"0 silence":       "count from 1",
		"3 fire":          "use one of silence",
		"3 \x1bsilence":   "use one of",
		"3 silence extra": "write a press",
	} {
		_, err := sim.ParseScript(text)
		require.ErrorContains(t, err, want, text)
		assert.NotContains(t, err.Error(), "\x1b")
	}
	for _, cfg := range []sim.Config{
		{Form: device.Plain, Script: []sim.Step{{Press: 1, Fault: "fire"}}},
		{Form: device.Plain, Rates: map[sim.Fault]float64{"fire": 0.1}},
		{Form: device.Plain, Rates: map[sim.Fault]float64{sim.Noise: 2}},
		{Form: device.Plain, Channel: 10},
	} {
		_, err := sim.New(cfg)
		require.Error(t, err)
	}
}

func TestValuesThatDoNotFitAFormsField(t *testing.T) {
	for _, form := range []device.Form{device.Channel, device.Wide, device.Nibbles} {
		c, err := sim.New(sim.Config{Form: form, Resolution: length.Nanometre * 100})
		require.NoError(t, err)
		require.ErrorContains(t, c.Squeeze(9999*length.Millimetre), "coarser resolution", form)
	}
}

func TestASimulatedScanner(t *testing.T) {
	s, err := sim.NewScanner(sim.ScannerConfig{
		Options: device.ScannerOptions{Prefix: "\x02", Suffix: "\x03", Code39Check: true}, AIM: "]A0",
	})
	require.NoError(t, err)
	require.NoError(t, s.Scan("1236-56701"))
	scan, err := s.Next(t.Context())
	require.NoError(t, err)
	require.NoError(t, scan.Err)
	assert.Equal(t, "1236-56701", scan.Text)
	assert.Equal(t, s.Name(), scan.Device)
	require.Error(t, s.Scan("small"), "Code 39 has no small letters")
	require.NoError(t, s.Close())
	require.ErrorIs(t, s.Scan("1236-56701"), device.ErrClosed)
	_, err = s.Next(t.Context())
	require.ErrorIs(t, err, device.ErrClosed)
}
