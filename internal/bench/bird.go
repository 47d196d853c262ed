package bench

import "time"

// Leg is the leg that carries the band.
type Leg string

// The legs. The zero value means that nobody has said yet.
const (
	LegUnsaid Leg = ""
	LegLeft   Leg = "left"
	LegRight  Leg = "right"
)

// Site is where on the leg the band sits.
type Site string

// The sites, by the intertarsal joint.
const (
	SiteBelow Site = "below"
	SiteAbove Site = "above"
)

// Bird is what the bander says of the bird in the hand. Species is a
// scientific name as the species list writes it, or free text for a species
// that the list lacks. An age or a sex is empty until somebody has told it, and
// NotKnown when it can't be told.
type Bird struct {
	Species string
	Age     string
	Sex     string
	Leg     Leg
	Site    Site
}

// NotKnown is told of an age or a sex that can't be seen on the bird.
const NotKnown = "not known"

// Known returns the bird as lists and histories are searched for it: what can't
// be told is empty.
func (b Bird) Known() Bird {
	if b.Age == NotKnown {
		b.Age = ""
	}
	if b.Sex == NotKnown {
		b.Sex = ""
	}
	return b
}

// Ages lists the ages that a bench offers; others are told in words.
func Ages() []string { return []string{"adult", "immature", "juvenile", "nestling"} }

// Sexes lists the sexes that a bench offers.
func Sexes() []string { return []string{"female", "male"} }

// Shift is one sitting at the bench.
type Shift struct {
	ID        string
	Started   time.Time
	Place     string
	Bander    string
	Scribe    string
	Permit    string
	Catalogue string
	Training  bool
	// ClockBehind is by how much the clock stood behind the last stored fact
	// when the shift began: a small board may have no clock of its own.
	ClockBehind time.Duration

	// What was told of it beside: the last ones of each kind stand.
	Told        int // details so far
	People      People
	Point       *Point
	Watch       *WatchCheck
	Instruments []Instrument
}

// Fate is how the bird left the hand.
type Fate string

// The fates. A bird let go with a closure that nobody confirmed is told so;
// it is never complete until resolved.
const (
	FateBanded      Fate = "banded"
	FateUnbanded    Fate = "unbanded"
	FateUnconfirmed Fate = "unconfirmed"
	FateEscaped     Fate = "escaped"
	FateDied        Fate = "died"
)

// wears reports whether a bird that left so wears the band that was taken for
// it, looked at or not.
func (f Fate) wears() bool { return f == FateBanded || f == FateUnconfirmed }

// Fates lists the fates in the order in which a screen offers them.
func Fates() []Fate {
	return []Fate{FateBanded, FateUnbanded, FateUnconfirmed, FateEscaped, FateDied}
}

// Words returns the fate as a person reads it.
func (f Fate) Words() string {
	switch f {
	case FateUnconfirmed:
		return "closure unconfirmed"
	default:
		return string(f)
	}
}
