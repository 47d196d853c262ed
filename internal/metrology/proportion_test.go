package metrology

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// Newcombe 1998, Statistics in Medicine 17:857–872, table I: methods 3 and 5.
func TestNewcombesIntervals(t *testing.T) {
	header, rows := table(t, "newcombe_1998_ci.csv")
	require.Equal(t, []string{"x", "n", "wilson_lo", "wilson_hi"}, header[:4])
	require.Equal(t, []string{"cp_lo", "cp_hi"}, header[6:8])
	for _, row := range rows {
		x, n := int(number(t, row[0])), int(number(t, row[1]))
		wilson, err := Wilson(x, n, 0.95)
		require.NoError(t, err)
		exact, err := ClopperPearson(x, n, 0.95)
		require.NoError(t, err)
		for cell, got := range map[string]float64{row[2]: wilson.Low, row[3]: wilson.High, row[6]: exact.Low, row[7]: exact.High} {
			assert.Equal(t, cell, fmt.Sprintf("%.4f", got), "%d of %d", x, n)
		}
	}
}

// The exact interval's ends are where the binomial tails are 2.5 %.
func TestClopperPearsonTails(t *testing.T) {
	i, err := ClopperPearson(3, 10, 0.95)
	require.NoError(t, err)
	tail := func(from, to int, p float64) float64 {
		s := 0.0
		for x := from; x <= to; x++ {
			choose := 1.0
			for k := range x {
				choose *= float64(10-k) / float64(k+1)
			}
			s += choose * math.Pow(p, float64(x)) * math.Pow(1-p, float64(10-x))
		}
		return s
	}
	assert.InDelta(t, 0.025, tail(3, 10, i.Low), 1e-9)
	assert.InDelta(t, 0.025, tail(0, 3, i.High), 1e-9)
}

func TestProportionProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 400).Draw(t, "n")
		x := rapid.IntRange(0, n).Draw(t, "x")
		level := rapid.Float64Range(0.5, 0.999).Draw(t, "level")
		for _, method := range []func(int, int, float64) (Interval, error){Wilson, ClopperPearson} {
			i, err := method(x, n, level)
			require.NoError(t, err)
			p := float64(x) / float64(n)
			assert.LessOrEqual(t, 0.0, i.Low)
			assert.LessOrEqual(t, i.Low, p+1e-12)
			assert.LessOrEqual(t, p, i.High+1e-12)
			assert.LessOrEqual(t, i.High, 1.0)
			mirror, err := method(n-x, n, level)
			require.NoError(t, err)
			assert.InDelta(t, 1-i.Low, mirror.High, 1e-9)
			assert.InDelta(t, 1-i.High, mirror.Low, 1e-9)
		}
	})
}

func TestProportionsRefuse(t *testing.T) {
	for _, c := range []struct {
		x, n  int
		level float64
	}{{0, 0, 0.95}, {-1, 5, 0.95}, {6, 5, 0.95}, {1, 5, 0}, {1, 5, 1}, {1, 5, math.NaN()}} {
		_, err := Wilson(c.x, c.n, c.level)
		require.ErrorIs(t, err, ErrDomain)
		_, err = ClopperPearson(c.x, c.n, c.level)
		require.ErrorIs(t, err, ErrDomain)
	}
}
