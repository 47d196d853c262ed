package fit

import (
	"flag"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/catalogue"
	"seamfit/internal/length"
)

var update = flag.Bool("update", false, "rewrite the golden files")

// What a person reads for each verdict and the main warnings, 80 columns wide.
func TestGoldenTables(t *testing.T) {
	stop := func(reading string) *Leg {
		leg, _, err := Estimate(widths(t, reading, "0.01"), DefaultModel())
		require.NoError(t, err)
		return &leg
	}
	calibrated := DefaultModel()
	calibrated.Correction = line{offset: -0.012, slope: 0.0008, uLine: 0.004, dof: 12, uRods: 0.001}
	for name, c := range map[string]struct {
		readings string
		question Question
		model    Model
	}{
		"fits":       {"8.42 8.45 8.40", Question{Species: gull()}, DefaultModel()},
		"slips":      {"8.42 8.45 8.40", Question{UpperStop: stop("12.9"), LowerStop: stop("11.0")}, calibrated},
		"borderline": {"8.98 8.97 8.99", Question{Species: gull(), Sex: "female", Age: "chick"}, DefaultModel()},
		"disagree":   {"8.30 8.42 8.55", Question{History: &History{Median: 7.1, SD: 0.2, N: 31}}, DefaultModel()},
		"alike":      {"2.12 2.13 2.13", Question{}, DefaultModel()},
		"single":     {"8.42", Question{Tarsus: 11 * length.Millimetre, Metal: &catalogue.Metal{Name: "aluminium"}, Species: gull()}, DefaultModel()},
	} {
		t.Run(name, func(t *testing.T) {
			c.question.Catalogue = federal(t)
			golden(t, name, Table(fitOf(t, c.readings, c.question, c.model), c.model, 80))
		})
	}
}

// golden compares text with a file of testdata.
func golden(t *testing.T, name, got string) {
	t.Helper()
	file := filepath.Join("testdata", name+".golden")
	if *update {
		require.NoError(t, os.MkdirAll(filepath.Dir(file), 0o755))
		require.NoError(t, os.WriteFile(file, []byte(got), 0o644))
	}
	want, err := os.ReadFile(file)
	require.NoError(t, err)
	assert.Equal(t, string(want), got)
}
