package metrology

import (
	"time"

	"seamfit/internal/length"
)

// Rod is a reference rod of the register. A rod that is certified anew is a new
// row that replaces the old one; the old one stays with the calibrations that
// it was used in.
type Rod struct {
	ID        string
	Name      string // as engraved or labelled; one rod in force a name
	Diameter  length.Length
	U         length.Length // standard uncertainty of the certificate; 0 where Class is given
	Class     Class         // tolerance class; empty where U is given
	Certified time.Time     // date of the certificate
	Due       time.Time     // after this date the rod is warned of; zero: no date
	Material  string
	Expansion float64 // per kelvin; 0: not known, taken as steel's
	Retired   string  // why the rod is out of use; empty while it is in use
	Entered   time.Time
	By        string
}

// StandardU returns the rod's standard uncertainty in millimetres: the
// certificate's, else its class's T/√3. Its errors are Class.U's.
func (r Rod) StandardU() (float64, error) {
	if r.U > 0 || r.Class == "" {
		return r.U.MM(), nil
	}
	return r.Class.U(r.Diameter)
}

// Overdue reports whether the rod's certificate has run out: the day of at, by
// its own clock, is after the day of Due.
func (r Rod) Overdue(at time.Time) bool {
	return !r.Due.IsZero() && at.Format(time.DateOnly) > r.Due.Format(time.DateOnly)
}

// Record is a calibration of a caliper as it was done. It is never changed; a
// newer one takes its place.
type Record struct {
	ID         string
	Caliper    string // the caliper's name in the settings and in its readings
	At         time.Time
	ValidUntil time.Time // zero: without end
	By         string
	Note       string
	Conditions Conditions
	Readings   []RecordedReading
	Result     Calibration
}

// Conditions are what a calibration's result rests on besides its readings.
type Conditions struct {
	Temperatures Temperatures  `json:"temperatures"`
	Resolution   length.Length `json:"resolution_nm"`
	MPE          MPETable      `json:"mpe"`
	// Rods are those compared with, by diameter; empty when the readings came
	// from a file that names none.
	Rods []PlannedRod `json:"rods"`
}

// InForce reports whether the calibration holds at that time.
func (r Record) InForce(at time.Time) bool {
	return !at.Before(r.At) && (r.ValidUntil.IsZero() || !at.After(r.ValidUntil))
}

// RecordedReading is one reading of a calibration: which rod, what the caliper
// sent, and the reference it was compared with at that temperature.
type RecordedReading struct {
	Rod       string        `json:"rod"` // the rod's ID; empty when the readings came from a file
	Raw       []byte        `json:"raw"`
	At        time.Time     `json:"at"`
	Reference length.Length `json:"reference_nm"`
	Reading   length.Length `json:"reading_nm"`
	RodU      float64       `json:"rod_u_mm"` // standard uncertainty
	// SetAside is why the reading does not count; empty when it does.
	SetAside string `json:"set_aside,omitempty"`
}

// Check is one look at a rod before a shift.
type Check struct {
	ID      string
	Caliper string
	At      time.Time
	By      string
	Rod     string
	Mean    length.Length // of its readings, corrected
	Error   length.Length // mean less reference
	// Low and High are the control limits from the checks before; both 0 while
	// there are too few.
	Low, High length.Length
	N         int
	InLimits  bool
	// Reason is why the bench goes on although the check is out of limits.
	Reason string
	// Answers is the ID of the check whose reason this row states later; that
	// row has no readings of its own. Empty for a check.
	Answers string
	// Calibration is the ID of the calibration that corrected the readings;
	// empty when none was in force.
	Calibration string
	Readings    []RecordedReading
}
