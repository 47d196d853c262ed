package bands

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func run(t require.TestingT, p *Pattern, text string) Run {
	r, err := p.ParseRun(text)
	require.NoError(t, err, text)
	return r
}

// Source: US Geological Survey, Bird Banding Laboratory, band-number page: a
// string of 100 is 888-88801 … 888-88900, the last of a prefix is 888-00000.
func TestThePublishedStringAsARun(t *testing.T) {
	p := pattern(t, "federal")
	r, err := RunOf(parse(t, p, "888-88801"), 100)
	require.NoError(t, err)
	assert.Equal(t, "888-88801 to 888-88900", r.String())
	assert.Equal(t, run(t, p, "888-88801 to 888-88900"), r)

	end, err := RunOf(parse(t, p, "888-99901"), 100)
	require.NoError(t, err)
	assert.Equal(t, "888-00000", end.Last().String())
	assert.True(t, end.Contains(parse(t, p, "888-00000")))
	_, err = end.Next()
	require.ErrorIs(t, err, ErrSeriesEnd)
	_, err = RunOf(parse(t, p, "888-99951"), 51)
	require.ErrorIs(t, err, ErrSeriesEnd)
	require.ErrorContains(t, err, "only 50 are left")
}

func TestRangesAsPeopleTypeThem(t *testing.T) {
	p := pattern(t, "federal")
	for text, want := range map[string]string{
		"1236-56701":                   "1236-56701",
		"1236-56701..800":              "1236-56701 to 1236-56800",
		"1236-56701 .. 800":            "1236-56701 to 1236-56800",
		"1236-56701...800":             "1236-56701 to 1236-56800",
		"1236-56701…800":               "1236-56701 to 1236-56800",
		"1236-56701..00":               "1236-56701 to 1236-56800",
		"1236-56701 to 1236-56800":     "1236-56701 to 1236-56800",
		"1236-56701 TO 56800":          "1236-56701 to 1236-56800",
		"123656701 until 123656800":    "1236-56701 to 1236-56800",
		"1236-56701 100":               "1236-56701 to 1236-56800",
		"1236 56701 100":               "1236-56701 to 1236-56800",
		"1236 56701":                   "1236-56701",
		"1236-56701 1":                 "1236-56701",
		"888-99901..00000":             "888-99901 to 888-00000",
		"888-99901..000":               "888-99901 to 888-00000",
		"1236\u201356701..1236-567 05": "1236-56701 to 1236-56705",
	} {
		assert.Equal(t, want, run(t, p, text).String(), text)
	}
	for _, text := range []string{
		"", "..", "1236-56701..", "..800", "1236-56701 to 1237-56800", "1236-56800 to 1236-56701", "1236-56701 0",
		"1236-56701 -5", "1236-56701 100000", "1236-56701 99999999999999999999", "1236-56701..5670x", "888-99951 51",
		"1236-56701\x1b to 1236-56800", "1236-56701 to to 3", "100", "888-00000..1",
	} {
		_, err := p.ParseRun(text)
		require.Error(t, err, "%q", text)
		assert.NotContains(t, err.Error(), "\x1b")
	}
	general := pattern(t, "general")
	assert.Equal(t, "XA00991 to XA01010", run(t, general, "xa00991..1010").String())
	_, err := general.ParseRun("XA00991 20")
	require.ErrorContains(t, err, "can be one number, or a number and how many")
	require.ErrorContains(t, err, "XA01234 to XA01243")
}

func TestTheSizeThatAPrefixIndicates(t *testing.T) {
	ps, err := Embedded()
	require.NoError(t, err)
	federal, _ := ps.Named("federal")
	require.NoError(t, federal.CheckSize(parse(t, federal, "1236-56701"), "6"), "no digit is listed: nothing is said")

	head, _, _ := strings.Cut(own, "prefix_kind")
	const mine = "[pattern.size_digits]\n\"6\" = [\"6\", \"7A\"]\n"
	more, err := ps.With([]byte(head+
		"prefix_kind = \"digits\"\nprefix_min = 3\nprefix_max = 4\nseparator = \"-\"\nsuffix_min = 5\nsuffix_max = 5\nsize_digit = true\n"+
		"example = \"888-88801\"\nsource = \"packets\"\nmark = \"user\"\n"+mine), "own.toml")
	require.NoError(t, err)
	p, _ := more.Named("islands")
	require.NoError(t, p.CheckSize(parse(t, p, "1236-56701"), "7A"))
	require.NoError(t, p.CheckSize(parse(t, p, "1235-56701"), "5"), "a digit that is not listed")
	err = p.CheckSize(parse(t, p, "1236-56701"), "5")
	var wrong *SizeError
	require.ErrorAs(t, err, &wrong)
	require.ErrorContains(t, err, "the prefix of 1236-56701 indicates size 6 or 7A, not 5")

	for _, bad := range []Pattern{
		{SizeDigits: map[string][]string{"3": {"1B"}}},
		{SizeDigit: true, SizeDigits: map[string][]string{"33": {"1B"}}},
		{SizeDigit: true, SizeDigits: map[string][]string{"3": {}}},
		{SizeDigit: true, SizeDigits: map[string][]string{"3": {"\x1b"}}},
	} {
		require.Error(t, bad.checkSizeDigits(), "%v", bad.SizeDigits)
	}
}

func TestSlipsOfTheHand(t *testing.T) {
	assert.Equal(t, Swapped, SlipBetween("1236-56701", "1236-56710"))
	assert.Equal(t, Swapped, SlipBetween("1236-56701", "1235-66701"), "across the separator too")
	assert.Equal(t, DigitOff, SlipBetween("1236-56701", "1236-58701"))
	assert.Empty(t, SlipBetween("1236-56701", "1236-56701"))
	assert.Empty(t, SlipBetween("1236-56701", "1236-58700"))
	assert.Equal(t, Swapped, SlipBetween("A12", "1A2"))
	assert.Empty(t, Slips(""))
	// Nine digits: nine others for each, and eight pairs of which one is alike.
	assert.Len(t, Slips("1236-57701"), 9*9+7)
}

func TestRunsKeepTheirNumbers(t *testing.T) {
	for _, name := range []string{"federal", "general"} {
		p := pattern(t, name)
		rapid.Check(t, func(t *rapid.T) {
			a, b := drawRun(t, p, "a"), drawRun(t, p, "b")
			require.Equal(t, a, run(t, p, a.String()), "a run reads back")
			numbers := slices.Collect(a.All())
			require.Len(t, numbers, int(a.Count()))
			require.Equal(t, a.First(), numbers[0])
			require.Equal(t, a.Last(), numbers[len(numbers)-1])
			require.Equal(t, []Run{a}, Runs(numbers))
			again, err := NewRun(a.First(), a.Last())
			require.NoError(t, err)
			require.Equal(t, a, again)

			shared, overlap := a.Overlap(b)
			in := 0
			for n := range a.All() {
				require.True(t, a.Contains(n))
				require.Equal(t, b.Contains(n), shared.Contains(n))
				if b.Contains(n) {
					in++
				}
			}
			require.Equal(t, in > 0, overlap)
			require.EqualValues(t, in, shared.Count())
			back, _ := b.Overlap(a)
			require.Equal(t, shared, back)

			at := rapid.SampledFrom(numbers).Draw(t, "at")
			before, rest, err := a.Split(at)
			require.NoError(t, err)
			require.Equal(t, a.Count(), before.Count()+rest.Count())
			require.Equal(t, at, rest.First())
			require.False(t, before.Contains(at))
			k, err := a.First().Plus(a.Count() - 1)
			require.NoError(t, err)
			require.Equal(t, a.Last(), k)
			if next, err := a.Next(); err == nil {
				require.Equal(t, a.Count(), next.Count())
				whole, err := RunOf(a.First(), 2*a.Count())
				require.NoError(t, err)
				require.Equal(t, []Run{whole}, Runs(append(numbers, slices.Collect(next.All())...)), "the next run goes on where this one ends")
			}
		})
	}
}

func drawRun(t *rapid.T, p *Pattern, label string) Run {
	prefix := map[string]string{"federal": "888-", "general": "XA"}[p.Name]
	first := parse(t, p, prefix+rapid.SampledFrom([]string{"00001", "00000", "88801", "88850", "88899", "99990", "99999"}).Draw(t, label))
	count := rapid.Int64Range(1, 120).Draw(t, label+" count")
	r, err := RunOf(first, count)
	if err != nil {
		require.ErrorIs(t, err, ErrSeriesEnd)
		r, err = RunOf(first, 1)
		require.NoError(t, err)
	}
	return r
}

func FuzzParseRun(f *testing.F) {
	for _, s := range []string{"888-88801..00", "1236-56701 to 56800", "1236-56701 100", "XA1…9", "", "\x1b to \x1b"} {
		f.Add(s)
	}
	ps, err := Embedded()
	require.NoError(f, err)
	f.Fuzz(func(t *testing.T, text string) {
		for _, name := range ps.Names() {
			p, _ := ps.Named(name)
			r, err := p.ParseRun(text)
			if err != nil {
				continue
			}
			require.Positive(t, r.Count())
			require.Equal(t, r, run(t, p, r.String()))
		}
	})
}

// A short end that is less than the beginning is a slip of the key; only zeros, with
// which a string ends, go on to the next ones.
func TestAShortEndBeforeTheBeginningIsRefused(t *testing.T) {
	p := pattern(t, "federal")
	_, err := p.ParseRun("1236-56801..700")
	require.ErrorContains(t, err, "ends before the run begins; write the first and the last, like")
	r, err := p.ParseRun("1236-56801..00")
	require.NoError(t, err)
	assert.Equal(t, int64(100), r.Count())
}
