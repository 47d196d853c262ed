package device_test

import (
	"regexp"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"seamfit/device"
	"seamfit/internal/length"
)

// number is a form of band number, for these tests.
var number = regexp.MustCompile(`^[0-9]{3,4}-[0-9]{5}$`)

type keyboard struct {
	b   *device.Bursts
	now time.Time
	out []device.Burst
}

func newKeyboard(t testing.TB, change func(*device.BurstConfig)) *keyboard {
	cfg := device.BurstConfig{
		Gap: 35 * time.Millisecond, Least: 4, IsNumber: number.MatchString,
		Typed: &device.DecoderOptions{Unit: length.MM, Device: "typing caliper"},
	}
	if change != nil {
		change(&cfg)
	}
	b, err := device.NewBursts(cfg)
	require.NoError(t, err)
	return &keyboard{b: b, now: time.Date(2026, 5, 14, 9, 0, 0, 0, time.UTC)}
}

// keys presses the keys of text one gap apart.
func (k *keyboard) keys(text string, gap time.Duration) {
	for _, r := range text {
		k.now = k.now.Add(gap)
		k.out = append(k.out, k.b.Key(device.Key{Rune: r, At: k.now})...)
	}
}

// rest lets time pass, and returns all bursts so far.
func (k *keyboard) rest() []device.Burst {
	k.now = k.now.Add(2 * time.Second)
	out := append(k.out, k.b.Tick(k.now)...)
	k.out = nil
	return out
}

const (
	fast = 5 * time.Millisecond
	slow = 120 * time.Millisecond
)

func TestAFastNumberWithAnEndIsAScan(t *testing.T) {
	for _, end := range []string{"\r", "\t", "\r\n", "\n"} {
		k := newKeyboard(t, nil)
		k.keys("1236-56701"+end, fast)
		bursts := k.rest()
		require.Len(t, bursts, 1, "%q", end)
		assert.Equal(t, device.BurstScan, bursts[0].Kind)
		assert.Equal(t, "1236-56701", bursts[0].Scan.Text)
	}
}

func TestAFastWidthIsAReadingOfATypingCaliper(t *testing.T) {
	k := newKeyboard(t, nil)
	k.keys("8.42\r8.43 mm\t", fast)
	bursts := k.rest()
	require.Len(t, bursts, 2)
	assert.Equal(t, device.BurstReading, bursts[1].Kind)
	assert.Equal(t, length.Length(8_430_000), bursts[1].Reading.Value)
	assert.Equal(t, "typing caliper", bursts[1].Reading.Device)
	assert.Equal(t, k.now.Add(-2*time.Second), bursts[1].Reading.At)

	k = newKeyboard(t, func(c *device.BurstConfig) { c.Typed = nil })
	k.keys("8.42\r", fast)
	assert.Equal(t, device.BurstRefused, k.rest()[0].Kind, "there is no such caliper")
}

func TestAPersonsKeysAreGivenBackInOrder(t *testing.T) {
	k := newKeyboard(t, nil)
	k.keys("1236-56701\r", slow)
	text := ""
	for _, b := range k.rest() {
		require.Equal(t, device.BurstKeys, b.Kind)
		for _, key := range b.Keys {
			text += string(key.Rune)
		}
	}
	assert.Equal(t, "1236-56701\r", text)

	// A short answer over a slow line arrives at once.
	k.keys("12\r", 0)
	bursts := k.rest()
	require.Len(t, bursts, 1)
	assert.Equal(t, device.BurstKeys, bursts[0].Kind)
}

func TestWhatIsFastAndFitsNothingIsRefusedWithItsKeys(t *testing.T) {
	k := newKeyboard(t, nil)
	k.keys("4006381333931\r", fast)
	bursts := k.rest()
	require.Len(t, bursts, 1)
	assert.Equal(t, device.BurstRefused, bursts[0].Kind)
	assert.Len(t, bursts[0].Keys, 14)
	assert.ErrorContains(t, bursts[0].Err, "no band number")
}

func TestAPasteIsNeverAScan(t *testing.T) {
	k := newKeyboard(t, nil)
	for _, r := range "1236-56701\r" {
		k.out = append(k.out, k.b.Key(device.Key{Rune: r, At: k.now, Pasted: true})...)
	}
	for _, b := range k.rest() {
		assert.Equal(t, device.BurstKeys, b.Kind)
	}
	k.keys("1236-56701\r", fast)
	assert.Equal(t, device.BurstScan, k.rest()[0].Kind, "the next one is")
}

func TestAPrefixDecidesAtAnySpeed(t *testing.T) {
	k := newKeyboard(t, func(c *device.BurstConfig) { c.Scanner.Prefix = "~" })
	k.keys("~1236-56701\r", slow)
	bursts := k.rest()
	require.Len(t, bursts, 1)
	assert.Equal(t, device.BurstScan, bursts[0].Kind)
	assert.Equal(t, "1236-56701", bursts[0].Scan.Text)
	k.keys("1236-56701\r", fast)
	assert.Equal(t, device.BurstRefused, k.rest()[0].Kind, "without the prefix it is none")
}

func TestANumberThatReadsAsAWidthIsNotGuessed(t *testing.T) {
	k := newKeyboard(t, func(c *device.BurstConfig) { c.IsNumber = func(string) bool { return true } })
	k.keys("8.42\r", fast)
	b := k.rest()[0]
	assert.Equal(t, device.BurstRefused, b.Kind)
	assert.ErrorContains(t, b.Err, "set a prefix")
}

func TestTheLineFeedAfterABurstIsSwallowedAndNoOther(t *testing.T) {
	k := newKeyboard(t, nil)
	k.keys("1236-56701\r\n", fast)
	require.Len(t, k.rest(), 1)
	k.keys("\n", slow)
	assert.Equal(t, device.BurstKeys, k.rest()[0].Kind)
}

func TestNoKeyIsLostOrDoubled(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		cfg := device.BurstConfig{Gap: 35 * time.Millisecond, Least: 4, IsNumber: number.MatchString}
		b, err := device.NewBursts(cfg)
		require.NoError(t, err)
		now := time.Date(2026, 5, 14, 9, 0, 0, 0, time.UTC)
		var pressed, seen []rune
		take := func(bursts []device.Burst) {
			for _, burst := range bursts {
				for _, k := range burst.Keys {
					seen = append(seen, k.Rune)
				}
			}
		}
		for range rapid.IntRange(0, 300).Draw(t, "keys") {
			now = now.Add(time.Duration(rapid.SampledFrom([]int{0, 5, 34, 36, 200}).Draw(t, "ms")) * time.Millisecond)
			r := rapid.SampledFrom([]rune("123-\r\té")).Draw(t, "key")
			pressed = append(pressed, r)
			take(b.Key(device.Key{Rune: r, At: now, Pasted: rapid.Bool().Draw(t, "pasted")}))
		}
		take(b.Tick(now.Add(time.Minute)))
		require.Equal(t, string(pressed), string(seen))
	})
}

func TestBurstSettingsThatMakeNoSense(t *testing.T) {
	for _, cfg := range []device.BurstConfig{
		{Gap: 0, Least: 4},
		{Gap: time.Minute, Least: 4},
		{Gap: time.Millisecond, Least: 1},
		{Gap: time.Millisecond, Least: 4, Scanner: device.ScannerOptions{Prefix: "\r"}},
		{Gap: time.Millisecond, Least: 4, Typed: &device.DecoderOptions{}},
	} {
		_, err := device.NewBursts(cfg)
		require.Error(t, err)
	}
}
