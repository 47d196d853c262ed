//go:build shared

package catalogue

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Source: the EURING species code list, in the folder of reference data.
func TestSharedEURINGCodesAndNames(t *testing.T) {
	file, err := os.Open(filepath.Join(os.Getenv("SEAMFIT_SHARED"), "reference", "species_codes.csv"))
	require.NoError(t, err)
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	require.NoError(t, err)
	require.Greater(t, len(rows), 3_000)
	names := map[string]string{}
	for _, row := range rows[1:] {
		names[row[0]] = row[1]
	}
	checked := 0
	for _, s := range embeddedBook(t).Species {
		if s.EURING != "" {
			assert.Equal(t, names[s.EURING], s.Scientific, s.EURING)
			checked++
		}
	}
	assert.Greater(t, checked, 60)
}
