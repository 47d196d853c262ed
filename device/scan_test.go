package device_test

import (
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/boombuler/barcode"
	"github.com/boombuler/barcode/code39"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"seamfit/device"
)

func scanAll(t testing.TB, opts device.ScannerOptions, pieces ...string) []device.Scan {
	d, err := device.NewScanDecoder(opts)
	require.NoError(t, err)
	var scans []device.Scan
	for _, p := range pieces {
		scans = append(scans, d.Feed([]byte(p))...)
	}
	return scans
}

func TestScansEndWithAnyOfTheUsualEnds(t *testing.T) {
	for _, end := range []string{"\r", "\n", "\r\n", "\t", "\r\r"} {
		scans := scanAll(t, device.ScannerOptions{}, "1236-56701"+end+"1236-56702"+end)
		require.Len(t, scans, 2, "%q", end)
		assert.Equal(t, "1236-56702", scans[1].Text)
		assert.NoError(t, scans[1].Err)
	}
}

func TestWhatTheScannerAddsIsTakenOffAndKept(t *testing.T) {
	opts := device.ScannerOptions{Prefix: "\x02", Suffix: "\x03", Code39Check: true, Device: "scanner"}
	scans := scanAll(t, opts, "\x02]A01236-56701"+check(t, "1236-56701")+"\x03\r\n")
	require.Len(t, scans, 1)
	require.NoError(t, scans[0].Err)
	assert.Equal(t, "1236-56701", scans[0].Text)
	assert.Equal(t, "]A0", scans[0].AIM)
	assert.Equal(t, check(t, "1236-56701"), scans[0].Check)
	assert.Equal(t, "scanner", scans[0].Device)
	assert.Equal(t, byte(2), scans[0].Raw[0])
}

func check(t testing.TB, data string) string {
	c, err := device.Code39Check(data)
	require.NoError(t, err)
	return string(c)
}

// The vectors were worked by hand from the rule; the next test holds it
// against a bar-code library.
func TestCode39CheckCharacters(t *testing.T) {
	for data, want := range map[string]string{
		"AB123456": "%", "V123456": "9", "A074576": "$", "159AZ": "H", "1234-56789": " ",
	} {
		assert.Equal(t, want, check(t, data), data)
		scans := scanAll(t, device.ScannerOptions{Code39Check: true}, data+want+"\r")
		require.Len(t, scans, 1)
		require.NoError(t, scans[0].Err, "%q: a blank at the end is not trimmed before the check", data+want)
		assert.Equal(t, data, scans[0].Text)
	}
	_, err := device.Code39Check("a")
	require.ErrorContains(t, err, "no character")
}

// A bar-code library that adds the check character itself draws the same bars
// as for our text with our character.
func TestCode39CheckCharactersAgreeWithABarCodeLibrary(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		data := rapid.StringOfN(rapid.RuneFrom([]rune("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ-. $/+%")), 1, 20, -1).Draw(t, "data")
		ours, err := device.Code39Check(data)
		require.NoError(t, err)
		with, err := code39.Encode(data, true, false)
		require.NoError(t, err)
		without, err := code39.Encode(data+string(ours), false, false)
		require.NoError(t, err)
		require.Equal(t, bars(with), bars(without), "%q", data)
	})
}

func bars(b barcode.Barcode) string {
	var line strings.Builder
	for x := range b.Bounds().Dx() {
		if r, _, _, _ := b.At(x, 0).RGBA(); r == 0 {
			line.WriteByte('#')
		} else {
			line.WriteByte('.')
		}
	}
	return line.String()
}

func TestWithoutTheSettingNothingIsTakenForACheckCharacter(t *testing.T) {
	scans := scanAll(t, device.ScannerOptions{}, "1234-56789 \r")
	require.Len(t, scans, 1)
	assert.Equal(t, "1234-56789 ", scans[0].Text, "whoever reads numbers trims")
}

func TestScansThatAreRefused(t *testing.T) {
	framed := device.ScannerOptions{Prefix: "\x02", Suffix: "\x03"}
	for _, c := range []struct {
		opts  device.ScannerOptions
		line  string
		fault device.ScanFault
	}{
		{framed, "1236-56701\x03", device.ScanPrefix},
		{framed, "\x021236-56701", device.ScanSuffix},
		{framed, "\x02\x03", device.ScanEmpty},
		{framed, "\x0212\x0236\x03", device.ScanControl},
		{device.ScannerOptions{}, "1236\x0056701", device.ScanControl},
		{device.ScannerOptions{}, "\x1b[2J", device.ScanControl},
		{device.ScannerOptions{}, "1236-5670é", device.ScanControl},
		{device.ScannerOptions{}, "]A0", device.ScanEmpty},
		{device.ScannerOptions{}, strings.Repeat("1", 500), device.ScanTooLong},
		{device.ScannerOptions{Code39Check: true}, "AB123456$", device.ScanCheck},
		{device.ScannerOptions{Code39Check: true}, "AB123456", device.ScanCheck},
		{device.ScannerOptions{Code39Check: true}, "ab123456%", device.ScanCheck},
		{device.ScannerOptions{Code39Check: true}, "0", device.ScanEmpty},
	} {
		scans := scanAll(t, c.opts, c.line+"\r", c.opts.Prefix+"1236-56701"+check(t, "1236-56701")+c.opts.Suffix+"\r")
		require.Len(t, scans, 2, "%q", c.line)
		var e *device.ScanError
		require.ErrorAs(t, scans[0].Err, &e, "%q", c.line)
		assert.Equal(t, c.fault, e.Fault, "%q", c.line)
		assert.Empty(t, scans[0].Text)
		assert.NotEmpty(t, e.Mend())
		assert.NotContains(t, e.Error(), "\x1b")
		assert.NoError(t, scans[1].Err, "the next scan is good")
	}
	_, err := device.NewScanDecoder(device.ScannerOptions{Suffix: "\r"})
	require.ErrorContains(t, err, "line end")
}

func FuzzScanDecoder(f *testing.F) {
	f.Add([]byte("]A0AB123456%\r\n\x021236-56701\x03\t"), uint64(1), true)
	f.Fuzz(func(t *testing.T, data []byte, seed uint64, check bool) {
		opts := device.ScannerOptions{Code39Check: check}
		whole := scanAll(t, opts, string(data))
		split := scanAll(t, opts, randomSplit(rand.New(rand.NewPCG(seed, 0)), string(data))...)
		require.Len(t, split, len(whole))
		for i := range whole {
			require.Equal(t, whole[i].Text, split[i].Text)
			require.Equal(t, whole[i].Err, split[i].Err)
			if whole[i].Err == nil {
				require.Regexp(t, `^[ -~]+$`, whole[i].Text)
				require.Contains(t, string(whole[i].Raw), whole[i].AIM+whole[i].Text+whole[i].Check)
			}
		}
	})
}

func TestTheCheckCharacterIsOnlyOfCode39(t *testing.T) {
	opts := device.ScannerOptions{Code39Check: true}
	for text, want := range map[string]string{
		"SF:TAKE":       "SF:TAKE",    // Code 39 has no colon
		"]C01236-56701": "1236-56701", // Code 128, by its AIM identifier
	} {
		scans := scanAll(t, opts, text+"")
		require.Len(t, scans, 1)
		require.NoError(t, scans[0].Err)
		assert.Equal(t, want, scans[0].Text)
		assert.Empty(t, scans[0].Check)
	}
	for _, text := range []string{"1236-56701", "]A01236-56701", "sf-take"} {
		scans := scanAll(t, opts, text+"")
		require.Len(t, scans, 1)
		require.Error(t, scans[0].Err, text)
	}
}
