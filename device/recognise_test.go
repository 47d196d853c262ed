package device_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"seamfit/device"
	"seamfit/device/devicetest"
	"seamfit/device/sim"
	"seamfit/internal/length"
)

func TestEveryFormIsRecognisedAmongAllSerialOnes(t *testing.T) {
	for _, ex := range devicetest.Examples() {
		if ex.Form == device.Typed {
			continue
		}
		r := device.Recognise([]byte(ex.Bytes), device.SerialForms())
		form, ok := r.Form()
		require.True(t, ok, "%s: %s", ex.Form, r)
		assert.Equal(t, ex.Form, form)
		assert.Equal(t, !ex.Form.NamesUnit() && ex.Form != device.Nibbles, r.NeedsUnit(), ex.Form)
	}
}

// fitsBoth are lines that are a frame in both forms of a pair. Pairs that are
// not here have none: no line has both an obligatory sign and none, or a
// unit and none, or different lengths.
func fitsBoth() map[[2]device.Form]string {
	return map[[2]device.Form]string{
		{device.Plain, device.Typed}: "+8.42\r",
		{device.Print, device.Typed}: "8.42 mm\r\n",
		{device.Wide, device.Typed}:  "+12.34567 MM\r\n",
	}
}

func TestNoPairOfFormsIsEverGuessedBetween(t *testing.T) {
	forms := device.Forms()
	for i, a := range forms {
		for _, b := range forms[i+1:] {
			t.Run(string(a)+" and "+string(b), func(t *testing.T) {
				pair := []device.Form{a, b}
				both, overlap := fitsBoth()[[2]device.Form{a, b}]
				if overlap {
					for n := 1; n <= 5; n++ {
						r := device.Recognise([]byte(strings.Repeat(both, n)), pair)
						assert.Equal(t, device.Undecided, r.Certainty)
						assert.Len(t, r.Candidates, 2)
						_, ok := r.Form()
						assert.False(t, ok, "guessed")
						assert.Contains(t, r.String(), "choose")
					}
				}
				rapid.Check(t, func(t *rapid.T) { agreesWithBothDecoders(t, pair, overlap) })
			})
		}
	}
}

// agreesWithBothDecoders sends what a simulated caliper of one form of the
// pair emits. The other form is a candidate exactly when it can read every
// line, and then nothing is decided; it is never the only candidate.
func agreesWithBothDecoders(t *rapid.T, pair []device.Form, overlap bool) {
	sent := rapid.SampledFrom(pair).Draw(t, "form")
	unit := rapid.SampledFrom([]length.Unit{length.MM, length.In}).Draw(t, "unit")
	caliper, err := sim.New(sim.Config{Seed: rapid.Uint64().Draw(t, "seed"), Form: sent, Unit: unit, NoiseSD: 0.05})
	require.NoError(t, err)
	var data []byte
	n := rapid.IntRange(1, 6).Draw(t, "presses")
	for range n {
		raw, err := caliper.Press(length.Length(rapid.IntRange(-100, 6000).Draw(t, "width")) * 10_000)
		require.NoError(t, err)
		data = append(data, raw...)
	}
	r := device.Recognise(data, pair)
	if form, ok := r.Form(); ok {
		require.Equal(t, sent, form)
		require.Equal(t, n >= 3, r.Certainty == device.Certain)
		return
	}
	require.Equal(t, device.Undecided, r.Certainty, "what %s sends is known: %s", sent, device.Escape(data))
	require.True(t, overlap, "%s", device.Escape(data))
}

func TestCertaintyIsStated(t *testing.T) {
	among := device.SerialForms()
	for data, want := range map[string]device.Certainty{
		"":                            device.Unknown,
		"\x00\xff\x80\r\xfe\r":        device.Unknown,
		"ERR0\rB1\r":                  device.Unknown, // words without a value prove nothing
		"+8.42\r":                     device.Likely,
		"+8.42\r+8.43\r":              device.Likely,
		"+8.42\r+8.43\r+8.44\r":       device.Certain,
		"42\r+8.42\r+8.43\r+8.44\r+8": device.Certain, // a fragment before, one after
		"+8.42\r8.43\r+8.44\r+8.45\r": device.Unknown, // one line in four is no frame
		strings.Repeat("+8.42\r", 20) + "8.43\r+8.44\r": device.Likely,
	} {
		r := device.Recognise([]byte(data), among)
		assert.Equal(t, want, r.Certainty, "%q: %s", data, r)
		assert.NotEmpty(t, r.String())
	}
}

func TestARodThatIsKnownTellsTheUnit(t *testing.T) {
	six := 6 * length.Millimetre
	readings := func(lines string) []device.Reading {
		r := device.Recognise([]byte(lines), []device.Form{device.Plain})
		require.NotEmpty(t, r.Candidates)
		return r.Candidates[0].Readings
	}
	unit, ok := device.UnitByRod(readings("+6.01\r+5.99\r"), six)
	assert.True(t, ok)
	assert.Equal(t, length.MM, unit)
	unit, ok = device.UnitByRod(readings("+0.2365\r+0.2360\r"), six)
	assert.True(t, ok)
	assert.Equal(t, length.In, unit)
	for _, lines := range []string{"+8.42\r", "+6.01\r+0.2365\r", "+0.00\r", "-6.00\r"} {
		_, ok = device.UnitByRod(readings(lines), six)
		assert.False(t, ok, "%q", lines)
	}
	_, ok = device.UnitByRod(nil, six)
	assert.False(t, ok)
	_, ok = device.UnitByRod(readings("+6.01\r"), 0)
	assert.False(t, ok)
}

func TestUsualSettingsMakeSense(t *testing.T) {
	for _, s := range device.UsualSettings() {
		_, err := device.ParseFraming(s.Framing)
		require.NoError(t, err)
		assert.Positive(t, s.Baud)
	}
	for _, form := range device.Forms() {
		assert.Contains(t, device.UsualSettings(), form.UsualSetting(), form)
	}
}

func FuzzRecognise(f *testing.F) {
	for _, ex := range devicetest.Examples() {
		f.Add([]byte(ex.Bytes))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		r := device.Recognise(data, device.Forms())
		_, one := r.Form()
		require.Equal(t, one, r.Certainty == device.Certain || r.Certainty == device.Likely)
		require.NotContains(t, r.String(), "\x1b")
	})
}
