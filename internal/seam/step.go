package seam

import "math"

// ride is the outline of a band whose edges overlap: a ring of outer radius r
// on which an edge of thickness t rides over the angle ±beta about the seam.
type ride struct{ r, t, beta float64 }

// newRide returns the outline of a band of flush outer diameter od whose edges
// have passed each other by delta, measured at mid-thickness: the ring below is
// shorter by delta, and the part that rides is delta long.
func newRide(od, t, delta float64) ride {
	r := od/2 - delta/(2*math.Pi)
	return ride{r: r, t: t, beta: delta / (2 * (r + t/2))}
}

// rise returns by how much the riding edge lifts one jaw of a caliper that
// stands at the angle psi (0 to π) from the seam.
func (r ride) rise(psi float64) float64 {
	off := max(0, psi-r.beta)
	if off >= math.Pi/2 {
		return 0
	}
	return max(0, (r.r+r.t)*math.Cos(off)-r.r)
}

// step returns what k widths at equal angles show of it, the first of them
// off radians beside the seam: the first less the mean of the others, and the
// largest less the smallest.
func (r ride) step(k int, off float64) (step, round float64) {
	first, rest := 0.0, 0.0
	low, high := math.Inf(1), 0.0
	for i := range k {
		psi := math.Abs(math.Remainder(off+math.Pi*float64(i)/float64(k), 2*math.Pi))
		rise := r.rise(psi) + r.rise(math.Pi-psi)
		low, high = min(low, rise), max(high, rise)
		if i == 0 {
			first = rise
		} else {
			rest += rise
		}
	}
	return first - rest/float64(k-1), high - low
}

// shows reports whether the widths show a step: the first more than t/2 over
// the mean of the others, or more than the limit out of round.
func (r ride) shows(k int, off, limit float64) bool {
	step, round := r.step(k, off)
	return step > r.t/2 || round > limit
}

// aim is how many radians beside the seam a hand is taken to place the first
// width at most: 10° (bench's own).
const aim = 10 * math.Pi / 180

// stepShows returns for which overlaps k widths show a step: those up to delta
// millimetres, when the first width goes through the seam within off radians,
// the aim or less. An edge that rides further lies under the other widths too.
// Straight through the seam an edge that has just climbed shows on every band
// with room for a leg, od > 2t.
func stepShows(od, t float64, k int, limit float64) (delta, off float64) {
	climbed := newRide(od, t, 0)
	off = bisect(0, aim, func(off float64) bool { return climbed.shows(k, off, limit) })
	// A quarter of the way round is more than any band is overlapped. Some way
	// beyond where the step vanishes it shows again, so the first end is looked
	// for.
	end := math.Pi * (od - t) / 4
	shows := func(delta float64) bool {
		r := newRide(od, t, delta)
		// Straight through it is not the best place: beside the seam the widths
		// on its two sides differ.
		return r.shows(k, 0, limit) && r.shows(k, off, limit)
	}
	const parts = 16
	for i := range parts {
		if next := end * float64(i+1) / parts; !shows(next) {
			return bisect(delta, next, shows), off
		}
		delta = end * float64(i+1) / parts
	}
	return delta, off
}

// bisect returns up to where, between low and high, is holds, if it holds at
// low and fails from some point on.
func bisect(low, high float64, is func(float64) bool) float64 {
	if is(high) {
		return high
	}
	for range 24 {
		if mid := low + (high-low)/2; is(mid) {
			low = mid
		} else {
			high = mid
		}
	}
	return low
}
