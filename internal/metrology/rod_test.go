package metrology

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/length"
)

// ASME B89.1.5, every entry of the table at both ends of its range.
func TestToleranceClasses(t *testing.T) {
	header, rows := table(t, "b89_1_5_gage_tolerances_mm.csv")
	for _, row := range rows {
		above, upTo := mm(t, row[0]), mm(t, row[1])
		for i, name := range header[2:] {
			class, err := ParseClass(name)
			require.NoError(t, err)
			want := mm(t, row[i+2])
			for _, at := range []length.Length{above + 1, upTo} {
				got, err := class.Tolerance(at)
				require.NoError(t, err)
				assert.Equal(t, want, got, "class %s at %v", name, at)
			}
		}
	}
	u, err := ClassX.U(mm(t, "6"))
	require.NoError(t, err)
	assert.InDelta(t, 0.00102/math.Sqrt(3), u, 1e-15)
	got, err := ClassZ.Tolerance(mm(t, "0.254"))
	require.NoError(t, err)
	assert.Equal(t, mm(t, "0.00254"), got)
	for _, at := range []string{"0.2", "200"} {
		_, err = ClassX.Tolerance(mm(t, at))
		require.ErrorIs(t, err, ErrDomain)
	}
	_, err = Class("Q").U(mm(t, "6"))
	require.ErrorIs(t, err, ErrDomain)
	_, err = ParseClass("A")
	require.ErrorIs(t, err, ErrDomain)
	lower, err := ParseClass(" zz ")
	require.NoError(t, err)
	assert.Equal(t, ClassZZ, lower)
}

// Steel 11.5e-6 per kelvin: a rod of 6 mm grows by 0.69 µm when 10 K warmer.
func TestTemperature(t *testing.T) {
	warm := Thermal{RodExpansion: SteelExpansion, RodTemperature: 30, ScaleExpansion: SteelExpansion, ScaleTemperature: 20, TemperatureU: 1}
	shown, u, err := warm.Reference(mm(t, "6"))
	require.NoError(t, err)
	assert.Equal(t, length.Length(6_000_690), shown)
	assert.InDelta(t, 6*11.5e-6*math.Sqrt2, u, 1e-12)

	// Rod and scale of one metal at one temperature: nothing changes.
	warm.ScaleTemperature = 30
	shown, _, err = warm.Reference(mm(t, "6"))
	require.NoError(t, err)
	assert.Equal(t, mm(t, "6"), shown)

	for _, bad := range []Thermal{
		{RodExpansion: -1, RodTemperature: 20, ScaleTemperature: 20},
		{RodTemperature: 300, ScaleTemperature: 20},
		{RodTemperature: math.NaN(), ScaleTemperature: 20},
		{RodTemperature: 20, ScaleTemperature: 20, TemperatureU: -1},
	} {
		_, _, err = bad.Reference(mm(t, "6"))
		require.ErrorIs(t, err, ErrDomain)
	}
	_, _, err = Thermal{RodTemperature: 20, ScaleTemperature: 20}.Reference(0)
	require.ErrorIs(t, err, ErrDomain)
}
