// Package sim is a simulated caliper: it emits the bytes of a chosen wire
// form, and what it delivers has passed through the same decoder as a real
// caliper's bytes. It has no ground truth to hand over: a bench that reads it
// sees what a bench sees.
//
// It never looks at a clock or a random source of its own: the seed and the
// clock are given, and the same calls with the same seed emit the same bytes.
// A Caliper is safe for one reader calling Next and any number of goroutines
// calling the rest.
package sim
