// Package station is the bench's screen: one full-screen page on which a bird
// goes through bird, leg, size, number, seam and fate, by caliper button,
// scanner and keys.
//
// Update takes a State and an Event and answers with the next State and the
// Effects to run; View draws a State into a grid. Both are pure: times, sizes,
// identifiers and colours come in events and stand in the state. Run owns the
// one State in one goroutine, runs the effects and feeds their results back as
// events. What a person, a caliper or a scanner asks becomes a command of
// package bench; the station has no rules of its own about birds or bands.
//
// It is not the store, which it sees as a Keeper, and not the driver of a
// device, which it sees as a device.Source. Nothing is shown as saved before
// the Keeper has returned from saving it.
//
// A State is a value and may be read from any goroutine. Run is called once
// and returns when the station is closed.
package station
