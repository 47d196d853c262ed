// Package replay reads events as JSON lines and works the bench with them, as
// the station does with keys, caliper and scanner: through the same decoder,
// the same domain and the same records. It has no rules of its own.
//
// A Bench is for one goroutine.
package replay
