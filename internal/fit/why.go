package fit

import (
	"fmt"
	"strings"
)

// Why says in one short line why a size stands where it stands among those of
// its result: what speaks against it first, then the office's list, then its
// play and the probability behind its verdict.
func (c Candidate) Why(r Result, m Model) string {
	var parts []string
	for _, w := range c.Warnings {
		switch w.Code {
		case CodeClosure:
			parts = append(parts, "closure not allowed")
		case CodeTall:
			parts = append(parts, "too high for the leg")
		case CodeDiscontinued:
			parts = append(parts, "no longer made")
		}
	}
	if c.Recommended {
		parts = append(parts, c.listedWords())
	}
	if text := c.playWords(r, m); text != "" {
		parts = append(parts, text)
	}
	return strings.Join(parts, "; ")
}

func (c Candidate) listedWords() string {
	listed := "listed"
	if !c.verified {
		listed = "listed, not verified"
	}
	if c.ListedFor != "" {
		return listed + " for " + c.ListedFor + "s"
	}
	return listed
}

// playWords say what decided the verdict.
func (c Candidate) playWords(r Result, m Model) string {
	target := wholePercent(m.TargetPlay)
	switch {
	case c.Verdict == Unjudged && c.Recommended:
		return "not judged by its play"
	case c.Verdict == Unjudged:
		return "the office's list decides"
	case c.Verdict == Slips && c.PSlips != nil:
		return "slips over joint or foot " + wholePercent(*c.PSlips)
	case c.Verdict == Tight && c.Play <= 0:
		return "narrower than the leg"
	case c.Verdict == Tight:
		return "tight " + wholePercent(c.PTight)
	case c.Verdict == Loose:
		return "loose " + wholePercent(c.PLoose)
	case c.Verdict == Borderline && c.Side == Tight:
		return fmt.Sprintf("tight %s, limit %s", wholePercent(c.PTight), wholePercent(acceptTight))
	case c.Verdict == Borderline:
		return fmt.Sprintf("loose %s, limit %s", wholePercent(c.PLoose), wholePercent(acceptLoose))
	case c.verified && c.PTight/acceptTight >= c.PLoose/acceptLoose:
		return "tight " + wholePercent(c.PTight)
	case c.verified:
		return "loose " + wholePercent(c.PLoose)
	case c.Size == r.Best:
		return "nearest to " + target + " play"
	case r.Best == "":
		return "by its play alone"
	case r.best().verified:
		return "not listed"
	case c.Recommended:
		return ""
	case c.InnerMM == r.best().InnerMM:
		return "as wide inside as " + r.Best
	case m.fromTarget(c.Play) <= m.fromTarget(r.best().Play):
		return "" // a size that is no longer made, or that another reason puts back
	default:
		return "farther from " + target + " play"
	}
}

// best returns the size that is advised; the zero value where there is none.
func (r Result) best() Candidate {
	for _, c := range r.Sizes {
		if c.Size == r.Best {
			return c
		}
	}
	return Candidate{}
}

// wholePercent writes a probability; never 0 or 100 for what is only nearly so.
func wholePercent(p float64) string {
	switch {
	case p > 0 && p < 0.005:
		return "<1 %"
	case p > 0.995 && p < 1:
		return ">99 %"
	default:
		return fmt.Sprintf("%.0f %%", 100*p)
	}
}
