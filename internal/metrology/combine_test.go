package metrology

import (
	"encoding/json"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

var inf = math.Inf(1)

// JCGM 100:2008 H.1, end gauge calibration: budget in nanometres, table H.1
// and H.1.6.
func TestEndGaugeH1(t *testing.T) {
	d, nuD, err := Combine([]Component{{5.8, 24}, {3.9, 5}, {6.7, 8}})
	require.NoError(t, err)
	assert.InDelta(t, 9.7, d, 0.05)
	assert.Equal(t, 25.0, nuD, "H.1.6 gives 25.6")

	u, nu, err := Combine([]Component{{25, 18}, {9.7, 25.6}, {2.9, 50}, {16.6, 2}})
	require.NoError(t, err)
	assert.InDelta(t, 32, u, 0.5)
	assert.Equal(t, 16.0, nu)
	// U99 = t₉₉(16)·u_c = 2.92 × 32 nm = 93 nm.
	assert.InDelta(t, 93, CoverageFactor(0.99, nu)*math.Round(u), 0.5)
}

func TestOneComponentKeepsItsDegreesOfFreedom(t *testing.T) {
	for nu := 1.0; nu < 2000; nu++ {
		for _, u := range []float64{0.1, 0.03 / math.Sqrt(3), 1e-200, 1e200} {
			got, dof, err := Combine([]Component{{u, nu}})
			require.NoError(t, err)
			require.InEpsilon(t, u, got, 1e-15)
			require.Equal(t, nu, dof)
		}
	}
}

func TestCombineSpecialCases(t *testing.T) {
	u, nu, err := Combine(nil)
	require.NoError(t, err)
	assert.Zero(t, u)
	assert.Equal(t, inf, nu)
	u, nu, err = Combine([]Component{{3, inf}, {4, inf}, {0, 0}})
	require.NoError(t, err)
	assert.Equal(t, 5.0, u)
	assert.Equal(t, inf, nu)
	for _, bad := range []Component{{-1, 3}, {1, 0}, {1, -2}, {1, math.NaN()}} {
		_, _, err = Combine([]Component{bad})
		require.ErrorIs(t, err, ErrDomain)
	}
	for _, bad := range []Component{{math.NaN(), 3}, {inf, 3}} {
		_, _, err = Combine([]Component{bad})
		require.ErrorIs(t, err, ErrNotFinite)
	}
}

// The effective degrees of freedom lie between the smallest and the sum
// (JCGM 100:2008, G.4.1 note).
func TestEffectiveDegreesOfFreedomAreBounded(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 6).Draw(t, "n")
		parts := make([]Component, n)
		least, total := inf, 0.0
		for i := range parts {
			parts[i] = Component{
				rapid.Float64Range(0.001, 5).Draw(t, "u"),
				float64(rapid.IntRange(1, 50).Draw(t, "dof")),
			}
			least = min(least, parts[i].DOF)
			total += parts[i].DOF
		}
		_, nu, err := Combine(parts)
		require.NoError(t, err)
		assert.GreaterOrEqual(t, nu, least)
		assert.LessOrEqual(t, nu, total)
		assert.Equal(t, math.Trunc(nu), nu)
	})
}

func TestRectangularAndResolution(t *testing.T) {
	// A display's step of d has variance d²/12; ±a has a²/3.
	assert.InDelta(t, 0.0028867513459481, Resolution(0.01), 1e-15)
	assert.InDelta(t, 0.0115470053837925, Rectangular(0.02), 1e-15)
	assert.Equal(t, Rectangular(0.005), Resolution(0.01))
}

func TestPooled(t *testing.T) {
	sd, nu, err := Pooled([]Component{{3, 4}, {5, 6}, {99, 0}})
	require.NoError(t, err)
	assert.InDelta(t, math.Sqrt((4*9+6*25)/10.0), sd, 1e-14)
	assert.Equal(t, 10.0, nu)
	_, _, err = Pooled([]Component{{3, 0}})
	require.ErrorIs(t, err, ErrTooFew)
	_, _, err = Pooled([]Component{{-3, 1}})
	require.ErrorIs(t, err, ErrDomain)
	_, _, err = Pooled([]Component{{3, inf}})
	require.ErrorIs(t, err, ErrNotFinite)
}

func TestInfiniteDegreesOfFreedomAreNullInJSON(t *testing.T) {
	text, err := json.Marshal([]DOF{16, Infinite(), 2.5})
	require.NoError(t, err)
	assert.JSONEq(t, `[16, null, 2.5]`, string(text))
	var back []DOF
	require.NoError(t, json.Unmarshal(text, &back))
	assert.Equal(t, []DOF{16, Infinite(), 2.5}, back)
	_, err = json.Marshal(DOF(math.NaN()))
	require.ErrorIs(t, err, ErrNotFinite)
	require.Error(t, json.Unmarshal([]byte(`"many"`), new(DOF)))
}
