// Package capture holds recordings of what a device sent: a text file with a
// header (the instrument in general words, its settings, the date), then one
// line per chunk of bytes:
//
//	seamfit capture 1
//	instrument: digital caliper, opto-coupled cable
//	form: plain
//	baud: 4800
//	framing: 7E2
//	unit: mm
//	date: 2026-05-14T09:00:00Z
//
//	0.000000 < "+12.34\r"
//	1.250000 > "?\r"
//
// Each chunk has its offset in seconds since the recording began, its
// direction (< from the device, > to it) and its bytes between quotes, as
// device.Escape writes them. A file is plain ASCII and safe to show.
//
// A recording is not a store of readings: it holds bytes, and decoding them
// is playback's work. The package opens no files. A Recorder is safe for
// several goroutines; a Playback as a device.Source says.
package capture
