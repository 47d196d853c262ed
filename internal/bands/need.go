package bands

import (
	"errors"
	"fmt"
	"math"
)

// ErrNoNeed is returned where what is expected can't be counted.
var ErrNoNeed = errors.New("no count of expected birds")

// Expected is a group of birds that are alike: how many may come, and the
// chance of each, by itself, to take a band of the size in question.
type Expected struct {
	Birds  int
	Chance float64
}

// Need is how many bands of one size may be needed: Need[k] is the
// probability that it is exactly k.
type Need []float64

// maxBirds bounds a convolution, whose time grows with the square.
const maxBirds = 20_000

// NeedOf convolves the binomial counts of the groups, which are independent of
// one another, exactly (by adding one bird after the other, as Poisson's
// binomial distribution is computed). It returns ErrNoNeed for a negative
// count, a chance outside 0 to 1, or more than 20 000 birds.
func NeedOf(groups []Expected) (Need, error) {
	need, birds := Need{1}, 0
	for _, g := range groups {
		if g.Birds < 0 || g.Chance < 0 || g.Chance > 1 || math.IsNaN(g.Chance) {
			return nil, fmt.Errorf("%d birds with chance %g: %w", g.Birds, g.Chance, ErrNoNeed)
		}
		if birds += g.Birds; birds > maxBirds {
			return nil, fmt.Errorf("more than %d birds: %w", maxBirds, ErrNoNeed)
		}
		if g.Chance == 0 {
			continue
		}
		for range g.Birds {
			need = append(need, 0)
			for k := len(need) - 1; k > 0; k-- {
				need[k] = need[k]*(1-g.Chance) + need[k-1]*g.Chance
			}
			need[0] *= 1 - g.Chance
		}
	}
	return need, nil
}

// RunsOut returns the probability that more than carried bands are needed.
func (n Need) RunsOut(carried int) float64 {
	out := 0.0
	for k := len(n) - 1; k > max(carried, -1); k-- {
		out += n[k] // the small ones first, so that none is lost
	}
	return min(out, 1)
}

// Carry returns the fewest bands with which the probability of running out is
// at most risk.
func (n Need) Carry(risk float64) int {
	for k := range n {
		if n.RunsOut(k) <= risk {
			return k
		}
	}
	return len(n) - 1
}

// Mean returns the expected number of bands.
func (n Need) Mean() float64 {
	mean := 0.0
	for k, p := range n {
		mean += float64(k) * p
	}
	return mean
}
