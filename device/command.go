package device

// Question is something that a caliper can be asked.
type Question string

// The questions.
const (
	AskReading Question = "reading" // the value it shows now
	AskBattery Question = "battery" // whether its battery is well
)

// Command returns the bytes that ask q of a device of form f, or nil where
// the form has no such command and the caliper's own button must be pressed.
func (f Form) Command(q Question) []byte {
	switch {
	case f == Plain && q == AskReading:
		return []byte("?\r")
	case f == Plain && q == AskBattery:
		return []byte("SET?\r")
	case f == Wide && q == AskReading:
		return []byte("R\r")
	default:
		return nil
	}
}

// Streams reports whether devices of the form send by themselves all the
// time, so that a steady value is taken and not every frame.
func (f Form) Streams() bool { return f == Print }
