package settings

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/length"
)

func TestSeamSettings(t *testing.T) {
	s, err := Load([]byte("[seam]\ngap_mm = 0.4\noffset_mm = \"0.01 in\"\n[practice]\nlapse_days = 30\n"), "b.toml")
	require.NoError(t, err)
	want := Default()
	want.Seam.Gap.Length = 400 * length.Micrometre
	want.Seam.Offset.Length = 254 * length.Micrometre
	want.Practice.LapseDays = 30
	assert.Equal(t, want, s)

	data, err := Marshal(s)
	require.NoError(t, err)
	back, err := Load(data, "b.toml")
	require.NoError(t, err)
	assert.Equal(t, s, back)
	assert.Contains(t, string(data), "gap_mm = 0.40\n")
	assert.Contains(t, string(data), "(bench setting)")
}

func TestSeamSettingsOutOfRangeAreRefused(t *testing.T) {
	for text, want := range map[string]string{
		"[seam]\ngap_mm = -0.1":                        "b.toml, line 2: seam.gap_mm: -0.10 mm is out of range; use 0 to 5.00 mm",
		"[seam]\nclearance_mm = 6":                     "line 2: seam.clearance_mm",
		"[seam]\nflush_risk = nan":                     "line 2: seam.flush_risk",
		"[seam]\nflush_risk = 0.5":                     "line 2: seam.flush_risk",
		"[seam]\ngap = 1":                              `line 2: unknown key "seam.gap"`,
		"[practice]\nskilled_failure_rate = 0.6":       "line 1: practice.unskilled_failure_rate: unskilled_failure_rate must be above skilled_failure_rate",
		"[practice]\nunskilled_failure_rate = nan":     "line 2: practice.unskilled_failure_rate",
		"[practice]\nskilled_failure_rate = 0.0":       "line 2: practice.skilled_failure_rate",
		"[practice]\n\nfalse_target_risk = 0.0":        "line 3: practice.false_target_risk",
		"[practice]\nwithin_closings = 5":              "line 2: practice.within_closings",
		"[practice]\nlapse_days = -1":                  "line 2: practice.lapse_days",
		"[practice]\nwithin_closings = 50\nrequired=1": "line 3",
	} {
		_, err := Load([]byte(text), "b.toml")
		require.Error(t, err, text)
		assert.ErrorContains(t, err, want, text)
	}
}
