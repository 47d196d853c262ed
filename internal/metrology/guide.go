package metrology

import (
	"fmt"
	"math"
	"slices"

	"seamfit/internal/length"
)

// Guide leads through a calibration: it knows which rod comes next, and says
// of each reading how far it lies off before it counts. Nothing is dropped: a
// reading that is set aside stays, with its reason. A Guide is a value; Take,
// SetAside and Skip return the next one.
type Guide struct {
	Rods   []PlannedRod
	PerRod int // readings wanted of each

	setup    CalibrationSetup
	repeats  Repeats
	readings []GuidedReading
	enough   []bool // by rod: no more are wanted
}

// GuidedReading is one reading of a guided calibration.
type GuidedReading struct {
	Rod      int // index in Rods
	Value    length.Length
	SetAside string // why it does not count; empty when it does
}

// NewGuide returns a guide before the first reading. repeats is the SD of
// single readings on one rod with its degrees of freedom, from an earlier
// calibration or the settings. It returns ErrTooFew for a plan without two
// rods or no reading of each, and ErrDomain or ErrNotFinite for a setup
// without sense or an SD not above 0.
func NewGuide(rods []PlannedRod, perRod int, repeats Component, setup CalibrationSetup) (Guide, error) {
	if len(rods) < 2 || perRod < 1 {
		return Guide{}, fmt.Errorf("a calibration on %d rods with %d readings each: %w", len(rods), perRod, ErrTooFew)
	}
	if !(repeats.U > 0) || !(repeats.DOF > 0) {
		return Guide{}, fmt.Errorf("a repeatability of %g with %g degrees of freedom: %w", repeats.U, repeats.DOF, ErrDomain)
	}
	if err := checkSetup(setup); err != nil {
		return Guide{}, err
	}
	return Guide{Rods: rods, PerRod: perRod, setup: setup, repeats: Repeats{SD: repeats, Resolution: setup.Resolution}, enough: make([]bool, len(rods))}, nil
}

// Next returns the rod to read next and the number of that reading among
// those of the rod that count, from 1; false when nothing more is wanted.
func (g Guide) Next() (rod, number int, more bool) {
	for i := range g.Rods {
		if n := len(g.counted(i)); n < g.PerRod && !g.enough[i] {
			return i, n + 1, true
		}
	}
	return 0, 0, false
}

// Readings returns all readings in the order in which they were taken.
func (g Guide) Readings() []GuidedReading { return slices.Clone(g.readings) }

// Take adds a reading of a rod.
func (g Guide) Take(rod int, value length.Length) Guide {
	g.readings = append(slices.Clone(g.readings), GuidedReading{Rod: rod, Value: value})
	return g
}

// SetAside takes the reading with that index out of the calculation; its rod
// is asked for again.
func (g Guide) SetAside(index int, reason string) Guide {
	g.readings = slices.Clone(g.readings)
	g.readings[index].SetAside = reason
	return g
}

// Skip asks for no more readings of a rod.
func (g Guide) Skip(rod int) Guide {
	g.enough = slices.Clone(g.enough)
	g.enough[rod] = true
	return g
}

// Result returns the calibration by the readings that count. Its errors are
// Calibrate's; the Line of a *RowError is the number of the reading in
// Readings, from 1.
func (g Guide) Result() (Calibration, error) {
	var rows []RodReading
	for i, r := range g.readings {
		if r.SetAside == "" {
			rows = append(rows, g.row(r, i+1))
		}
	}
	return Calibrate(rows, g.setup)
}

func (g Guide) row(r GuidedReading, line int) RodReading {
	rod := g.Rods[r.Rod]
	return RodReading{Reference: rod.Reference, Reading: r.Value, RodU: rod.U(), Line: line}
}

// counted returns the readings of a rod that count.
func (g Guide) counted(rod int) []length.Length {
	var values []length.Length
	for _, r := range g.readings {
		if r.Rod == rod && r.SetAside == "" {
			values = append(values, r.Value)
		}
	}
	return values
}

// Remark is what is to be said of a reading before it counts.
type Remark struct {
	ErrorMM float64 // reading − reference
	// ResidualMM is (reference − reading) less the correction that the line
	// through the other readings gives; false in Fitted while there is none.
	ResidualMM float64
	Fitted     bool
	// Doubt says why the reading disagrees; empty when it does not.
	Doubt string
	// Impossible: no calibration can use it, so it can't be kept.
	Impossible bool
}

// Judge says how far a reading of a rod lies off, and whether it disagrees:
// with the rod (it must be a slip or another rod), with the other readings of
// the rod (see Repeats.Agree), or, as the
// first on its rod, by three standard uncertainties with the line through the
// other rods.
func (g Guide) Judge(rod int, value length.Length) Remark {
	remark := Remark{ErrorMM: (value - g.Rods[rod].Reference).MM()}
	line, fitted := g.line()
	var uLine float64
	if fitted {
		var correction float64
		correction, uLine = line.At(value.MM())
		remark.ResidualMM, remark.Fitted = -remark.ErrorMM-correction, true
	}
	if what, impossible := g.slip(rod, value); what != "" {
		remark.Doubt, remark.Impossible = what, impossible
		return remark
	}
	if others := g.counted(rod); len(others) > 0 {
		if spread, limit, ok := g.repeats.Agree(append(others, value)); !ok {
			remark.Doubt = fmt.Sprintf("the readings of this rod lie %.3f mm apart, and repeats should lie within %.3f mm", spread, limit)
		}
		return remark
	}
	limit := max(doubtfulAt*math.Hypot(g.repeats.Single(), uLine), g.setup.Resolution.MM())
	if fitted && math.Abs(remark.ResidualMM) > limit {
		remark.Doubt = fmt.Sprintf("it lies %+.3f mm off the line of the other rods, and should lie within %.3f mm", remark.ResidualMM, limit)
	}
	return remark
}

// doubtfulAt is how many standard uncertainties off the line the first
// reading of a rod is doubted.
const doubtfulAt = 3

// line is the line through all that counts, once two rods determine it.
func (g Guide) line() (Line, bool) {
	var xs, ys []float64
	rods := map[int]bool{}
	for _, r := range g.readings {
		if r.SetAside == "" {
			xs, ys = append(xs, r.Value.MM()), append(ys, (g.Rods[r.Rod].Reference-r.Value).MM())
			rods[r.Rod] = true
		}
	}
	if len(rods) < 2 || len(xs) < fewestReadings {
		return Line{}, false
	}
	line, err := FitLine(xs, ys, nil, g.setup.Pivot)
	return line, err == nil
}

// slip says what a reading that can't be of this rod may be. It is impossible
// when Calibrate would refuse it.
func (g Guide) slip(rod int, value length.Length) (what string, impossible bool) {
	reference := g.Rods[rod].Reference
	if inOtherUnit(RodReading{Reference: reference, Reading: value}) {
		return "it looks like inches taken for millimetres", true
	}
	off := value - reference
	if off.Abs() <= farOff {
		return "", false
	}
	what = fmt.Sprintf("it is %v off", off)
	for _, other := range g.Rods {
		if (value - other.Reference).Abs() <= farOff/5 {
			what += fmt.Sprintf(", and reads like rod %s of %v", other.Rod.Name, other.Reference)
		}
	}
	var errs []float64
	for _, r := range g.readings {
		if r.SetAside == "" {
			errs = append(errs, (r.Value - g.Rods[r.Rod].Reference).MM())
		}
	}
	unlike := off.MM()
	if median, err := Median(errs); err == nil {
		unlike -= median
	}
	part := farOffPart * max(reference.Abs(), value.Abs()).MM()
	return what, math.Abs(unlike) > farOff.MM() && math.Abs(unlike) > part
}

// Setup returns what the calibration rests on besides its readings.
func (g Guide) Setup() CalibrationSetup { return g.setup }

// WithResolution returns the guide with another step of the display.
func (g Guide) WithResolution(step length.Length) Guide {
	g.setup.Resolution, g.repeats.Resolution = step, step
	return g
}
