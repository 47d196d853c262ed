package fit

import (
	"fmt"
	"math"
	"strings"

	"seamfit/internal/catalogue"
	"seamfit/internal/length"
)

// Question is what to judge a leg against. Everything but the catalogue may be
// left out.
type Question struct {
	Catalogue *catalogue.Catalogue
	Species   *catalogue.Species
	Sex       string // "male", "female", "" unknown
	Age       string // the record's word; see Young
	// Upper and lower stop: joint and folded foot on their greatest axes, as
	// Estimate gives them.
	UpperStop, LowerStop *Leg
	// Cross is the leg's width across its narrow axis. It never decides a size.
	Cross *Leg
	// Place is what the bench says of wear where it stands.
	Place Place
	// Feathers is "over" or "under" when the leg was measured over its feathers or
	// under them; "" for a bare tarsus. Such widths are never taken together with
	// others: the pooled SD and the history, which are of bare legs, do not count.
	Feathers string
	// Inner gives, by size label, the inner diameter as measured on the bands
	// in hand, or the uncertainty of the table's.
	Inner map[string]Inner
	// Closure and Metal are the kind and metal in hand; "" and nil: not chosen.
	Closure string
	Metal   *catalogue.Metal
	// Tarsus is the length of tarsus that bands can use, OtherMarks the height
	// of what already is on that leg; 0 is unknown.
	Tarsus, OtherMarks length.Length
	// History is what this bench measured on the species before; nil: nothing.
	History *History
}

// Inner is the inner diameter of the bands in hand: its value (0: as the table
// says) and its standard uncertainty in millimetres.
type Inner struct {
	Value length.Length
	U     float64
}

// History is the widths that this bench measured on birds of one species (and
// sex and age, where known), in millimetres: their median, their robust
// standard deviation, and the number of birds.
type History struct {
	Median, SD float64
	N          int
}

// Young reports whether a record's word for age says that the leg may still
// be growing.
func Young(age string) bool {
	switch strings.ToLower(strings.TrimSpace(age)) {
	case "chick", "nestling", "pullus", "hatchling", "fledgling", "juvenile", "young":
		return true
	default:
		return false
	}
}

// Listed returns the sizes that the office's list gives for this bird, in its
// order. A young bird for whose age the list has nothing of its own gets the
// size for the adult leg; a bird of unknown sex, those of both.
func (q Question) Listed() []catalogue.Recommendation {
	if q.Species == nil || q.Catalogue == nil {
		return nil
	}
	rows := q.Species.SizesFor(q.Catalogue.Name, q.Sex, q.Age)
	if len(rows) == 0 && Young(q.Age) {
		if rows = q.Species.SizesFor(q.Catalogue.Name, q.Sex, "adult"); len(rows) == 0 {
			rows = q.Species.SizesFor(q.Catalogue.Name, q.Sex, "")
		}
	}
	return rows
}

// listed returns the labels of Listed.
func (q Question) listed() []string {
	rows := q.Listed()
	labels := make([]string, len(rows))
	for i, r := range rows {
		labels[i] = r.Size
	}
	return labels
}

// listedFor returns the sex for which alone the list gives a size, for a bird
// whose sex is not known; "" otherwise.
func (q Question) listedFor(label string) string {
	if q.Sex != "" {
		return ""
	}
	sex := ""
	for _, r := range q.Listed() {
		switch {
		case r.Size != label:
		case r.Sex == "" || (sex != "" && sex != r.Sex):
			return ""
		default:
			sex = r.Sex
		}
	}
	return sex
}

// inner returns the inner diameter of a size in millimetres and its standard
// uncertainty.
func (q Question) inner(size *catalogue.Size) (mm, u float64) {
	mm = size.Inner.MM()
	if own, found := q.Inner[size.Label]; found {
		if own.Value > 0 {
			mm = own.Value.MM()
		}
		u = own.U
	}
	return mm, u
}

// check returns an InputError for measurements that make no sense.
func (q Question) check() error {
	for label, own := range q.Inner {
		if own.Value < 0 || math.IsNaN(own.U) || math.IsInf(own.U, 0) || own.U < 0 {
			return &InputError{
				What: fmt.Sprintf("the inner diameter of size %q is %v with uncertainty %g mm", label, own.Value, own.U),
				Mend: "give both as 0 or positive lengths",
			}
		}
	}
	if q.Tarsus < 0 || q.OtherMarks < 0 {
		return &InputError{What: "the usable tarsus length or the height of other marks is negative", Mend: "measure it again, or leave it out"}
	}
	return nil
}
