package metrology

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// table reads a file of reference figures: its header and its rows.
func table(t testing.TB, name string) (header []string, rows [][]string) {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "..", "testdata", "reference", name))
	require.NoError(t, err)
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	all, err := r.ReadAll()
	require.NoError(t, err)
	require.Greater(t, len(all), 1, name)
	return all[0], all[1:]
}

func number(t testing.TB, s string) float64 {
	t.Helper()
	if strings.TrimSpace(s) == "inf" {
		return math.Inf(1)
	}
	v, err := strconv.ParseFloat(strings.TrimSpace(s), 64)
	require.NoError(t, err)
	return v
}

// digits returns how many leading decimal digits of got agree with want: the
// log relative error that NIST uses for its reference data sets.
func digits(got, want float64) float64 {
	switch {
	case got == want:
		return 16
	case want == 0:
		return -math.Log10(math.Abs(got))
	default:
		return min(16, -math.Log10(math.Abs(got-want)/math.Abs(want)))
	}
}

func requireDigits(t testing.TB, least float64, want, got float64, what string) {
	t.Helper()
	require.GreaterOrEqual(t, digits(got, want), least, "%s: got %.17g, want %.17g", what, got, want)
}
