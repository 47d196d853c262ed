package seam

import (
	"slices"
	"strings"
	"time"

	"seamfit/internal/length"
	"seamfit/internal/metrology"
)

// PracticeClosing is one closing of a band on a dowel: who, with what, what was
// seen, and what was measured.
type PracticeClosing struct {
	ID      string
	At      time.Time
	By      string // the trainee
	Trainer string // who looked blind; empty: nobody did

	Size, Metal string
	Closure     string // id of the closure kind
	Dowel       Dowel
	Band        PracticeBand
	Number      string // of a numbered band, which is destroyed by it
	Tool        string // pliers, hole, how they were set

	Look      []string // the trainee's findings; empty: flush
	Blind     Blind
	BlindLook []string // the trainer's findings, with BlindDefect
	// Measured is what the caliper said; nil: not measured.
	Measured *MeasuredBand
	Took     time.Duration // 0: not timed
}

// Dowel is the stand-in leg. It is never a reference rod: a rod that metal was
// squeezed on is certified no more.
type Dowel struct {
	Shape DowelShape
	Width length.Length // greatest; 0: not said
}

// DowelShape is what a dowel is like.
type DowelShape string

// The shapes of a dowel. Sleeved is one in a soft sleeve, as skin is soft.
const (
	Round   DowelShape = "round"
	Oval    DowelShape = "oval"
	Sleeved DowelShape = "sleeved"
)

// PracticeBand is what band was closed.
type PracticeBand string

// The bands that are practised with.
const (
	Unnumbered PracticeBand = "unnumbered"
	Rejected   PracticeBand = "rejected"
	Numbered   PracticeBand = "numbered"
)

// DestroyedByPractice is the reason under which a numbered band that was
// practised with leaves the stock.
const DestroyedByPractice = "practice"

// MeasuredBand is a band's measurement as it is kept with a practice closing.
type MeasuredBand struct {
	Widths    []length.Length `json:"widths_nm"` // as read; the first through the seam
	Thickness length.Length   `json:"thickness_nm"`
	Outer     length.Length   `json:"outer_nm"`
	Basis     Basis           `json:"basis"` // where the outer diameter comes from
	Verdict   Verdict         `json:"verdict"`
	GapMM     float64         `json:"gap_mm"`
	GapUMM    float64         `json:"gap_u_mm"`
	Findings  []string        `json:"findings"`
}

// Check returns an *InputError for a closing that can't be kept: no name, a
// dowel or band of no known kind, a number without a numbered band or the
// reverse, a blind look by nobody or by the trainee.
func (p PracticeClosing) Check() error {
	switch {
	case strings.TrimSpace(p.By) == "":
		return refuse("say who closed it", "a practice closing is without its bander")
	case p.Size == "" || p.Metal == "" || p.Closure == "":
		return refuse("say the band's size, metal and closure kind", "a practice closing is without its band")
	case !slices.Contains([]DowelShape{Round, Oval, Sleeved}, p.Dowel.Shape):
		return refuse("use round, oval or sleeved; never a certified rod", "the dowel is %q", string(p.Dowel.Shape))
	case p.Dowel.Width < 0 || p.Dowel.Width > largest:
		return refuse("check the unit and the decimal mark", "the dowel is %v wide", p.Dowel.Width)
	case !slices.Contains([]PracticeBand{Unnumbered, Rejected, Numbered}, p.Band):
		return refuse("use unnumbered, rejected or numbered", "the band is %q", string(p.Band))
	case (p.Band == Numbered) != (p.Number != ""):
		return refuse("give the number of a numbered band, and of no other", "the band is %s, its number %q", string(p.Band), p.Number)
	case p.Took < 0:
		return refuse("give it as 0 or a positive time", "the closing took %v", p.Took)
	case p.Blind != NoBlindLook && (strings.TrimSpace(p.Trainer) == "" || p.Trainer == p.By):
		return refuse("say which other person looked", "a blind look is by %q, and the closing by %q", p.Trainer, p.By)
	case (p.Blind == BlindDefect) != (len(p.BlindLook) > 0):
		return refuse("say what the blind look found", "a blind look and its findings do not agree")
	}
	return nil
}

// Attempt returns the closing as the bench target counts it.
func (p PracticeClosing) Attempt() Attempt {
	return Attempt{At: p.At, Flush: len(p.Look) == 0, Blind: p.Blind}
}

// Defects returns what the look that counts found: the trainer's blind look,
// or else the trainee's own.
func (p PracticeClosing) Defects() []string {
	if p.Blind != NoBlindLook {
		return p.BlindLook
	}
	return p.Look
}

// Missed returns what the blind look or the caliper found wrong and the
// trainee's own look did not.
func (p PracticeClosing) Missed() []string {
	found := slices.Clone(p.BlindLook)
	if p.Measured != nil {
		found = append(found, p.Measured.Findings...)
	}
	var missed []string
	for _, id := range found {
		if !slices.Contains(p.Look, id) && !slices.Contains(missed, id) {
			missed = append(missed, id)
		}
	}
	return missed
}

// Group is whose closings of which bands are counted together.
type Group struct {
	By    string
	Bands string // size and metal, or the size group's name
}

// Record is where one bander stands with one kind of band, and what the
// closings were like.
type Record struct {
	Group
	Standing
	Outcomes []bool         // flush or not, in order
	Defects  map[string]int // by finding
	Missed   int            // closings whose own look missed something
	Judged   int            // closings that somebody or something else looked at too
	// Median is the middle of the times that were taken; 0: none was.
	Median time.Duration
	// Noticed is the part of closings judged by a second look that the own look
	// got right, as a 95 % Wilson interval.
	Noticed metrology.Interval
}

// Records groups closings, which are in their order, by bander and by what of
// returns for each, and says where each group stands. Groups come in the order
// of their first closing.
func (t Target) Records(closings []PracticeClosing, of func(PracticeClosing) string, now time.Time) ([]Record, error) {
	var groups []Group
	members := map[Group][]PracticeClosing{}
	for _, c := range closings {
		g := Group{By: c.By, Bands: of(c)}
		if _, known := members[g]; !known {
			groups = append(groups, g)
		}
		members[g] = append(members[g], c)
	}
	records := make([]Record, 0, len(groups))
	for _, g := range groups {
		r, err := t.record(g, members[g], now)
		if err != nil {
			return nil, err
		}
		records = append(records, r)
	}
	return records, nil
}

// BySizeAndMetal names what a closing counts for where no size groups are
// wanted.
func BySizeAndMetal(p PracticeClosing) string { return p.Size + " " + p.Metal }

func (t Target) record(g Group, closings []PracticeClosing, now time.Time) (Record, error) {
	r := Record{Group: g, Defects: map[string]int{}, Noticed: metrology.Interval{Low: 0, High: 1}}
	attempts := make([]Attempt, len(closings))
	var times []time.Duration
	for i, c := range closings {
		attempts[i] = c.Attempt()
		r.Outcomes = append(r.Outcomes, attempts[i].Success())
		for _, id := range c.Defects() {
			r.Defects[id]++
		}
		if c.Blind != NoBlindLook || c.Measured != nil {
			r.Judged++
			if len(c.Missed()) > 0 {
				r.Missed++
			}
		}
		if c.Took > 0 {
			times = append(times, c.Took)
		}
	}
	if len(times) > 0 {
		slices.Sort(times)
		r.Median = times[(len(times)-1)/2]
	}
	var err error
	if r.Judged > 0 {
		if r.Noticed, err = metrology.Wilson(r.Judged-r.Missed, r.Judged, level); err != nil {
			return r, err
		}
	}
	r.Standing, err = t.Standing(attempts, now)
	return r, err
}
