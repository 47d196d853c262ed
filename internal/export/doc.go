// Package export writes the records of a bench as open files that keep their
// links: one table a file, joined by the handling's key and, within a
// handling, by the sequence of its facts.
//
// It reads through its own interface and writes files under a temporary name
// that is renamed when everything is on the disk, so that a reader never sees
// half an export. Values are those of the records; nothing is rounded.
package export
