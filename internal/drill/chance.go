package drill

import "math"

// chance returns a number from 0 up to but not including 1 that depends on
// nothing but its arguments, so that the same seed and acts always give the
// same band. It is SplitMix64 (Steele, Lea & Flood 2014), whose outputs pass
// for independent; it is not for secrets.
func chance(seed uint64, which ...uint64) float64 {
	x := seed
	for _, w := range which {
		x = mixed(x + 0x9E3779B97F4A7C15*(w+1))
	}
	return float64(mixed(x)>>11) / (1 << 53)
}

func mixed(x uint64) uint64 {
	x += 0x9E3779B97F4A7C15
	x = (x ^ x>>30) * 0xBF58476D1CE4E5B9
	x = (x ^ x>>27) * 0x94D049BB133111EB
	return x ^ x>>31
}

// normal returns a value of the standard normal distribution (Box & Muller
// 1958) in the same way.
func normal(seed uint64, which ...uint64) float64 {
	u := 1 - chance(seed, append(which, 101)...) // never 0
	v := chance(seed, append(which, 102)...)
	return math.Sqrt(-2*math.Log(u)) * math.Cos(2*math.Pi*v)
}

// pick returns one of n, 0 … n−1.
func pick(n int, seed uint64, which ...uint64) int {
	return min(int(chance(seed, which...)*float64(n)), n-1)
}
