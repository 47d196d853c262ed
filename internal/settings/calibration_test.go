package settings

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/length"
)

func TestATableOfLimitsReplacesTheDefaultsWhole(t *testing.T) {
	s, err := Load([]byte("[[calibration.mpe]]\nup_to_mm = 50\nlimit_mm = 0.015\n"), "b.toml")
	require.NoError(t, err)
	assert.Equal(t, []MPEStep{{Millimetres{50 * length.Millimetre}, Millimetres{15 * length.Micrometre}}}, s.Calibration.MPE)
	assert.Equal(t, Default().Calibration.ValidDays, s.Calibration.ValidDays)
}

func TestCalibrationSettingsOutOfRangeNameTheirLine(t *testing.T) {
	for text, want := range map[string]string{
		"[calibration]\nreadings_per_rod = 0":              "b.toml, line 2: calibration.readings_per_rod: 0 is out of range; use 1 to 50",
		"[calibration]\nvalid_days = -1":                   "line 2: calibration.valid_days",
		"[calibration]\nrepeatability_sd_mm = 0":           "line 2: calibration.repeatability_sd_mm",
		"[calibration]\nscale_expansion_per_k = 11.5":      "line 2: calibration.scale_expansion_per_k: 11.5 is out of range; use 0 to 1e-4; steel has 11.5e-6",
		"[calibration]\nscale_expansion_per_k = nan":       "line 2: calibration.scale_expansion_per_k",
		"[calibration]\ntemperature_u_k = -1":              "line 2: calibration.temperature_u_k",
		"[calibration]\ncheck_readings = 21":               "line 2: calibration.check_readings",
		"[calibration]\ncheck_history = 2":                 "line 2: calibration.check_history",
		"[calibration]\ncheck_limit_mm = 2":                "line 2: calibration.check_limit_mm",
		"[calibration]\nmpe = []":                          "line 2: calibration.mpe: no limit of error is given",
		"[[calibration.mpe]]\nup_to_mm = 10\nlimit_mm = 0": "line 3: calibration.mpe[0].limit_mm",
		"[[calibration.mpe]]\nlimit_mm = 0.02":             "line 1: calibration.mpe[0].up_to_mm",
		"[[calibration.mpe]]\nup_to_mm = 9\nlimit_mm = 0.02\n[[calibration.mpe]]\nup_to_mm = 9\nlimit_mm = 0.02": "line 5: calibration.mpe[1].up_to_mm: the rows do not ascend",
	} {
		_, err := Load([]byte(text), "b.toml")
		require.ErrorContains(t, err, want, text)
	}
}

// Sources: DIN 862 for the limits of a 0.01 mm digital caliper, by two
// summaries.
func TestSourcedLimitsOfError(t *testing.T) {
	assert.Equal(t, []MPEStep{
		{Millimetres{100 * length.Millimetre}, Millimetres{20 * length.Micrometre}},
		{Millimetres{300 * length.Millimetre}, Millimetres{30 * length.Micrometre}},
	}, Default().Calibration.MPE)
}
