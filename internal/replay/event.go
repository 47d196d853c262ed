package replay

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"time"

	"seamfit/internal/bench"
)

// event is one line. Which fields count depends on Do; a line with caliper or
// scanner bytes needs no Do.
type event struct {
	Do string    `json:"do"`
	At time.Time `json:"at"`
	By string    `json:"by"`
	// Typed is who put the event in, where that is another than who answers
	// for it: a record from paper.
	Typed string `json:"typed"`

	Caliper *string `json:"caliper"`
	Scanner *string `json:"scanner"`

	Place string `json:"place"`
	// Trainees, Supervisors and PermitHolder are people of a shift that begins.
	Trainees     []string `json:"trainees"`
	Supervisors  []string `json:"supervisors"`
	PermitHolder string   `json:"permit_holder"`

	Role      bench.Role `json:"role"`
	Latitude  text       `json:"latitude"`
	Longitude text       `json:"longitude"`
	AccuracyM text       `json:"accuracy_m"`
	Datum     string     `json:"datum"`
	Watch     time.Time  `json:"watch"`
	Clock     time.Time  `json:"clock"`

	Bander    string `json:"bander"`
	Scribe    string `json:"scribe"`
	Permit    string `json:"permit"`
	Catalogue string `json:"catalogue"`

	Species string     `json:"species"`
	Age     string     `json:"age"`
	Sex     string     `json:"sex"`
	Leg     bench.Leg  `json:"leg"`
	Site    bench.Site `json:"site"`

	MM      text       `json:"mm"`
	Axis    bench.Axis `json:"axis"`
	Reading int        `json:"reading"`
	// Feathers counts for widths and for the caliper's bytes.
	Feathers bench.Feathers `json:"feathers"`

	Size    string `json:"size"`
	Metal   string `json:"metal"`
	Closure string `json:"closure"`

	Method bench.Method `json:"method"`
	Slot   text         `json:"slot"`

	Name       string    `json:"name"`
	Value      text      `json:"value"`
	Nest       string    `json:"nest"`
	Brood      string    `json:"brood"`
	Captured   time.Time `json:"captured"`
	ReturnedTo string    `json:"returned_to"`

	Number    string     `json:"number"`
	Scheme    string     `json:"scheme"`
	Condition string     `json:"condition"`
	Then      bench.Then `json:"then"`

	Handling   int        `json:"handling"`
	Handlings  []int      `json:"handlings"`
	Numbers    []string   `json:"numbers"`
	Slip       int64      `json:"slip"`
	Findings   []string   `json:"findings"`
	Statements statements `json:"statements"`
	ReadBack   text       `json:"read_back"`
	As         bench.Fate `json:"as"`
	DecidedBy  string     `json:"decided_by"`
	Kind       string     `json:"kind"`
	Note       string     `json:"note"`
	Reason     string     `json:"reason"`
}

// text is a string that may be written as a number: 8.42 is taken digit for
// digit, never through a float.
type text string

// UnmarshalJSON takes a string or a number.
func (t *text) UnmarshalJSON(data []byte) error {
	var s string
	if err := json.Unmarshal(data, &s); err == nil {
		*t = text(s)
		return nil
	}
	var n json.Number
	if err := json.Unmarshal(data, &n); err != nil {
		return errors.New("neither a text nor a number")
	}
	*t = text(n)
	return nil
}

// statements is a list, or "all".
type statements struct {
	all  bool
	list []string
}

// UnmarshalJSON takes a list of statements' ids, or the word "all".
func (s *statements) UnmarshalJSON(data []byte) error {
	var word string
	if err := json.Unmarshal(data, &word); err == nil {
		if word != "all" {
			return fmt.Errorf("statements are a list or \"all\", not %q", word)
		}
		s.all = true
		return nil
	}
	return json.Unmarshal(data, &s.list)
}

// parse reads one line. A field that no event has is an error: a misspelt
// reason must not pass for none.
func parse(line []byte) (event, error) {
	var e event
	d := json.NewDecoder(bytes.NewReader(line))
	d.DisallowUnknownFields()
	if err := d.Decode(&e); err != nil {
		return e, fmt.Errorf("not an event: %w", err)
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return e, errors.New("not an event: more than one value on the line")
	}
	return e, nil
}

// command returns the command of an event that is not bytes from a device.
// active is the handling that the event's "handling" counts to.
func (e event) command(when bench.When) (bench.Command, error) {
	switch e.Do {
	case "describe":
		return bench.DescribeBird{When: when, Bird: e.bird(), Why: e.Reason}, nil
	case "width":
		c, err := bench.TypedReading(when, string(e.MM), millimetres)
		c.Axis, c.Feathers = e.Axis, e.Feathers
		return c, err
	case "set_aside":
		return bench.SetAside{When: when, Reading: e.Reading, Reason: e.Reason}, nil
	case "reestimate":
		return bench.ReEstimate{When: when, Why: e.Reason}, nil
	case "size":
		return bench.ChooseSize{When: when, Size: e.Size, Metal: e.Metal, Closure: e.Closure, Method: e.Method, Slot: string(e.Slot), Reason: e.Reason}, nil
	case "number":
		return bench.GiveNumber{When: when, Number: e.Number, Reason: e.Reason}, nil
	case "found":
		return bench.TellFound{
			When: when, Number: e.Number, Scheme: e.Scheme, Condition: e.Condition, Closure: e.Closure, Leg: e.Leg, Then: e.Then,
		}, nil
	case "look":
		return bench.Look{When: when, Findings: e.Findings}, nil
	case "confirm":
		return bench.Confirm{When: when, All: e.Statements.all, Statements: e.Statements.list, ReadBack: string(e.ReadBack)}, nil
	case "supervised":
		return bench.Supervise{When: when, Findings: e.Findings}, nil
	case "remove":
		return bench.Remove{When: when, Reason: e.Reason}, nil
	case "active":
		return bench.Activate{When: when}, nil
	case "measure":
		return bench.TakeMeasure{When: when, Name: e.Name, Means: bench.MeansTyped, Raw: []byte(e.Value), Value: string(e.Value), Why: e.Reason}, nil
	case "circumstances":
		return bench.TellCircumstances{
			When: when, Nest: e.Nest, Brood: e.Brood, Captured: e.Captured, ReturnedTo: e.ReturnedTo, Why: e.Reason,
		}, nil
	default:
		return e.ofShift(when)
	}
}

// ofShift returns the command of an event about the shift that is open.
func (e event) ofShift(when bench.When) (bench.Command, error) {
	switch e.Do {
	case "person":
		return bench.TellShift{When: when, Detail: bench.Person{Name: e.Name, Role: e.Role}}, nil
	case "place":
		return bench.TellShift{When: when, Detail: bench.Point{
			Latitude: string(e.Latitude), Longitude: string(e.Longitude), AccuracyM: string(e.AccuracyM), Datum: e.Datum,
		}}, nil
	case "watch":
		clock := e.Clock
		if clock.IsZero() {
			clock = when.At
		}
		return bench.TellShift{When: when, Detail: bench.WatchCheck{Watch: e.Watch, Clock: clock}}, nil
	case "instrument":
		return bench.TellShift{When: when, Detail: bench.Instrument{What: e.Kind, Name: e.Name, Note: e.Note}}, nil
	default:
		return e.ending(when)
	}
}

func (e event) ending(when bench.When) (bench.Command, error) {
	switch e.Do {
	case "still_in_hand":
		return bench.StillInHand{When: when, Why: e.Reason}, nil
	case "left":
		return bench.LeaveHand{When: when}, nil
	case "fate":
		return bench.TellFate{When: when, Fate: e.As, Reason: e.Reason, DecidedBy: e.DecidedBy}, nil
	case "incident":
		return bench.TellIncident{When: when, Kind: e.Kind, Note: e.Note}, nil
	case "resolve":
		return bench.Resolve{When: when, Reason: e.Reason}, nil
	case "complete":
		return bench.Complete{When: when}, nil
	default:
		return nil, fmt.Errorf("no event is called %q", e.Do)
	}
}

// people returns the people of a shift that begins.
func (e event) people() bench.People {
	var people bench.People
	for _, named := range []struct {
		role  bench.Role
		names []string
	}{{bench.RoleTrainee, e.Trainees}, {bench.RoleSupervisor, e.Supervisors}, {bench.RolePermitHolder, []string{e.PermitHolder}}} {
		for _, name := range named.names {
			if name != "" {
				people = append(people, bench.Person{Name: name, Role: named.role})
			}
		}
	}
	return people
}

func (e event) bird() bench.Bird {
	return bench.Bird{Species: e.Species, Age: e.Age, Sex: e.Sex, Leg: e.Leg, Site: e.Site}
}
