package length

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestParseIsExact(t *testing.T) {
	cases := []struct {
		text  string
		unit  Unit
		value Length
		step  Length
	}{
		{"8.42", MM, 8_420_000, 10_000},
		{"+8.42", MM, 8_420_000, 10_000},
		{"-0.01", MM, -10_000, 10_000},
		{".5", MM, 500_000, 100_000},
		{"00088.29", MM, 88_290_000, 10_000},
		{"12", MM, 12_000_000, 1_000_000},
		{"0.000001", MM, 1, 1},
		{"8.4200000", MM, 8_420_000, 1},
		{"0.3315", In, 8_420_100, 2_540},
		// One inch is 25.4 mm exactly, so the finest gauge step is exact too.
		{"0.00005", In, 1_270, 254},
		{"0.0005", In, 12_700, 2_540},
		{"1", In, 25_400_000, 25_400_000},
	}
	for _, c := range cases {
		value, step, err := Parse(c.text, c.unit)
		require.NoError(t, err, c.text)
		assert.Equal(t, c.value, value, "value of %s", c.text)
		assert.Equal(t, c.step, step, "step of %s", c.text)
	}
}

func TestParseRefuses(t *testing.T) {
	for _, text := range []string{
		"", "+", "-", ".", "8.", "8,42", " 8.42", "8.42 ", "1e3", "0x10", "1_000",
		"8.4.2", "--8", "NaN", "Inf", "\x1b[2J", "８.42",
	} {
		_, _, err := Parse(text, MM)
		require.ErrorIs(t, err, ErrSyntax, "%q", text)
	}
	_, _, err := Parse("8.4200001", MM)
	require.ErrorIs(t, err, ErrTooFine, "a digit below one nanometre is never rounded away")
	_, _, err = Parse("99999999999999999999", MM)
	require.ErrorIs(t, err, ErrRange)
	_, _, err = Parse("8.42", UnknownUnit)
	require.ErrorIs(t, err, ErrSyntax)
}

func TestPeopleTypeCommasBlanksAndUnits(t *testing.T) {
	for text, want := range map[string]Length{
		"8,42": 8_420_000, " 8.42 ": 8_420_000, "8.42mm": 8_420_000, "8,42 mm": 8_420_000,
		"0.3315 in": 8_420_100, "0.3315\"": 8_420_100, "1 inch": 25_400_000,
	} {
		got, err := ParsePerson(text, MM)
		require.NoError(t, err, text)
		assert.Equal(t, want, got.Value, text)
	}
	typed, err := ParsePerson("0,3315 in", MM)
	require.NoError(t, err)
	assert.Equal(t, Typed{Value: 8_420_100, Step: 2_540, Unit: In}, typed)
	for _, text := range []string{"1,234.5", "1,2,3", "mm", "8 42"} {
		_, err := ParsePerson(text, MM)
		require.ErrorIs(t, err, ErrSyntax, text)
	}
}

func TestFormatAsADisplayDoes(t *testing.T) {
	l := Length(8_420_100)
	assert.Equal(t, "8.42", l.Format(MM, 2))
	assert.Equal(t, "0.3315", l.Format(In, 4))
	assert.Equal(t, "0.33150", l.Format(In, 5))
	assert.Equal(t, "8", l.Format(MM, 0))
	assert.Equal(t, "0.00", Length(-4_000).Format(MM, 2), "no minus zero")
	assert.Equal(t, "-0.01", Length(-5_000).Format(MM, 2), "half away from zero")
	assert.Equal(t, "10.00", Length(9_995_000).Format(MM, 2), "carries into the whole")
	assert.Equal(t, "8.4201 mm", l.String())
	assert.Equal(t, "8.40 mm", Length(8_400_000).String())
	assert.Equal(t, "0.000001", Nanometre.Exact())
}

func TestDecimals(t *testing.T) {
	assert.Equal(t, 2, Decimals(10_000, MM))
	assert.Equal(t, 3, Decimals(Micrometre, MM))
	assert.Equal(t, 4, Decimals(12_700, In), "0.0005 in")
	assert.Equal(t, 5, Decimals(1_270, In), "0.00005 in")
	assert.Equal(t, 0, Decimals(Millimetre, MM))
}

func TestFromMM(t *testing.T) {
	got, err := FromMM(8.42)
	require.NoError(t, err)
	assert.Equal(t, Length(8_420_000), got)
	for _, bad := range []float64{math.NaN(), math.Inf(1), math.Inf(-1), 1e13, -1e13} {
		_, err := FromMM(bad)
		require.ErrorIs(t, err, ErrRange)
	}
}

func TestWhatIsWrittenIsReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := Length(rapid.Int64Range(-1<<50, 1<<50).Draw(t, "nm"))
		back, _, err := Parse(l.Exact(), MM)
		require.NoError(t, err)
		require.Equal(t, l, back)

		steps := rapid.Int64Range(-20_000, 20_000).Draw(t, "0.0005 in steps")
		shown := Length(steps * 12_700)
		back, _, err = Parse(shown.Format(In, 4), In)
		require.NoError(t, err)
		require.Equal(t, shown, back)
	})
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{"8.42", "+12.34", "-.5", "0.00005", "8,42 mm", "1e9", ""} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		for _, u := range []Unit{MM, In} {
			value, step, err := Parse(s, u)
			if err != nil {
				continue
			}
			require.Positive(t, int64(step))
			exact, _, err := Parse(value.Exact(), MM)
			require.NoError(t, err)
			require.Equal(t, value, exact)
		}
		_, _ = ParsePerson(s, MM)
	})
}
