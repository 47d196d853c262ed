// Package grid is a rectangle of character cells: what a screen shows, as a
// value that can be compared, printed and tested.
//
// It is not a terminal: it draws nothing, knows no keys, and reads no
// environment. Everything put into a grid is clipped to it and made
// printable, so that no byte from a port, a file or a person can steer the
// terminal that the grid is shown on.
//
// A Grid may be used by one goroutine at a time.
package grid
