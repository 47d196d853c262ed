package device

import (
	"errors"
	"fmt"
	"time"
)

// StateKind says how a supervised link stands.
type StateKind string

// The states of a link.
const (
	StateOpening    StateKind = "opening"    // the port is being opened
	StateReady      StateKind = "ready"      // readings are taken
	StateSilent     StateKind = "silent"     // open, but nothing comes although readings are expected
	StateUnanswered StateKind = "unanswered" // a question got no answer in its time
	StateLost       StateKind = "lost"       // the port vanished; it is tried again
	StateFailed     StateKind = "failed"     // the port cannot be opened; it is tried again
	StateOther      StateKind = "other"      // another device has the port's name
)

// State is how a link stands, in words for a screen. States compare with ==.
type State struct {
	Kind  StateKind
	Fault PortFault // of StateFailed
	Port  string    // escaped
	Words string    // what is so
	Mend  string    // what a person can do; empty when nothing is amiss
}

// Well reports whether readings can come.
func (s State) Well() bool { return s.Kind == StateReady }

func stateOpening(port string) State {
	return State{Kind: StateOpening, Port: port, Words: "opening port " + port}
}

func stateReady(device, port string) State {
	return State{Kind: StateReady, Port: port, Words: fmt.Sprintf("%s ready on %s", device, port)}
}

func stateSilent(device, port string, quiet time.Duration) State {
	return State{
		Kind: StateSilent, Port: port,
		Words: fmt.Sprintf("nothing from %s for %v", device, quiet),
		Mend:  "press its button; switch it on, bring it near, change its battery: some fall silent without a warning",
	}
}

func stateUnanswered(device, port string, limit time.Duration) State {
	return State{
		Kind: StateUnanswered, Port: port,
		Words: fmt.Sprintf("%s did not answer within %v", device, limit),
		Mend:  "ask again, or press its own button; check its battery, speed and framing",
	}
}

func stateLost(device, port string) State {
	return State{
		Kind: StateLost, Port: port,
		Words: fmt.Sprintf("%s is gone from %s; trying to reach it again", device, port),
		Mend:  "plug the cable in, or switch the caliper on and bring it near; readings can be typed meanwhile",
	}
}

func stateOther(device, port string) State {
	return State{
		Kind: StateOther, Port: port,
		Words: fmt.Sprintf("%s is another device now, not %s", port, device),
		Mend:  "plug the caliper in again, or start anew with the port that it has",
	}
}

// stateFailed puts err, which OpenSerial or a listing gave, into words.
func stateFailed(port string, err error) State {
	s := State{Kind: StateFailed, Fault: PortFailed, Port: port, Words: err.Error(), Mend: "check the port in the settings"}
	var e *PortError
	if errors.As(err, &e) {
		s.Fault, s.Words, s.Mend = e.Fault, e.Error(), e.Mend()
	}
	return s
}
