package fit

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"seamfit/internal/metrology"
)

// farFromHistory is the robust z beyond which a width is called unusual, and
// enoughHistory the number of birds it takes to say so (Iglewicz and Hoaglin
// 1993, How to Detect and Handle Outliers: |z| above 3.5; the number of birds
// is a bench setting).
const (
	farFromHistory = 3.5
	enoughHistory  = 5
)

// warnings are those that concern the choice as a whole, in order of harm.
func (q Question) warnings(leg Leg, ranked []Candidate, chosen int, listed []string, m Model) []Warning {
	warnings := []Warning{}
	add := func(code, format string, args ...any) {
		warnings = append(warnings, Warning{code, fmt.Sprintf(format, args...)})
	}
	species := q.Species
	if species != nil && species.NoMetalBand {
		add(CodeNoMetal, "%s: no metal leg band", species.English)
	}
	q.warnMisfits(ranked, listed, add)
	if species != nil && q.Closure != "" && !species.ClosureAllowed(q.Closure) {
		add(CodeClosure, "closure kind %s is not for this species (allowed: %s)", q.Closure, strings.Join(species.Closures, ", "))
	}
	if species != nil && species.AboveJointOnly {
		add(CodeSite, "band this species above the intertarsal joint only")
	}
	if Young(q.Age) {
		add(CodeYoung, "young bird: the leg may still grow or be swollen; take the office's size for the adult leg, then check today's tightness and the foot")
	}
	if chosen < 0 && (species == nil || !species.NoMetalBand) {
		add(CodeNoFit, "no size of this catalogue can be advised for this leg")
	}
	q.warnStops(leg, add)
	if q.Cross != nil && q.Cross.MeanMM > leg.MeanMM {
		add(CodeCross, "the cross width (%.2f mm) is wider than the leg width (%.2f mm): the widest axis decides, measure both again",
			q.Cross.MeanMM, leg.MeanMM)
	}
	if q.Feathers != "" {
		add(CodeFeathers, "measured %s the feathers: not compared with bare legs, and the scatter is that of the settings", q.Feathers)
	}
	q.warnWidth(leg, add)
	if chosen >= 0 {
		m.warnAlike(leg, ranked, chosen, add)
	}
	if species != nil && q.Metal != nil && !q.Metal.Hard {
		if advice := AdviseMetal(*species, nil, q.Place); advice.HardAdvised {
			reasons := ""
			if len(advice.Reasons) > 0 {
				reasons = " (" + strings.Join(advice.Reasons, ", ") + ")"
			}
			add(CodeMetal, "hard metal is advised for this species%s, not %s", reasons, q.Metal.Name)
		}
	}
	if species != nil && len(listed) > 0 && species.Mark != "" {
		if advice := species.Mark.Advice(); advice != "" {
			add(CodeUnverified, "recommended sizes %s", advice)
		}
	}
	return warnings
}

type adder func(code, format string, args ...any)

// warnMisfits tells of the office's sizes that do not fit this leg.
func (q Question) warnMisfits(ranked []Candidate, listed []string, add adder) {
	for _, label := range listed {
		i := slices.IndexFunc(ranked, func(c Candidate) bool { return c.Size == label })
		if i < 0 {
			add(CodeUnknownSize, "recommended size %s is not in this catalogue", label)
			continue
		}
		switch c := ranked[i]; c.Verdict {
		case Fits, Unjudged:
		case Borderline:
			add(CodeMisfit, "recommended size %s is borderline, on the %s side (%s)", label, c.Side, c.chances())
		case Loose:
			text := "recommended size %s does not fit by play: loose (%s)"
			if c.verified {
				text += "; the office's list comes first"
			}
			add(CodeMisfit, text, label, c.chances())
		default:
			add(CodeMisfit, "recommended size %s does not fit: %s (%s)", label, c.Verdict, c.chances())
		}
	}
}

// chances says in words the probability behind the verdict.
func (c Candidate) chances() string {
	switch {
	case c.Verdict == Slips && c.PSlips != nil:
		return "slips with probability " + metrology.Percent(*c.PSlips)
	case c.Verdict == Loose || c.Side == Loose:
		return "loose with probability " + metrology.Percent(c.PLoose)
	default:
		return "tight with probability " + metrology.Percent(c.PTight)
	}
}

func (q Question) warnStops(leg Leg, add adder) {
	for _, stop := range []struct {
		name string
		leg  *Leg
	}{{"upper", q.UpperStop}, {"lower", q.LowerStop}} {
		if stop.leg != nil && stop.leg.MeanMM <= leg.MeanMM {
			add(CodeStop, "the %s stop (%.2f mm) is not wider than the leg (%.2f mm): measure both again on their widest axes",
				stop.name, stop.leg.MeanMM, leg.MeanMM)
		}
	}
}

// warnWidth tells of a width that is unusual for the species.
func (q Question) warnWidth(leg Leg, add adder) {
	if s := q.Species; s != nil {
		if s.MinWidth > 0 && leg.High() < s.MinWidth.MM() {
			add(CodeRange, "leg %.2f mm is below the species' known range, which starts at %.2f mm: check species and reading", leg.MeanMM, s.MinWidth.MM())
		}
		if s.MaxWidth > 0 && leg.Low() > s.MaxWidth.MM() {
			add(CodeRange, "leg %.2f mm is above the species' known range, which ends at %.2f mm: check species and reading", leg.MeanMM, s.MaxWidth.MM())
		}
	}
	if h := q.History; h != nil && h.N >= enoughHistory {
		if z := h.Z(leg); math.Abs(z) > farFromHistory {
			add(CodeHistory, "leg %.2f mm is far from this bench's own (median %.2f mm of %d birds, robust z %+.1f): check species and reading", leg.MeanMM, h.Median, h.N, z)
		}
	}
}

// Z returns how far a leg lies from the history's median, in robust standard
// deviations widened by the leg's own uncertainty:
//
//	z = (w̄ − median) / √(SD² + u²)
//
// It is 0 when both are 0.
func (h History) Z(leg Leg) float64 {
	spread := math.Hypot(h.SD, leg.UMM)
	if spread == 0 {
		return 0
	}
	return (leg.MeanMM - h.Median) / spread
}
