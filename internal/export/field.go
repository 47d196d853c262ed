package export

import (
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"

	"seamfit/internal/bands"
	"seamfit/internal/bench"
)

// bird is a handling with the shift that it was in.
type bird struct {
	bench.Handling
	shift shift
}

// shift is what a table shows of a shift.
type shift struct {
	place, permit, scribe, catalogue string
	latitude, longitude, accuracy    string // of the last point told
}

// band returns the band that the bird left with: the one that was put on, else
// one that it wore already and that was left on it.
func (b bird) band() (bench.Band, bool) {
	if band, ok := b.CurrentBand(); ok && band.OnLeg() {
		return band, true
	}
	return b.FoundOnLeg()
}

// furtherPrefix begins the field of a further measure; its name follows.
const furtherPrefix = "measure."

// fieldNamed returns what a column of a map shows by a field's name; false for a name
// that there is not.
func fieldNamed(name string) (show func(Map, bird) string, known bool) {
	if measure, ok := strings.CutPrefix(name, furtherPrefix); ok && measure != "" {
		return func(m Map, b bird) string {
			taken, ok := b.Measure(measure)
			if !ok {
				return ""
			}
			return strings.Replace(taken.Value, ".", m.Decimal, 1)
		}, true
	}
	show, known = fields()[name]
	return show, known
}

// FieldNames returns the names of the fields that a map's columns can show,
// beside further measures.
func FieldNames() []string { return slices.Sorted(maps.Keys(fields())) }

// fields are what a column of a map can show, by name. Empty means that the
// record has no such value.
func fields() map[string]func(Map, bird) string {
	text := func(f func(bird) string) func(Map, bird) string { return func(_ Map, b bird) string { return f(b) } }
	all := map[string]func(Map, bird) string{
		"handling": text(func(b bird) string { return b.ID }), "shift": text(func(b bird) string { return b.Shift }),
		"place": text(func(b bird) string { return b.shift.place }), "permit": text(func(b bird) string { return b.shift.permit }),
		"scribe": text(func(b bird) string { return b.shift.scribe }), "bander": text(func(b bird) string { return b.Bander }),
		"species": text(func(b bird) string { return b.Bird.Species }), "age": text(func(b bird) string { return b.Bird.Age }),
		"sex": text(func(b bird) string { return b.Bird.Sex }),
		"fate": text(func(b bird) string {
			if b.Fate == nil {
				return ""
			}
			return string(b.Fate.Fate)
		}),
		"reason": text(func(b bird) string {
			if b.Fate == nil {
				return ""
			}
			return b.Fate.Reason
		}),
		"resolved": text(func(b bird) string { return b.Resolved }),
		"closings": text(func(b bird) string { return strconv.Itoa(len(b.Closings)) }),
		"incidents": text(func(b bird) string {
			var kinds []string
			for _, i := range b.Incidents {
				kinds = append(kinds, i.Kind)
			}
			return strings.Join(kinds, "; ")
		}),
		"latitude": text(func(b bird) string { return b.shift.latitude }), "longitude": text(func(b bird) string { return b.shift.longitude }),
		"accuracy_m": text(func(b bird) string { return b.shift.accuracy }),
		"supervised": text(func(b bird) string { return b.Confirmation.Supervised }),
		"date":       func(m Map, b bird) string { return m.local(m.Date, b.Opened) },
		"time":       func(m Map, b bird) string { return m.local(m.Time, b.Opened) },
		"captured":   func(m Map, b bird) string { return m.local(m.Time, b.Captured()) },
		"released":   func(m Map, b bird) string { return m.local(m.Time, b.Left) },
	}
	for name, of := range map[string]func(bench.CircumstancesTold) string{
		"nest": func(c bench.CircumstancesTold) string { return c.Nest }, "brood": func(c bench.CircumstancesTold) string { return c.Brood },
		"returned_to": func(c bench.CircumstancesTold) string { return c.ReturnedTo },
	} {
		all[name] = text(func(b bird) string {
			if b.Whence == nil {
				return ""
			}
			return of(*b.Whence)
		})
	}
	maps.Copy(all, bandFields())
	maps.Copy(all, widthFields())
	return all
}

// bandFields are about the band that the bird left with, and those before it.
func bandFields() map[string]func(Map, bird) string {
	of := func(f func(bench.Band) string) func(Map, bird) string {
		return func(_ Map, b bird) string {
			band, ok := b.band()
			if !ok {
				return ""
			}
			return f(band)
		}
	}
	choice := func(f func(bench.SizeChosen) string) func(Map, bird) string {
		return func(_ Map, b bird) string {
			// A found band that was left as it is has no size of ours.
			if band, ok := b.band(); !ok || band.Found || b.Choice == nil {
				return ""
			}
			return f(*b.Choice)
		}
	}
	return map[string]func(Map, bird) string{
		"number":         of(func(b bench.Band) string { return b.Number }),
		"number_compact": of(func(b bench.Band) string { return strings.ReplaceAll(b.Number, "-", "") }),
		"number_prefix":  of(func(b bench.Band) string { prefix, _, _ := strings.Cut(b.Number, "-"); return prefix }),
		"number_suffix":  of(func(b bench.Band) string { _, suffix, _ := strings.Cut(b.Number, "-"); return suffix }),
		"leg":            of(func(b bench.Band) string { return string(b.Leg) }),
		"site":           of(func(b bench.Band) string { return string(b.Site) }),
		"band": of(func(b bench.Band) string {
			if b.Found {
				return "found"
			}
			return "new"
		}),
		"size":    choice(func(c bench.SizeChosen) string { return c.Size }),
		"metal":   choice(func(c bench.SizeChosen) string { return c.Metal }),
		"closure": choice(func(c bench.SizeChosen) string { return c.Closure }),
		"found_number": func(_ Map, b bird) string {
			return numbers(b, func(band bench.Band) bool { return band.Found })
		},
		"found_condition": func(_ Map, b bird) string {
			for _, band := range b.Bands {
				if band.Found {
					return band.Condition
				}
			}
			return ""
		},
		"found_scheme": func(_ Map, b bird) string {
			for _, band := range b.Bands {
				if band.Found {
					return band.Scheme
				}
			}
			return ""
		},
		"destroyed_numbers": func(_ Map, b bird) string {
			return numbers(b, func(band bench.Band) bool { return band.State == bands.Destroyed })
		},
	}
}

func numbers(b bird, which func(bench.Band) bool) string {
	var list []string
	for _, band := range b.Bands {
		if which(band) {
			list = append(list, band.Number)
		}
	}
	return strings.Join(list, " ")
}

// widthFields are about the leg's width.
func widthFields() map[string]func(Map, bird) string {
	of := func(f func(*bench.LegEstimated) float64, digits int) func(Map, bird) string {
		return func(m Map, b bird) string {
			if b.Estimate == nil {
				return ""
			}
			return strings.Replace(strconv.FormatFloat(f(b.Estimate), 'f', digits, 64), ".", m.Decimal, 1)
		}
	}
	return map[string]func(Map, bird) string{
		"width_mm":          of(func(e *bench.LegEstimated) float64 { return e.Leg.MeanMM }, 2),
		"width_expanded_mm": of(func(e *bench.LegEstimated) float64 { return e.Leg.ExpandedMM }, 2),
		"readings":          of(func(e *bench.LegEstimated) float64 { return float64(e.Leg.N) }, 0),
	}
}

// local writes a time by the clock at the bench.
func (m Map) local(form string, at time.Time) string {
	to, err := layout(form)
	if err != nil || at.IsZero() {
		return ""
	}
	return at.Format(to)
}
