package drill

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"seamfit/internal/bench"
	"seamfit/internal/catalogue"
	"seamfit/internal/fit"
	"seamfit/internal/seam"
)

// The most points of each part of a score. The shares are the training's own:
// the seam weighs most.
const (
	sizePoints   = 25
	seamPoints   = 40
	recordPoints = 25
	timePoints   = 10
)

// score is how one bird went.
type score struct {
	bird                     int
	name                     string
	size, seam, record, time int
	told                     []string // consequences
	practise                 []string
}

func (r score) sum() int { return r.size + r.seam + r.record + r.time }

// After returns what becomes of a bird that has left the hand: what its
// trainee did not see, and what that does to the bird. Nothing is told before.
func (s *Scenario) After(state bench.State, bird int, h bench.Handling, done []seam.Handiwork) []string {
	if h.InHand() || h.Fate == nil {
		return nil
	}
	return s.score(state, bird, h, done).told
}

// Score returns how the birds went, by their number in the run, and what to
// practise.
func (s *Scenario) Score(state bench.State, birds map[int]bench.Handling, done []seam.Handiwork) []string {
	if len(birds) == 0 {
		return []string{"No bird has left the hand yet: there is nothing to score."}
	}
	lines := []string{fmt.Sprintf("Level %d, seed %d. The shares are this training's own; no office gives them.", s.level, s.seed)}
	total := 0
	practise := map[string]int{}
	for _, bird := range slices.Sorted(maps.Keys(birds)) {
		one := s.score(state, bird, birds[bird], done)
		total += one.sum()
		lines = append(lines, fmt.Sprintf("Bird %d, %s: size %d of %d, seam %d of %d, record %d of %d, time %d of %d: %d",
			bird, one.name, one.size, sizePoints, one.seam, seamPoints, one.record, recordPoints, one.time, timePoints, one.sum()))
		lines = append(lines, one.told...)
		for _, p := range one.practise {
			practise[p]++
		}
	}
	lines = append(lines, fmt.Sprintf("In all: %d of 100.", total/len(birds)))
	if len(practise) == 0 {
		return append(lines, "Nothing stands out to practise: go a level up, or to the dowel. It is no licence.")
	}
	wanted := slices.SortedFunc(maps.Keys(practise), func(a, b string) int {
		return cmp.Or(cmp.Compare(practise[b], practise[a]), cmp.Compare(a, b))
	})
	return append(lines, "Practise: "+strings.Join(wanted, "; ")+".")
}

func (s *Scenario) score(state bench.State, bird int, h bench.Handling, done []seam.Handiwork) score {
	r := score{bird: bird, name: s.of(bird).name}
	r.scoreSize(h)
	s.scoreSeam(&r, state, h, done)
	switch {
	case h.Done():
		r.record = recordPoints
	case h.Fate != nil && h.Fate.Fate == bench.FateUnconfirmed:
		r.record = recordPoints / 2
		r.practise = append(r.practise, "confirming a closing before the bird is let go")
	default:
		r.practise = append(r.practise, "telling the record to its end")
	}
	r.scoreTelling(s.of(bird).told(), state, h)
	r.scoreTime(h)
	return r
}

// scoreTelling takes a fifth of the record's points for each thing that was
// told of the bird and is not so, and names it.
func (r *score) scoreTelling(bird telling, state bench.State, h bench.Handling) {
	for _, w := range bird.wrong(state, h) {
		r.record = max(r.record-recordPoints/5, 0)
		r.told = append(r.told, fmt.Sprintf("Bird %d, %s: its %s was told as %s, and is %s.", r.bird, r.name, w.what, w.told, w.is))
		r.practise = append(r.practise, "telling the bird as it is: "+w.what)
	}
}

func (r *score) scoreSize(h bench.Handling) {
	switch {
	case h.Choice == nil:
		r.practise = append(r.practise, "measuring before choosing a size")
	case h.Choice.Method == bench.MethodNotMeasured:
		r.size = sizePoints / 5
		r.practise = append(r.practise, "measuring before choosing a size")
	case h.Choice.Verdict == string(fit.Fits):
		r.size = sizePoints
	default:
		r.size = sizePoints / 2
		r.practise = append(r.practise, "reading the ruler: a size that fits")
	}
}

// Times in the hand, for the score only: no official limit was found.
const (
	quick = 5 * time.Minute
	slow  = 10 * time.Minute
)

func (r *score) scoreTime(h bench.Handling) {
	if h.InHand() {
		return
	}
	switch held := h.Held(h.Left); {
	case held <= quick:
		r.time = timePoints
	case held <= slow:
		r.time = timePoints / 2
	default:
		r.practise = append(r.practise, "a shorter time in the hand")
	}
}

// scoreSeam compares each look that was told with what there was to see, and
// says what the bird wears now.
func (s *Scenario) scoreSeam(r *score, state bench.State, h bench.Handling, done []seam.Handiwork) {
	missed, alarms, closings := 0, 0, 0
	for _, band := range h.Bands {
		var told [][]string
		for _, c := range h.Closings {
			if c.Band == band.ID {
				told = append(told, c.Findings)
			}
		}
		closings += len(told)
		seen, _ := s.seen(state, r.bird, h, band.ID, done)
		// Looks from before the station was opened anew left no handiwork.
		told = told[max(0, len(told)-len(seen)):]
		for i := range told {
			for _, id := range without(seen[i], told[i]) {
				missed++
				r.practise = append(r.practise, "seeing "+words(id))
			}
			for _, id := range without(told[i], seen[i]) {
				alarms++
				r.practise = append(r.practise, "telling flush from "+words(id))
			}
		}
	}
	r.seam = seamPoints - 8*missed - 3*alarms - 4*max(0, closings-usualClosings)
	band, worn := h.CurrentBand()
	switch {
	case h.Fate == nil:
		r.seam = 0
	case worn:
		seen, ok := s.seen(state, r.bird, h, band.ID, done)
		if !ok || len(seen) == 0 || len(seen[len(seen)-1]) == 0 {
			break
		}
		r.seam = 0
		for _, id := range seen[len(seen)-1] {
			r.told = append(r.told, fmt.Sprintf("Bird %d, %s, wears a band with %s: %s.", r.bird, r.name, words(id), consequence(id)))
		}
	case h.Fate.Fate != bench.FateUnbanded:
		r.seam = 0
	}
	r.seam = max(r.seam, 0)
}

// usualClosings is how many closings cost nothing.
const usualClosings = 3

// seen returns what there was to see at each look at a band that was told.
func (s *Scenario) seen(state bench.State, bird int, h bench.Handling, band int, done []seam.Handiwork) (looks [][]string, ok bool) {
	i := slices.IndexFunc(done, func(d seam.Handiwork) bool { return d.Handling == h.ID && d.Band == band })
	if i < 0 {
		return nil, false
	}
	acts := []rune(done[i].Acts)
	for n, key := range acts {
		if key != seam.LookKey {
			continue
		}
		w, err := s.work(state, bird, h, band, string(acts[:n]))
		if err != nil {
			return nil, false
		}
		looks = append(looks, w.Sight.Findings())
	}
	return looks, true
}

// without returns what is in a and not in b.
func without(a, b []string) []string {
	return slices.DeleteFunc(slices.Clone(a), func(id string) bool { return slices.Contains(b, id) })
}

func words(id string) string {
	name := strings.ReplaceAll(id, "_", " ")
	switch id {
	case catalogue.Overlap, catalogue.OutOfRound:
		return map[string]string{catalogue.Overlap: "an overlap", catalogue.OutOfRound: "an outline out of round"}[id]
	case catalogue.Caught:
		return "something caught"
	default:
		return "a " + name
	}
}

// consequence is what a defect does to the bird that wears it [practice].
func consequence(id string) string {
	switch id {
	case catalogue.Gap, catalogue.Taper:
		return "threads and grass catch in it, and it opens further with the years"
	case catalogue.Overlap:
		return "the edge inside rubs the leg at every step, and the band may be tight"
	case catalogue.Spiral:
		return "its corners stand out and cut"
	case catalogue.OutOfRound:
		return "it does not turn, and presses where it is narrow"
	case catalogue.Burr:
		return "it cuts the skin"
	case catalogue.Caught:
		return "what is pinched dies"
	default:
		return "it hurts"
	}
}
