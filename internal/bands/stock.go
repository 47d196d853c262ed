package bands

import (
	"fmt"
	"slices"
	"strings"
)

// EventKind is something that happens to numbers of the stock. What happens to
// them at the bench is told by the handlings.
type EventKind string

// The events. Passed: from one holder to another. Found: turned up after it
// was lost, and still not used. Measured and counted say nothing of where a
// number is.
const (
	EventRejected  EventKind = "rejected"
	EventOpened    EventKind = "opened"
	EventPassed    EventKind = "passed"
	EventLost      EventKind = "lost"
	EventFound     EventKind = "found"
	EventReturned  EventKind = "returned"
	EventDestroyed EventKind = "destroyed"
	EventMeasured  EventKind = "measured"
	EventCounted   EventKind = "counted"
)

// EventError says why an event can't have happened to a number.
type EventError struct {
	Number string
	Kind   EventKind
	State  State // where the number is; empty: not in the stock
	Mend   string
	Meant  string // a number of the stock that is one slip away; empty: none
}

// Error returns "what went wrong; how to mend it".
func (e *EventError) Error() string {
	if e.State == "" && e.Meant != "" {
		return fmt.Sprintf("%s is in no string that was received; is it %s (%s)? read the number again", e.Number, e.Meant, SlipBetween(e.Number, e.Meant))
	}
	if e.State == "" {
		return fmt.Sprintf("%s is in no string that was received; %s", e.Number, e.Mend)
	}
	return fmt.Sprintf("%s can't be %s: it is %s; %s", e.Number, e.Kind, e.State, e.Mend)
}

// After returns the state in which an event leaves a number that is in state
// now: now itself for an event that says nothing of it. It returns an
// *EventError when the event can't happen to it there: what is on a bird is
// told by its handling, and nothing brings back what is destroyed or returned.
func (k EventKind) After(number string, now State) (State, error) {
	to, from := k.ends()
	if now == "" {
		return "", &EventError{Number: number, Kind: k, Mend: "receive its string first, or read the number again"}
	}
	if to == "" && from == nil {
		return now, nil
	}
	if !slices.Contains(from, now) {
		return "", &EventError{Number: number, Kind: k, State: now, Mend: mendFor(k, now)}
	}
	if to == "" {
		return now, nil
	}
	return to, nil
}

// ends returns where an event leaves a number and where it can happen; no
// state where it leaves it as it is, and none at all where it always can.
func (k EventKind) ends() (to State, from []State) {
	switch k {
	case EventRejected:
		return Rejected, []State{InStock, Opened}
	case EventOpened:
		return Opened, []State{InStock}
	case EventPassed:
		return Opened, []State{Opened}
	case EventLost:
		return Lost, []State{InStock, Opened, Rejected}
	case EventFound:
		return "", []State{Lost}
	case EventReturned:
		return Returned, []State{InStock, Opened, Rejected, Lost}
	case EventDestroyed:
		return Destroyed, []State{InStock, Opened, Rejected, Lost}
	default:
		return "", nil
	}
}

func mendFor(k EventKind, now State) string {
	switch {
	case now == OnBird:
		return "tell it in the record of its bird"
	case k == EventFound:
		return "only what was told as lost is found"
	case now == Destroyed || now == Returned:
		return "read the number again: what is gone stays gone"
	case now == Rejected && k == EventOpened:
		return "leave it out: open the numbers before it, and those after it"
	case now == Lost:
		return "a band that was lost is not used: tell it as found, and then as destroyed or returned"
	default:
		return "read the number again"
	}
}

// Doubt is a number whose account is open to question, and why.
type Doubt struct {
	Number string `json:"number"`
	Why    string `json:"why"`
}

// StringCount is the account of one string: how many of its numbers are in
// each state, which add up to those received.
type StringCount struct {
	First     string   `json:"first"`
	Last      string   `json:"last"`
	Size      string   `json:"size"`
	Metal     string   `json:"metal"`
	Received  int      `json:"received"`
	InStock   int      `json:"in_stock"`
	Opened    int      `json:"opened"`
	OnBird    int      `json:"on_bird"`
	Destroyed int      `json:"destroyed"`
	Lost      int      `json:"lost"`
	Rejected  int      `json:"rejected"`
	Returned  int      `json:"returned"`
	Doubtful  []string `json:"doubtful"`
}

// Add counts one number in its state. A state that there is not is counted
// nowhere, so that the string does not add up.
func (c *StringCount) Add(s State) {
	switch s {
	case InStock:
		c.InStock++
	case Opened:
		c.Opened++
	case OnBird:
		c.OnBird++
	case Destroyed:
		c.Destroyed++
	case Lost:
		c.Lost++
	case Rejected:
		c.Rejected++
	case Returned:
		c.Returned++
	}
}

// AddsUp reports whether the states together are what was received.
func (c *StringCount) AddsUp() bool {
	return c.InStock+c.Opened+c.OnBird+c.Destroyed+c.Lost+c.Rejected+c.Returned == c.Received
}

// Doubt notes a doubtful number, once.
func (c *StringCount) Doubt(number string) {
	if !slices.Contains(c.Doubtful, number) {
		c.Doubtful = append(c.Doubtful, number)
	}
}

// Holder cleans the name of a person to whom bands are issued: blanks around
// and inside it are made one.
func Holder(name string) string { return strings.Join(strings.Fields(name), " ") }
