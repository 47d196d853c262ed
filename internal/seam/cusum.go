package seam

import (
	"fmt"
	"math"
	"slices"
	"sort"

	"seamfit/internal/metrology"
)

// cusum is the chart of a sum S = max(0, S + W) of weights W: plus up for each
// event of the kind it looks out for, minus down for each of the other. It
// signals when S reaches h.
type cusum struct{ up, down, h float64 }

// newCUSUM returns the chart whose weights are the logarithms of the ratio of
// the two rates' likelihoods (Biau et al. 2008, Br J Surg 95:925), for an event
// that has probability q under what is to be detected and q0 under what is
// not, 0 < q0 < q < 1:
//
//	up = ln(q/q0),   down = −ln((1−q)/(1−q0))
//
// h is the smallest value of S with P(S ≥ h within n events | q0) ≤ risk, by
// the exact chain. It returns metrology.ErrDegenerate when even n events in a
// row are more probable than risk.
func newCUSUM(q0, q, risk float64, n int) (cusum, error) {
	c := cusum{up: math.Log(q / q0), down: math.Log((1 - q0) / (1 - q))}
	var values []float64
	for j := range n {
		for i := 1; i+j <= n; i++ {
			if s := c.sum(i, j); s > 0 {
				values = append(values, s)
			}
		}
	}
	slices.Sort(values)
	values = slices.CompactFunc(values, func(a, b float64) bool { return math.Abs(a-b) < equal })
	at := sort.Search(len(values), func(i int) bool {
		c.h = values[i]
		return c.reached(q0, n)[n-1] <= risk
	})
	if at == len(values) {
		return cusum{}, fmt.Errorf("no run of %d closings is as rare as %g: %w", n, risk, metrology.ErrDegenerate)
	}
	c.h = values[at]
	return c, nil
}

// equal is the difference up to which two sums are one: theirs is a rounding
// error, far below any difference of whole numbers of weights that matters.
const equal = 1e-9

// sum returns S after i events and j others since it was last 0. Computed from
// the counts, it is the same by whatever way they came.
func (c cusum) sum(i, j int) float64 { return float64(i)*c.up - float64(j)*c.down }

// count is where a chart stands: events and others since S was last 0.
type count struct{ events, others int }

// next returns where the chart goes, and whether S reaches h.
func (c cusum) next(at count, event bool) (count, bool) {
	if event {
		at.events++
		return at, c.sum(at.events, at.others) >= c.h-equal
	}
	at.others++
	if c.sum(at.events, at.others) <= equal {
		return count{}, false
	}
	return at, false
}

// reached returns for each of 1 … n closings the probability that S has
// reached h by then, when events have probability q. S is a Markov chain on
// the pairs of counts since it was last 0, so the probabilities are exact.
func (c cusum) reached(q float64, n int) []float64 {
	// now[j][i] is the probability of i events and j others.
	now, then := grid(n), grid(n)
	now[0][0] = 1
	total := make([]float64, n)
	done := 0.0
	for closing := range n {
		for j := range closing + 1 {
			low, high := c.span(j, closing)
			for i := low; i <= high; i++ {
				p := now[j][i]
				if p == 0 {
					continue
				}
				now[j][i] = 0
				if to, signal := c.next(count{i, j}, true); signal {
					done += p * q
				} else {
					then[to.others][to.events] += p * q
				}
				to, _ := c.next(count{i, j}, false)
				then[to.others][to.events] += p * (1 - q)
			}
		}
		now, then = then, now
		total[closing] = min(done, 1)
	}
	return total
}

// span returns between which numbers of events S can lie in [0, h) after j
// others, when most is the greatest number of closings since it was 0.
func (c cusum) span(j, most int) (low, high int) {
	low = max(0, int(float64(j)*c.down/c.up)-1)
	high = min(most-j, int((c.h+float64(j)*c.down)/c.up)+1)
	return low, high
}

func grid(n int) [][]float64 {
	rows := make([][]float64, n+1)
	for j := range rows {
		rows[j] = make([]float64, n+2-j)
	}
	return rows
}
