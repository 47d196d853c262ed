package station

import (
	"slices"
	"strconv"
	"time"

	"seamfit/device"
	"seamfit/internal/bands"
	"seamfit/internal/bench"
	"seamfit/internal/length"
	"seamfit/internal/seam"
)

// State is everything the station knows. It is a value: Update answers with
// another one and never changes the one it was given.
type State struct {
	Bench   bench.State
	Options Options
	Shift   *bench.Shift // the open one as the records have it; nil: they have none yet

	Now           time.Time
	Latest        time.Time // of the last entry, by the clock as it was then
	Width, Height int

	Front Front // what is asked before the first bird
	Desk  Desk  // the active bird's
	// Tour are the birds that F3 has passed through without another key between.
	Tour   []string
	Parked []Desk // the other open birds'
	Order  []string
	Bander string // who bands the next bird that is opened
	Before Before
	Sheet  Sheet // of a late entry

	Queue Queue
	Links [2]Link // by Device
	Last  LastReading
	Live  device.Reading // the last value of a stream, while Flowing
	// Flowing says that the jaws have moved since the last reading.
	Flowing bool
	settled bool       // the jaws stand where the last reading was taken
	Asked   []Question // numbers that the records have been asked for
	Reread  []Rereading
	// LookedFor are the birds of which the bench's own widths were asked for.
	LookedFor []bench.Likeness
	ticket    int
	Stock     Stock
	Card      LastCard
	Tracks    Tracks

	Done []seam.Handiwork       // of a workshop's run: what was done to its bands
	Gone map[int]bench.Handling // and its birds that have left the hand, by number

	Refused []bench.Blocker // of the last thing asked
	Message string          // one line about the last thing done
	Help    bool
	Leaving Leaving
	Scoring bool // the score covers the desk

	expecting bool // a reading is waited for
	wanted    bool // the next steady value of a stream was asked for
	keys      typing
}

// Options are what the station was started with. They do not change.
type Options struct {
	HandlingLimit time.Duration // reminder after capture; 0: never
	ClosingsLimit int           // closings of one band before advice to take it off; 0: never
	Theme         Theme
	Silent        bool // no bell
	ScanPrefix    string
	ScanSuffix    string
	ScanCheck     bool           // codes end with a Code 39 check character
	SeamLimits    *seam.Limits   // for judging a seam by its widths; nil: the bench's defaults
	Usual         Usual          // what usually holds for a shift
	Late          bool           // a sheet of paper is typed in: no clock runs
	SpotOnLeg     bool           // a band on a living leg may be measured too
	People        []string       // who may band, for their cards
	Earlier       int            // birds that this shift had at the start
	Numbers       map[string]int // of the handlings in the state at the start, each in its shift
	Trainer       Trainer
	// Asks: the caliper can be asked for a reading. Streams: it sends without
	// a button, and is read when it stands still.
	Asks, Streams bool
	// Typed are the settings of a caliper that types like a keyboard; nil:
	// there is none.
	Typed *device.DecoderOptions
	// Doubts are what stands against the caliper or the records: shown as long
	// as the station runs.
	Doubts []string
}

// Trainer leads a training run. It is pure.
type Trainer interface {
	// Shift returns the training shift, without its ID and start.
	Shift() bench.Shift
	// Coach returns what to tell the newcomer now: bird counts from 1 in the
	// run; h is its handling, or empty while it is not open.
	Coach(bird int, h bench.Handling, s bench.State) []string
	// Leg returns the leg width of that bird.
	Leg(bird int) length.Length
}

// Device is one of the two devices of the bench.
type Device int

// The devices.
const (
	Caliper Device = iota
	Scanner
)

// String returns the device's name as the screen shows it.
func (d Device) String() string { return [...]string{"caliper", "scanner"}[d] }

// Link is what is known of the connection to a device.
type Link struct {
	Fitted  bool // the bench has one
	Open    bool // readings can come
	Trouble string
	Mend    string
	Low     bool // its battery runs low
}

// LastReading is the reading in large digits.
type LastReading struct {
	device.Reading
	Given   bool
	Refused bool
	Bird    string // the handling that it went to; empty when to none
}

// Before is what was told of the last birds, offered again: at a colony one
// bird is like the other, and fingers are cold.
type Before struct {
	Species string
	Leg     bench.Leg
	Nest    string
	Numbers []LastNumber
}

// LastNumber is the last number that was taken of one size and metal.
type LastNumber struct {
	Size, Metal string
	Number      bands.Number
}

// Front is the sequence of questions before the first bird.
type Front struct {
	Cautions bool // still to be read
	Place    string
	Bander   string
	Typed    string
	Stage    Ask
}

// Leaving is the question that Ctrl+Q asks.
type Leaving int

// How far quitting has come.
const (
	Staying Leaving = iota
	AskedToLeave
	AskedTwice
)

// Desk is what is under way for one bird: the step in view, what is asked in
// it, and what has been typed or marked so far.
type Desk struct {
	Handling string
	Step     Step
	Ask      Ask
	Typed    string
	Row      int
	Marked   []string
	Spot     Spot  // a judgement by widths
	Asked    []Ask // questions of the bird step that were passed over
	Taking   Taking

	Choice  bench.ChooseSize // as far as it has been made
	Number  bench.GiveNumber
	Found   bench.TellFound
	Fate    bench.Fate
	Kind    string // of an incident
	Reading int    // to be set aside
	Why     string // a complete record is being corrected for this reason

	Witnessed bool // what is stated of a bird that is gone was seen before it left
	Before    Ask  // asked once it is said that it was before the bird left

	Measure    bench.TakeMeasure // a further one, as far as it is told
	Supervisor string            // who looks at the closing
}

// NewState returns the state in which the station opens: with the handlings
// that were open when it was last closed.
func NewState(start bench.State, options Options, at time.Time) State {
	s := State{Bench: start, Options: options, Shift: start.Shift, Now: at, Latest: start.LastFact, Front: Front{Cautions: options.Trainer != nil, Stage: AskPlace}}
	for _, h := range start.Handlings {
		s.Latest = latest(s.Latest, h.Opened, h.Left)
		s.Order = append(s.Order, h.ID)
		if h.ID != start.Active {
			s.Parked = append(s.Parked, openDesk(start, h))
		}
	}
	if h, ok := start.ActiveHandling(); ok {
		s.Desk = openDesk(start, h)
		s.Front.Cautions = false
		s.Message = "Open birds taken up where they stood."
	}
	if start.Shift != nil {
		s.Bander = start.Shift.Bander
	} else {
		s.Front.Cautions = true
	}
	if options.Late {
		s.Front.Stage = AskSheetDate
	}
	return s
}

// latest returns the latest of the times.
func latest(times ...time.Time) time.Time {
	return slices.MaxFunc(times, time.Time.Compare)
}

func openDesk(b bench.State, h bench.Handling) Desk {
	return Desk{Handling: h.ID, Step: nextStep(b, h, StepBird), Taking: Taking{Feathers: h.Feathers()}}
}

// bird returns the handling on the desk.
func (s State) bird() (bench.Handling, bool) { return s.Bench.ActiveHandling() }

// ordinal returns the number of a bird in its shift, from 1.
func (s State) ordinal(id string) int {
	if n, ok := s.Options.Numbers[id]; ok {
		return n
	}
	return s.ordinalAt(slices.Index(s.Order, id))
}

// ordinalAt returns the number of a bird that began here, by its place in Order.
func (s State) ordinalAt(i int) int { return s.Options.Earlier - len(s.Options.Numbers) + i + 1 }

// called returns the number by which a person calls a bird: with the day, when it
// is of another shift.
func (s State) called(h bench.Handling) string {
	n := strconv.Itoa(s.ordinal(h.ID))
	if s.Bench.Shift != nil && h.Shift == s.Bench.Shift.ID {
		return n
	}
	return n + " of " + h.Opened.Format("2 Jan")
}

// unsaved returns how many facts of a handling are not on the disk yet.
func (s State) unsaved(id string) int {
	n := 0
	for _, f := range s.Queue.Facts {
		if f.Key().Handling == id {
			n++
		}
	}
	return n
}
