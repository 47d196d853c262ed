// Package store keeps the records of a bench in one SQLite file.
//
// What Save has returned nil for is on the disk: WAL with synchronous FULL,
// one transaction a call. Facts are append-only and a record can't be
// completed against the rules of the bench, both by triggers, so that no
// program with the file in its hands can do either by mistake. Each fact
// carries a digest over its content and its predecessor's digest, so that a
// row changed behind the triggers' back is found.
//
// The package decides nothing about birds and bands: that is bench's. A Store
// may be used by several goroutines; saves come one after another.
package store
