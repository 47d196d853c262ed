package bench

import (
	"time"

	"seamfit/internal/length"
)

// When is what every command carries. Handling names the bird that it is
// about; empty means the active one. Entered and Typed are given for a record
// typed from paper and are otherwise At and By.
type When struct {
	At       time.Time
	Entered  time.Time
	By       string
	Typed    string
	Handling string
}

func (w When) when() When { return w }

// Command is something that a person, a caliper or a scanner asks of the
// bench. The concrete types are the structs of this file.
type Command interface{ when() When }

// OpenShift begins a shift. Shift.ID and Started come from the caller.
type OpenShift struct {
	When
	Shift Shift
}

// OpenBird begins a handling under a new identifier and makes it active.
type OpenBird struct {
	When
	ID   string
	Bird Bird
}

// DescribeBird says anew what bird it is. Once the record is complete, Why is
// required.
type DescribeBird struct {
	When
	Bird Bird
	Why  string
}

// Activate makes Handling the one that readings and keys go to.
type Activate struct{ When }

// TakeReading records one width.
type TakeReading struct {
	When
	Axis        Axis // empty: greatest
	Means       Means
	Raw         []byte
	Value       length.Length
	Unit        length.Unit
	UnitAssumed bool
	Resolution  length.Length
	Device      string
	Channel     string
	Feathers    Feathers
}

// SetAside takes a reading out of the estimate. Reading counts from 1 in the
// order of the handling's readings.
type SetAside struct {
	When
	Reading int
	Reason  string
}

// ChooseSize chooses the band's size and metal. Closure is a closure kind's
// id; empty takes the usual one. Method is MethodLegGauge with the Slot that
// fits, or empty: then the readings decide, or for want of them the species'
// setting or the reason.
type ChooseSize struct {
	When
	Size    string
	Metal   string
	Closure string
	Method  Method
	Slot    string
	Reason  string
}

// GiveNumber gives the number of the band for this bird. Without a reason it
// is a plan, and one that stands against the records is refused. With a
// reason, or once the band is on the leg, it is a fact: it is recorded, and
// what it stands against becomes disputed.
type GiveNumber struct {
	When
	Number   string
	Standing Standing
	Reason   string
}

// TellFound records a band that the bird already wears. Unread digits of the
// number are written "?". Closure is its closure kind; empty: butt-end.
type TellFound struct {
	When
	Number    string
	Scheme    string
	Condition string
	Closure   string
	Leg       Leg // empty: the handling's
	Then      Then
	Standing  Standing
}

// Look records one full working of the seam and what the look found; no
// findings means flush.
type Look struct {
	When
	Findings []string
}

// Confirm makes statements about the last closing, or reads the number back
// off the band, or both. All stands for every statement that the closure kind
// declares.
type Confirm struct {
	When
	Statements []string
	All        bool
	ReadBack   string
}

// Remove records that the band was taken off, or spoiled before it was on.
type Remove struct {
	When
	Reason string
}

// LeaveHand stops the bird's clock, at any step.
type LeaveHand struct{ When }

// StillInHand takes back that the bird left the hand: it was said by mistake.
type StillInHand struct {
	When
	Why string
}

// TellFate records how the bird left the hand. DecidedBy is who decided to
// let it go; empty: By.
type TellFate struct {
	When
	Fate      Fate
	Reason    string
	DecidedBy string
}

// TellIncident records an injury, stress, or anything else not to be lost.
type TellIncident struct {
	When
	Kind string
	Note string
}

// Resolve takes an escaped or unconfirmed bird off the open matters.
type Resolve struct {
	When
	Reason string
}

// Complete marks the record complete.
type Complete struct{ When }
