// Package drill holds the training runs. The first is a walk-through: three
// birds with invented circumstances, what a look at each closing would see, and
// the lines of a coach that lead a newcomer through them. The others are made
// from a seed and a level, with a band of springy metal whose seam answers to
// what the trainee does.
//
// It decides nothing: the bench's rules do. What the coach says follows from
// the handling's facts alone, so it is right again after a restart, and after
// anything that the newcomer does out of order.
//
// The package is pure; its values may be read from any goroutine.
package drill
