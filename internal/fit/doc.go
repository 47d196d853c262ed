// Package fit goes from readings of a leg to sizes of bands: an estimate of
// the leg's width with its uncertainty, a check that the readings agree, and
// for each size of a catalogue the probabilities that it is tight, fits, is
// loose, or slips over what should keep it on.
//
// It is advice from an instrument and repeats. It knows nothing of the bird's
// health, does not overrule a banding office's list, and applies its formulas
// to round bands only.
//
// It does no input or output and holds no state; its functions and values may
// be used from any goroutine.
package fit
