package seam

import (
	"math"

	"seamfit/internal/metrology"
)

// Direction is which way a bander's closings go.
type Direction string

// The directions of a trend.
const (
	TooFew    Direction = "too few closings to tell"
	NoTrend   Direction = "no trend"
	Improving Direction = "improving"
	Worsening Direction = "worsening"
)

// Trend says whether flush closings become more frequent: Z is the trend's
// size in standard deviations, P the probability of one as large in its
// direction if the order meant nothing.
type Trend struct {
	Direction Direction
	Z, P      float64
}

// fewestForTrend is below what number of closings no trend is told (bench's
// own): with fewer, the normal distribution is too rough.
const fewestForTrend = 10

// trendOf returns the linear trend of successes x over their order number
// i = 1 … n (Cochran and Armitage's test, with the variance that the sum has
// over all orders of the same outcomes):
//
//	z = Σ(xᵢ−x̄)(i−ī) / √(Σ(xᵢ−x̄)²·Σ(i−ī)²/(n−1))
//
// With fewer than 10 closings, or all alike, z is 0.
func trendOf(outcomes []bool) Trend {
	z := trendZ(outcomes)
	t := Trend{Direction: NoTrend, Z: z, P: metrology.NormalCDF(-math.Abs(z))}
	switch {
	case len(outcomes) < fewestForTrend:
		t = Trend{Direction: TooFew, P: 0.5}
	case t.P > 0.05:
	case z > 0:
		t.Direction = Improving
	default:
		t.Direction = Worsening
	}
	return t
}

func trendZ(outcomes []bool) float64 {
	n := float64(len(outcomes))
	middle := (n + 1) / 2
	successes, product := 0.0, 0.0
	for i, success := range outcomes {
		if success {
			successes++
			product += float64(i+1) - middle
		}
	}
	sxx := successes * (n - successes) / n
	stt := n * (n*n - 1) / 12
	if !(sxx > 0) {
		return 0
	}
	return product / math.Sqrt(sxx*stt/(n-1))
}
