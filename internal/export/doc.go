// Package export writes the records of a bench as open files: linked tables
// for machines (CSV, Data Package), guarded copies for spreadsheets, one row a
// bird through a user's own map of columns and codes, and the list of bands
// used up.
//
// It reads through its own interface, one row at a time, and writes under a
// temporary name that is renamed when everything is on the disk, so that a
// reader never sees half an export and a cancelled or failed one leaves
// nothing. Files for machines hold the values of the records; nothing is
// rounded. It is no import and no backup.
//
// Its functions may run at the same time as long as their records may be read
// so and their places differ.
package export
