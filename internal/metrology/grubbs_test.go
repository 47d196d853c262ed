package metrology

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// testdata/reference/grubbs_critical.csv, every entry.
func TestGrubbsTable(t *testing.T) {
	header, rows := table(t, "grubbs_critical.csv")
	require.Equal(t, []string{"n", "one_05", "two_05", "one_01", "two_01"}, header)
	for _, row := range rows {
		n := int(number(t, row[0]))
		for i, c := range []struct {
			significance float64
			two          bool
		}{{0.05, false}, {0.05, true}, {0.01, false}, {0.01, true}} {
			got, err := GrubbsCritical(n, c.significance, c.two)
			require.NoError(t, err)
			// One entry, 1.48125 for n = 4, lies exactly between two roundings.
			assert.InDelta(t, number(t, row[i+1]), got, 5.001e-5, "n = %d, %s", n, header[i+1])
		}
	}
}

func TestGrubbsFindsTheWildOne(t *testing.T) {
	o, err := Grubbs([]float64{8.42, 8.43, 8.41, 8.42, 8.99, 8.43, 8.42}, 0.05)
	require.NoError(t, err)
	assert.True(t, o.Outlying)
	assert.Equal(t, 4, o.Index)
	o, err = Grubbs([]float64{8.42, 8.43, 8.41}, 0.05)
	require.NoError(t, err)
	assert.False(t, o.Outlying)
}

// Of normal samples the test calls the stated share outlying.
func TestGrubbsFalseAlarms(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 8))
	const runs = 4000
	alarms := 0
	for range runs {
		xs := make([]float64, 8)
		for i := range xs {
			xs[i] = rng.NormFloat64()
		}
		o, err := Grubbs(xs, 0.05)
		require.NoError(t, err)
		if o.Outlying {
			alarms++
		}
	}
	assert.InDelta(t, 0.05, float64(alarms)/runs, 3*math.Sqrt(0.05*0.95/runs))
}

func TestGrubbsRefuses(t *testing.T) {
	_, err := Grubbs([]float64{1, 2}, 0.05)
	require.ErrorIs(t, err, ErrTooFew)
	_, err = Grubbs([]float64{1, 2, math.NaN()}, 0.05)
	require.ErrorIs(t, err, ErrNotFinite)
	_, err = Grubbs([]float64{1, 1, 1}, 0.05)
	require.ErrorIs(t, err, ErrDegenerate)
	_, err = Grubbs([]float64{1, 2, 3}, 1)
	require.ErrorIs(t, err, ErrDomain)
	_, err = GrubbsCritical(2, 0.05, true)
	require.ErrorIs(t, err, ErrTooFew)
}
