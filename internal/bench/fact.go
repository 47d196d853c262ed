package bench

import (
	"time"

	"seamfit/internal/fit"
	"seamfit/internal/length"
)

// Head is what every fact carries. Handling and Seq are its key: Seq counts
// 1, 2, 3 … within the handling and is its order. At is when it happened by
// the bench's clock, Entered when it was put in (the same moment, except for
// a record typed from paper); By answers for it, Typed put it in. A
// correction names the fact it replaces and why.
type Head struct {
	Handling string
	Seq      int
	At       time.Time
	Entered  time.Time
	By       string
	Typed    string
	Replaces int
	Why      string
}

// Fact is one thing that happened, never changed once stored. The concrete
// types are the structs of this file.
type Fact interface {
	// Key returns the part that all facts have.
	Key() Head
}

// Key returns h.
func (h Head) Key() Head { return h }

// BirdTold opens a handling (Seq 1) or describes its bird anew.
type BirdTold struct {
	Head
	Shift string
	Bird  Bird
}

// Axis is which width of the tarsus was taken.
type Axis string

// The axes: the greatest width decides; the cross width shows how oval the
// leg is. The stops keep a band on: the joint above it and the folded foot below
// it, each on its widest axis. The usable tarsus is the length that bands may
// take up, other marks the height of what that leg wears already. The wall is
// not the leg's: it is the thickness of a band that the bird wore already, by
// which its wear is told.
const (
	AxisGreatest  Axis = "greatest"
	AxisCross     Axis = "cross"
	AxisUpperStop Axis = "upper stop"
	AxisLowerStop Axis = "lower stop"
	AxisTarsus    Axis = "usable tarsus"
	AxisMarks     Axis = "other marks"
	AxisWall      Axis = "wall"
)

// Axes lists the axes.
func Axes() []Axis {
	return []Axis{AxisGreatest, AxisCross, AxisUpperStop, AxisLowerStop, AxisTarsus, AxisMarks, AxisWall}
}

// along reports whether the axis runs along the leg: what is measured there is
// longer than any leg is wide.
func (a Axis) along() bool { return a == AxisTarsus || a == AxisMarks }

// Feathers says what a width was taken over, on birds with feathered tarsi.
type Feathers string

// The bare tarsus; over the feathers as they lie; under them, with the feathers
// parted. Widths of different kinds are never taken together.
const (
	FeathersNone  Feathers = ""
	FeathersOver  Feathers = "over"
	FeathersUnder Feathers = "under"
)

// Means is how a width reached the bench.
type Means string

// The means.
const (
	MeansCaliper Means = "caliper"
	MeansTyped   Means = "typed"
)

// ReadingTaken is one width, with the bytes it came from. UnitAssumed says
// that the frame named no unit and the device's setting was taken.
type ReadingTaken struct {
	Head
	Axis        Axis
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

// ReadingSetAside takes the reading with sequence Reading out of the
// estimate, for a stated reason. The reading stays in the record.
type ReadingSetAside struct {
	Head
	Reading int
	Reason  string
}

// LegEstimated is the estimate on which a size was chosen, or the last one of
// a bird that left without. Readings are the sequences that it rests on.
// Calibration is the identifier of the caliper's last calibration, empty when
// there is none; only one that is in force corrects the readings.
type LegEstimated struct {
	Head
	Leg              fit.Leg
	Agreement        fit.Agreement
	Readings         []int
	Calibration      string
	CalibrationState CalibrationState
	Feathers         Feathers // of its readings
}

// Method is how the size was chosen.
type Method string

// The methods. NotMeasured is a choice too, and is stored as one. LegGauge is a
// slotted gauge laid on the leg. Established: the bench's settings name the
// species as one that always takes its listed size, so that nobody measures it.
const (
	MethodCaliper     Method = "caliper"
	MethodLegGauge    Method = "leg gauge"
	MethodEstablished Method = "established"
	MethodNotMeasured Method = "not measured"
)

// WithoutReadings reports whether a size chosen by this method needs none.
func (m Method) WithoutReadings() bool {
	return m == MethodLegGauge || m == MethodEstablished || m == MethodNotMeasured
}

// SizeChosen is the choice of a band. Estimate is the sequence of the
// LegEstimated that it rests on (0: not measured); Play, PTight and PLoose
// are that estimate's for this size. Slot is the slot of the leg gauge that
// fits, as the gauge names it. A tight band that was chosen all the same has
// the verdict "tight" and the reason.
type SizeChosen struct {
	Head
	Size     string
	Metal    string
	Closure  string
	Method   Method
	Slot     string
	Estimate int
	Verdict  string
	Play     float64
	PTight   float64
	PLoose   float64
	Reason   string
}

// BandEvent is what happened to a band.
type BandEvent string

// The band events. Planned: taken for this bird, not yet closed. Returned:
// put back in its place. Renumbered: the band on the leg has another number
// than was told before. Settled: numbered anew together with other records that it
// stood against. Found: worn by the bird already. Removed: taken off
// or spoiled, and so destroyed.
const (
	BandPlanned    BandEvent = "planned"
	BandReturned   BandEvent = "returned"
	BandRenumbered BandEvent = "renumbered"
	BandSettled    BandEvent = "settled"
	BandFound      BandEvent = "found"
	BandRemoved    BandEvent = "removed"
)

// Then is what was done about a found band.
type Then string

// What is done about a found band.
const (
	ThenLeft     Then = "left"
	ThenWorked   Then = "worked"
	ThenReplaced Then = "replaced"
)

// BandTold is one event of one band. Band is the sequence of the event that
// brought the band into the handling (its own for planned and
// found), so that a number can be corrected without losing which closings
// were its. Conflict and Other say that the number stood against the records
// when it was told; both records are then disputed. StockSize and StockMetal are
// the number's as the stock had them then, empty for one that it did not know.
// Skipped is the number before it in its holder's order, passed over for Reason.
type BandTold struct {
	Head
	Band      int
	Event     BandEvent
	Number    string
	Leg       Leg
	Site      Site
	Conflict  Conflict
	Other     string
	Condition string
	Scheme    string
	Closure   string
	Then      Then
	Reason    string

	StockSize, StockMetal string
	Skipped               string
}

// ClosingLooked is one full working of the seam and the look after it. No
// findings means flush.
type ClosingLooked struct {
	Head
	Band     int
	Findings []string
}

// Flush reports whether the look found nothing wrong.
func (c ClosingLooked) Flush() bool { return len(c.Findings) == 0 }

// StatementMade is one statement of a confirmation. It belongs to the closing
// with that sequence, and a later closing voids it.
type StatementMade struct {
	Head
	Closing   int
	Statement string
}

// NumberReadBack is the number, or the end of it, as read off the closed
// band. It belongs to a closing as a statement does.
type NumberReadBack struct {
	Head
	Closing int
	Digits  string
}

// LeftHand stops the bird's clock. One that replaces another takes it back: the
// bird is still in the hand.
type LeftHand struct{ Head }

// FateTold is how the bird left the hand.
type FateTold struct {
	Head
	Fate      Fate
	Reason    string
	DecidedBy string
}

// IncidentTold is an injury, stress, a death, or anything else that the
// record must not lose.
type IncidentTold struct {
	Head
	Kind string
	Note string
}

// Resolved takes an escaped or unconfirmed bird off the open matters.
type Resolved struct {
	Head
	Reason string
}

// ShiftOpened begins a shift; its Head has no handling.
type ShiftOpened struct {
	Head
	Shift Shift
}

// Settled ends the settling of records against one another; its Head has no
// handling. It follows the settled bands' events in one transaction, and the
// records refuse it while one of these handlings would still be disputed.
type Settled struct {
	Head
	ID        string
	Handlings []string
	Reason    string
}

// Completed marks the record complete.
type Completed struct{ Head }
