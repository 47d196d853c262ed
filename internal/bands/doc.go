// Package bands knows the numbers on bands: how a scheme writes them, which
// number follows which, how a worn inscription is matched, and the states
// that a number can be in.
//
// The grammar of a scheme is data, a Pattern: two are embedded, and a user's
// own file in the same shape adds others. A Number is made by a pattern only,
// so it is always well formed.
//
// It is not the stock: it doesn't know which numbers were received or where
// they are, and it touches no files, clocks or logs.
//
// All values are immutable and may be shared freely between goroutines.
package bands
