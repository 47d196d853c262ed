package device_test

import (
	"errors"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/device"
	"seamfit/device/devicetest"
	"seamfit/internal/length"
)

func newDecoder(t testing.TB, form device.Form) *device.Decoder {
	d, err := device.NewDecoder(form, device.DecoderOptions{Unit: length.MM, Device: "caliper"})
	require.NoError(t, err)
	return d
}

// decode feeds bytes in the given pieces and keeps the frames.
func decode(d *device.Decoder, pieces ...string) []device.Frame {
	var frames []device.Frame
	for _, p := range pieces {
		for _, f := range d.Feed([]byte(p)) {
			frames = append(frames, f.Owned())
		}
	}
	return frames
}

func kindOf(f device.Frame) device.Kind {
	var frame *device.FrameError
	var notice *device.Notice
	switch {
	case errors.As(f.Err, &frame):
		return frame.Kind
	case errors.As(f.Err, &notice):
		return notice.Kind
	default:
		return ""
	}
}

func TestEveryExampleDecodesHoweverItIsSplit(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for _, ex := range devicetest.Examples() {
		for _, pieces := range [][]string{
			{ex.Bytes},
			strings.Split(ex.Bytes, ""),
			randomSplit(rng, ex.Bytes),
			randomSplit(rng, ex.Bytes),
			randomSplit(rng, ex.Bytes),
		} {
			frames := decode(newDecoder(t, ex.Form), pieces...)
			require.Len(t, frames, len(ex.Wants), "%s", ex.Form)
			for i, want := range ex.Wants {
				devicetest.Check(t, want, frames[i].Reading, frames[i].Err)
			}
		}
	}
}

func randomSplit(rng *rand.Rand, s string) []string {
	var pieces []string
	for s != "" {
		n := 1 + rng.IntN(len(s))
		pieces, s = append(pieces, s[:n]), s[n:]
	}
	return pieces
}

func TestEveryLineEndWillDo(t *testing.T) {
	for _, end := range []string{"\r", "\n", "\r\n", "\r\r\n", "\n\n"} {
		frames := decode(newDecoder(t, device.Plain), "+8.42"+end+"+8.43"+end)
		require.Len(t, frames, 2, "%q", end)
		assert.Equal(t, length.Length(8_430_000), frames[1].Value)
	}
}

func TestAnOverlongLineIsDroppedWholeAndCounted(t *testing.T) {
	d := newDecoder(t, device.Plain)
	frames := decode(d, strings.Repeat("x", 5000), "+8.42\r", "+8.43\r")
	require.Len(t, frames, 2)
	assert.Equal(t, device.KindTooLong, kindOf(frames[0]), "the frame at its end belongs to it")
	assert.LessOrEqual(t, len(frames[0].Raw), 64)
	assert.Equal(t, length.Length(8_430_000), frames[1].Value)
	assert.Equal(t, device.DecoderStats{Bytes: 5012, Readings: 1, Errors: 1, TooLong: 1}, d.Stats())
}

func TestAHalfFrameIsNeverJoinedToOneAfterALoss(t *testing.T) {
	d := newDecoder(t, device.Plain)
	require.Empty(t, decode(d, "+1"))
	assert.True(t, d.Pending())
	d.Reset()
	assert.False(t, d.Pending())
	frames := decode(d, "+2.34\r")
	require.Len(t, frames, 1)
	assert.Equal(t, length.Length(2_340_000), frames[0].Value)
}

func TestTheUnitIsNeverGuessed(t *testing.T) {
	_, err := device.NewDecoder(device.Plain, device.DecoderOptions{})
	require.ErrorContains(t, err, "set the caliper's unit")

	inch, err := device.NewDecoder(device.Plain, device.DecoderOptions{Unit: length.In})
	require.NoError(t, err)
	frames := decode(inch, "+0.3315\r")
	require.Len(t, frames, 1)
	assert.Equal(t, length.Length(8_420_100), frames[0].Value)
	assert.True(t, frames[0].UnitAssumed)
}

func TestAChangeOfUnitIsNoticed(t *testing.T) {
	d := newDecoder(t, device.Print) // the setting says mm
	frames := decode(d, "8.42 mm\r\n0.3315 in\r\n0.3320 in\r\n8.42 mm\r\n")
	require.Len(t, frames, 4)
	for i, changed := range []bool{false, true, false, true} {
		assert.Equal(t, changed, frames[i].UnitChanged, "frame %d", i)
	}
}

func TestAResolutionThatIsSetIsUsed(t *testing.T) {
	step := length.Inch / 2000 // 0.0005 in, written with steps of 0.0001
	d, err := device.NewDecoder(device.Plain, device.DecoderOptions{Unit: length.In, Resolution: step})
	require.NoError(t, err)
	frames := decode(d, "+0.3315\r")
	require.Len(t, frames, 1)
	assert.Equal(t, step, frames[0].Resolution)
}

func TestAFrameCarriesItsArrivalAndDevice(t *testing.T) {
	now := time.Date(2026, 5, 14, 9, 0, 0, 0, time.UTC)
	d, err := device.NewDecoder(device.Plain, device.DecoderOptions{
		Unit: length.MM, Device: "caliper", Clock: func() time.Time { return now },
	})
	require.NoError(t, err)
	require.Empty(t, decode(d, "+8.42"))
	now = now.Add(time.Second)
	frames := decode(d, "\r")
	require.Len(t, frames, 1)
	assert.Equal(t, now, frames[0].At, "of the last byte, not the first")
	assert.Equal(t, "caliper", frames[0].Device)
}

func TestUnknownFormsAndSettingsAreRefused(t *testing.T) {
	_, err := device.NewDecoder("morse", device.DecoderOptions{Unit: length.MM})
	require.ErrorContains(t, err, "use one of plain")
	_, err = device.NewDecoder(device.Plain, device.DecoderOptions{Unit: length.MM, Resolution: -1})
	require.ErrorContains(t, err, "negative resolution")
}

// FuzzDecoder: any bytes in any split give the same frames, nothing panics,
// and what is accepted fits the form's grammar, written here a second time as
// a regular expression.
func FuzzDecoder(f *testing.F) {
	for _, ex := range devicetest.Examples() {
		f.Add([]byte(ex.Bytes), uint64(1))
	}
	f.Add([]byte(strings.Repeat("+8.42", 40)+"\r\x00\x1b[2J\r+1e3\r"), uint64(7))
	f.Fuzz(func(t *testing.T, data []byte, seed uint64) {
		for _, form := range device.Forms() {
			whole := decode(newDecoder(t, form), string(data))
			rng := rand.New(rand.NewPCG(seed, 0))
			split := decode(newDecoder(t, form), randomSplit(rng, string(data))...)
			require.Len(t, split, len(whole))
			for i := range whole {
				sameFrame(t, whole[i], split[i])
				if whole[i].Err == nil {
					require.Regexp(t, grammar(form), string(whole[i].Raw))
				} else {
					require.NotContains(t, whole[i].Err.Error(), "\x1b")
				}
			}
		}
	})
}

func sameFrame(t *testing.T, a, b device.Frame) {
	require.Equal(t, string(a.Raw), string(b.Raw))
	require.Equal(t, kindOf(a), kindOf(b))
	require.Equal(t, a.Value, b.Value)
	require.Equal(t, a.Unit, b.Unit)
	require.Equal(t, a.Channel, b.Channel)
}

func grammar(form device.Form) string {
	switch form {
	case device.Plain:
		return `^[<=>]?[+\- ][0-9]+\.[0-9]+$|^[+\- ][0-9]+\.[0-9]+[<=>]$`
	case device.Print:
		return `^[+\-]?[0-9]+\.[0-9]+ (mm|in)$`
	case device.Channel:
		return `^0[0-9]A[+\-](?:[0-9]+\.[0-9]+)$` // 8 characters, checked in its own test
	case device.Wide:
		return `^[+\-] *[0-9]+\.[0-9]+ *(, |,| )(MM|IN)$`
	case device.Multiplexed:
		return `^[0-9] MW[+\- ][0-9]+\.[0-9]+ (mm|in)$`
	case device.Nibbles:
		return `^[Ff]{4}[08][0-9]{6}[0-5][0-7]$`
	default:
		return `^[+\-]?[0-9]+\.[0-9]+ ?(mm|MM|in|IN|inch|")?$`
	}
}
