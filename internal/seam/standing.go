package seam

import (
	"fmt"
	"time"

	"seamfit/internal/metrology"
)

// Attempt is one closing of an unnumbered or rejected band on a dowel, as it
// was at the first look.
type Attempt struct {
	At    time.Time
	Flush bool  // the bander's own look found nothing wrong
	Blind Blind // the trainer's look, made without knowing the bander's
}

// Blind is what a trainer's blind look said.
type Blind uint8

// What a blind look can say.
const (
	NoBlindLook Blind = iota
	BlindFlush
	BlindDefect
)

// Success reports whether the closing counts as flush: by the trainer's blind
// look where there is one, else by the bander's own.
func (a Attempt) Success() bool {
	if a.Blind != NoBlindLook {
		return a.Blind == BlindFlush
	}
	return a.Flush
}

// Readiness is whether the bench target is met.
type Readiness string

// The two states of the bench target.
const (
	TargetMet      Readiness = "bench target met"
	KeepPractising Readiness = "keep practising"
)

// Lapse is why a target that was met is met no more.
type Lapse string

// The reasons for a lapse.
const (
	NoLapse Lapse = ""
	Paused  Lapse = "no closing for longer than the set days"
	Decline Lapse = "too many of the latest closings failed"
)

// Standing is where one bander stands with one size (or size group) and metal.
type Standing struct {
	Readiness Readiness
	Lapse     Lapse     // why it is met no more; "" when it never was, or is
	MetAt     time.Time // the closing that last met it; zero: never
	// Score is the chart's S, Needed the h that meets the target; Scores is S
	// after each closing. While the target is met S rests, and starts again
	// from 0 after a lapse.
	Score, Needed float64
	Scores        []float64
	Closings      int
	Successes     int
	// Flush is the 95 % Wilson interval of the part that is flush.
	Flush metrology.Interval
	Trend Trend
}

// Standing goes through a bander's closings with one size and metal in the
// order in which they are given, which is theirs, whatever their times say;
// now is the time at which the standing is asked for. A pause longer than the
// set days starts the charts from nothing.
func (t Target) Standing(attempts []Attempt, now time.Time) (Standing, error) {
	s := Standing{Readiness: KeepPractising, Needed: t.meet.h, Closings: len(attempts)}
	var up, down count
	restart := func(why Lapse) {
		if s.Readiness == TargetMet {
			s.Readiness, s.Lapse = KeepPractising, why
		}
		s.Score, up, down = 0, count{}, count{}
	}
	outcomes := make([]bool, len(attempts))
	for i, a := range attempts {
		if i > 0 && t.paused(attempts[i-1].At, a.At) {
			restart(Paused)
		}
		outcomes[i] = a.Success()
		if outcomes[i] {
			s.Successes++
		}
		var signal bool
		if s.Readiness == TargetMet {
			if down, signal = t.lose.next(down, !outcomes[i]); signal {
				restart(Decline)
			}
		} else {
			up, signal = t.meet.next(up, outcomes[i])
			s.Score = t.meet.sum(up.events, up.others)
			if signal {
				s.Readiness, s.Lapse, s.MetAt = TargetMet, NoLapse, a.At
			}
		}
		s.Scores = append(s.Scores, s.Score)
	}
	if n := len(attempts); n > 0 && t.paused(attempts[n-1].At, now) {
		restart(Paused)
	}
	s.Trend = trendOf(outcomes)
	s.Flush = metrology.Interval{Low: 0, High: 1}
	if len(attempts) > 0 {
		var err error
		if s.Flush, err = metrology.Wilson(s.Successes, len(attempts), level); err != nil {
			return Standing{}, fmt.Errorf("the part of closings that are flush: %w", err)
		}
	}
	return s, nil
}

// paused reports whether more than the set days lie between two times. A
// clock that ran backwards is no pause.
func (t Target) paused(from, to time.Time) bool {
	return t.scheme.LapseDays > 0 && to.Sub(from) > time.Duration(t.scheme.LapseDays)*24*time.Hour
}
