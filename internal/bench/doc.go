// Package bench is the domain: a shift, the handlings of birds in it, and
// what stands between a handling's record and the mark "complete".
//
// Apply takes a state and a command and answers with the next state, the
// facts to be stored, and, when the command is refused, the blockers that say
// why and how to mend it. Fold takes one stored fact into a state; Apply is
// made of it, so a state read back from its facts is the state that wrote
// them. Order inside a handling is the facts' sequence, never a clock.
//
// The package is pure: identifiers, times and what the store knows of a band
// number come inside the command; nothing here reads a clock, a file or a
// source of randomness, and nothing is saved by it. A State is a value: Apply
// and Fold never change the one they were given, so states may be read from
// several goroutines.
package bench
