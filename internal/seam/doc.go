// Package seam judges a closed band from measurements: how far its edges
// stand apart, whether one rides on the other, how round it is, how far the
// edges are out of line sideways, and what room it leaves the leg. It also
// says, from a bander's practice closings, whether the bench target is met.
//
// Measuring is for practice dowels, removed bands and spot checks. It is no
// way to pass a band: widths can't see every overlap, and what an eye sees
// wrong stands whatever they say. All limits are settings of the bench; the
// banding office's rules come first. Meeting the bench target is advice,
// never a licence.
//
// The package does no input or output, reads no clock and holds no state; its
// functions and values may be used from any goroutine.
package seam
