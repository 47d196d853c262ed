// Package settings holds a bench's settings, bench.toml: their defaults, how
// the file is read strictly, and how it is written with a comment at each
// value.
//
// Each value says whether it has a published source or is a "bench setting",
// that is, a choice of the bench. The package opens no files and knows
// nothing of devices: whether a wire form or a port exists is for the device
// layer to say.
//
// Settings are plain values; copies may be used freely between goroutines.
package settings
