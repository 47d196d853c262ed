package fit

import (
	"cmp"
	"encoding/json"
	"fmt"
	"slices"

	"seamfit/internal/catalogue"
	"seamfit/internal/length"
)

// Candidate is one size of the catalogue judged for one leg. For a size that
// is Unjudged play and probabilities are 0, and null in JSON.
type Candidate struct {
	Size        string
	InnerMM     float64
	Play        float64
	PTight      float64
	PFit        float64
	PLoose      float64
	PSlips      *float64 // nil: no stop measured
	Verdict     Verdict
	Side        Verdict // of a borderline size: Tight or Loose
	Recommended bool    // on the list for this bird
	ListedFor   string  // the sex for which alone it is, when the bird's is not known; not in JSON
	Warnings    []Warning

	row      *catalogue.Size
	order    int  // place on the list
	verified bool // the list is an office's: it outranks play
}

// MarshalJSON writes the candidate with keys that carry units; what is not
// known is null.
func (c Candidate) MarshalJSON() ([]byte, error) {
	number := func(v float64) *float64 {
		if c.Verdict == Unjudged {
			return nil
		}
		return &v
	}
	out := candidateJSON{
		Size: c.Size, InnerMM: &c.InnerMM, Play: number(c.Play),
		PTight: number(c.PTight), PFit: number(c.PFit), PLoose: number(c.PLoose),
		PSlips: c.PSlips, Verdict: c.Verdict, Side: c.Side, Recommended: c.Recommended, Warnings: c.Warnings,
	}
	if c.InnerMM == 0 {
		out.InnerMM = nil
	}
	if out.Warnings == nil {
		out.Warnings = []Warning{}
	}
	return json.Marshal(out)
}

// UnmarshalJSON reads what MarshalJSON writes.
func (c *Candidate) UnmarshalJSON(data []byte) error {
	var in candidateJSON
	if err := json.Unmarshal(data, &in); err != nil {
		return fmt.Errorf("a size: %w", err)
	}
	number := func(p *float64) float64 {
		if p == nil {
			return 0
		}
		return *p
	}
	*c = Candidate{
		Size: in.Size, InnerMM: number(in.InnerMM), Play: number(in.Play),
		PTight: number(in.PTight), PFit: number(in.PFit), PLoose: number(in.PLoose),
		PSlips: in.PSlips, Verdict: in.Verdict, Side: in.Side, Recommended: in.Recommended, Warnings: in.Warnings,
	}
	return nil
}

type candidateJSON struct {
	Size        string    `json:"size"`
	InnerMM     *float64  `json:"inner_mm"`
	Play        *float64  `json:"play"`
	PTight      *float64  `json:"p_tight"`
	PFit        *float64  `json:"p_fit"`
	PLoose      *float64  `json:"p_loose"`
	PSlips      *float64  `json:"p_slips"`
	Verdict     Verdict   `json:"verdict"`
	Side        Verdict   `json:"side"`
	Recommended bool      `json:"recommended"`
	Warnings    []Warning `json:"warnings"`
}

// Sizes judges every size of the question's catalogue for a leg and returns
// them ranked, the best one's label ("" when none can be advised), and
// warnings about the choice as a whole, in order of harm.
//
// The office's list comes first, in its order, except for its sizes that are
// tight or slip; a listed size that is loose by play stays in its place, since
// the limit is an average over many species, not one bird's. Then the other
// sizes that fit, by |ln((1+play)/(1+target))|; then the rest by the same.
// A list that was not verified is no office's list: its sizes are marked as
// recommended, and stand where their play puts them (a young bird's come first,
// advised or not).
// Best is the first that is on the office's list or fits; never a discontinued
// size, and one that is not on it only if its closure kind may go on this
// species and it is not too high for the leg. A young bird's leg may still grow:
// where its species is listed, nothing is advised by today's play alone.
func Sizes(leg Leg, q Question, m Model) (ranked []Candidate, best string, warnings []Warning) {
	if q.Catalogue == nil {
		return []Candidate{}, "", []Warning{}
	}
	listed := q.listed()
	ranked = make([]Candidate, 0, len(q.Catalogue.Sizes))
	for i := range q.Catalogue.Sizes {
		row := &q.Catalogue.Sizes[i]
		ranked = append(ranked, m.candidate(leg, q, row, slices.Index(listed, row.Label)))
	}
	ranked = m.rank(ranked, q)
	chosen := bestOf(ranked, q)
	if chosen >= 0 {
		best = ranked[chosen].Size
	}
	return ranked, best, q.warnings(leg, ranked, chosen, listed, m)
}

// candidate judges one row; place is its index on the office's list, or −1.
func (m Model) candidate(leg Leg, q Question, row *catalogue.Size, place int) Candidate {
	inner, uInner := q.inner(row)
	c := Candidate{
		Size: row.Label, InnerMM: inner, Verdict: Unjudged, Recommended: place >= 0,
		row: row, order: place, verified: place >= 0 && q.Species.Verified(),
	}
	if row.Shape == catalogue.Round && inner > 0 {
		chances := m.Judge(leg, inner, uInner, q.UpperStop, q.LowerStop)
		c.Play, c.PTight, c.PFit, c.PLoose, c.PSlips = chances.Play, chances.Tight, chances.Fit, chances.Loose, chances.Slips
		c.Verdict, c.Side = chances.Verdict()
	}
	if c.Recommended {
		c.ListedFor = q.listedFor(row.Label)
	}
	c.Warnings = q.rowWarnings(c)
	return c
}

// rank returns the candidates sorted; rows that tie keep the catalogue's order.
// For a young bird, a remembered list tells more of the adult leg than today's
// play does.
func (m Model) rank(cs []Candidate, q Question) []Candidate {
	type place struct {
		group, index int
		key          float64
	}
	places := make([]place, len(cs))
	for i, c := range cs {
		p := place{group: 2, index: i}
		switch {
		case (c.verified || c.Recommended && Young(q.Age)) && c.Verdict != Tight && c.Verdict != Slips:
			p.group, p.key = 0, float64(c.order)
		case c.Verdict == Unjudged:
			p.group = 3
		default:
			if c.Verdict == Fits {
				p.group = 1
			}
			p.key = m.fromTarget(c.Play)
		}
		places[i] = p
	}
	slices.SortFunc(places, func(a, b place) int {
		return cmp.Or(a.group-b.group, cmp.Compare(a.key, b.key), a.index-b.index)
	})
	sorted := make([]Candidate, len(cs))
	for i, p := range places {
		sorted[i] = cs[p.index]
	}
	return sorted
}

// bestOf returns the index of the size to advise, or −1.
func bestOf(ranked []Candidate, q Question) int {
	if q.Species != nil && q.Species.NoMetalBand {
		return -1
	}
	growing := Young(q.Age) && len(q.listed()) > 0
	return slices.IndexFunc(ranked, func(c Candidate) bool {
		switch {
		case c.row.Discontinued:
			return false
		case c.verified:
			return c.Verdict != Tight && c.Verdict != Slips
		default:
			return c.Verdict == Fits && !growing && q.closureAllowed(c.row) && !q.tooHigh(c.row)
		}
	})
}

// closureAllowed reports whether the kind in hand, or else one of the kinds
// that a size is made with, may go on the species.
func (q Question) closureAllowed(row *catalogue.Size) bool {
	if q.Species == nil {
		return true
	}
	if q.Closure != "" {
		return q.Species.ClosureAllowed(q.Closure)
	}
	return len(row.Closures) == 0 || slices.ContainsFunc(row.Closures, q.Species.ClosureAllowed)
}

// tooHigh reports whether band and other marks are known to be higher than the
// tarsus that they can use.
func (q Question) tooHigh(row *catalogue.Size) bool {
	return q.Tarsus > 0 && row.Height > 0 && row.Height+q.OtherMarks > q.Tarsus
}

// rowWarnings are those that concern one size.
func (q Question) rowWarnings(c Candidate) []Warning {
	warnings := []Warning{}
	add := func(code, text string) { warnings = append(warnings, Warning{code, text}) }
	if c.verified && c.Verdict == Loose {
		add(CodeLooseListed, "on the office's list, though loose by play: play's upper limit is an average over species")
	}
	if !q.closureAllowed(c.row) {
		add(CodeClosure, "its closure kind is not for this species")
	}
	if q.tooHigh(c.row) {
		total := c.row.Height + q.OtherMarks
		add(CodeTall, fmt.Sprintf("band and other marks are %s mm high, the usable tarsus %s mm",
			total.Format(length.MM, 1), q.Tarsus.Format(length.MM, 1)))
	}
	if c.Verdict == Unjudged {
		add(CodeUnjudged, "not a round band of known inner diameter: follow the office's list")
	}
	if c.row.Discontinued {
		add(CodeDiscontinued, "no longer made")
	}
	return warnings
}
