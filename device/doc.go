// Package device turns bytes from calipers and scanners into readings.
//
// A Decoder takes the bytes of one wire form, however they are split, and
// gives frames: a reading with its raw bytes, or a typed error. A Source
// delivers the readings of one device; Serial is the source on a serial
// port. The simulator, recordings and the conformance suite that all sources
// pass are in the folders below this one.
//
// The package is not a judge of values: it never corrects, averages, or
// infers a unit from the size of a number, and whether a width is plausible
// is decided where birds are known. It stores nothing and logs nothing.
//
// A Decoder belongs to one goroutine. Sources are safe for one reader
// calling Next and any number of goroutines calling Close. Readings that a
// Source delivered own their bytes and may be shared freely.
package device
