package drill

import (
	"errors"
	"fmt"
	"slices"

	"seamfit/internal/bands"
	"seamfit/internal/bench"
	"seamfit/internal/length"
	"seamfit/internal/seam"
)

// Scenario is a training run made from a seed and a level: birds, legs, flaws
// of bands, and the springy metal. The same seed, level and keys always give
// the same run.
type Scenario struct {
	seed     uint64
	level    int
	sitting  bench.Shift
	subjects []subject
}

// subject is one bird of a scenario.
type subject struct {
	story, search, name string
	ageKey, sexKey      string
	width               length.Length
	prefix              string // of the numbers on its tubing
	flaw                Flaw   // of its first band
}

// Levels is the number of levels: 1 has soft metal and hints; 2 hard metal,
// small and large, and no hints; 3 the largest bands and flaws besides.
const Levels = 3

// ErrLevel is the error of a level that there is not.
var ErrLevel = errors.New("there is no such level; choose 1, 2 or 3")

// NewScenario returns a run. It returns ErrLevel for a level out of 1 to
// Levels.
func NewScenario(seed uint64, level int) (*Scenario, error) {
	if level < 1 || level > Levels {
		return nil, fmt.Errorf("level %d: %w", level, ErrLevel)
	}
	s := &Scenario{
		seed: seed, level: level,
		sitting: bench.Shift{
			Place: "Hollow Skerry", Bander: "Mira Tolland", Permit: fmt.Sprintf(runPermit, level, seed), Catalogue: "us-federal", Training: true,
		},
	}
	for i, pool := range pools(level) {
		k := kinds()[pool[pick(len(pool), seed, uint64(i), 1)]]
		s.subjects = append(s.subjects, s.subject(uint64(i), k))
	}
	return s, nil
}

// runPermit names a run in its shift, by which it is known again.
const runPermit = "TRAINING level %d seed %d"

// RunOf returns the run whose shift that is; false when it is no run's.
func RunOf(shift bench.Shift) (*Scenario, bool) {
	var level int
	var seed uint64
	if _, err := fmt.Sscanf(shift.Permit, runPermit, &level, &seed); err != nil || !shift.Training {
		return nil, false
	}
	s, err := NewScenario(seed, level)
	return s, err == nil
}

// kind is a kind of bird, with the inner diameter of the size that its office
// lists [source and memory, as the species list has them].
type kind struct {
	search, name, circumstance string
	inner                      length.Length
	prefix                     string
}

func kinds() []kind {
	const mil = length.Inch / 1000
	soft, hard := "aluminium will do", "the permit asks for hard metal"
	return []kind{
		{"common tern", "Common Tern", soft, 156 * mil, "1232"},
		{"snowy plover", "Snowy Plover", soft, 109 * mil, "1231"},
		{"snowy plover", "Snowy Plover", "on abrasive sand: " + hard, 109 * mil, "1241"},
		{"piping plover", "Piping Plover", "on abrasive sand: " + hard, 125 * mil, "1243"},
		{"ring-billed gull", "Ring-billed Gull", hard, 313 * mil, "1255"},
		{"atlantic puffin", "Atlantic Puffin", hard, 313 * mil, "1265"},
		{"herring gull", "Herring Gull", hard, 375 * mil, "1236"},
		{"great black-backed", "Great Black-backed Gull", hard, 438 * mil, "1237"},
	}
}

// pools are for each bird of a level the kinds that it may be of.
func pools(level int) [][]int {
	switch level {
	case 1:
		return [][]int{{0}, {1}}
	case 2:
		return [][]int{{2, 3}, {4, 5, 6}}
	default:
		return [][]int{{2, 3}, {4, 5}, {6, 7}}
	}
}

func (s *Scenario) subject(i uint64, k kind) subject {
	age := pick(2, s.seed, i, 2)
	sex := pick(3, s.seed, i, 3)
	// The play is that of the best size, a little more or less.
	play := 1.32 + 0.08*(chance(s.seed, i, 4)-0.5)
	const step = 10 * length.Micrometre
	width := length.Length(float64(k.inner)/play) / step * step
	b := subject{
		story:  fmt.Sprintf("A bird %s: %s, %s, %s.", [...]string{"from the first net", "from the trap at the shore"}[pick(2, s.seed, i, 5)], k.name, [...]string{"adult", "immature"}[age], k.circumstance),
		search: k.search, name: k.name, ageKey: [...]string{"a", "i"}[age], sexKey: [...]string{"f", "m", "u"}[sex],
		width: width, prefix: k.prefix,
	}
	if s.level == Levels {
		b.flaw = [...]Flaw{NoFlaw, Twisted, Feather}[(i+uint64(pick(3, s.seed, 6)))%3]
	}
	return b
}

// Level returns the run's level.
func (s *Scenario) Level() int { return s.level }

// Seed returns what the run was made from.
func (s *Scenario) Seed() uint64 { return s.seed }

// Birds returns how many birds the run has.
func (s *Scenario) Birds() int { return len(s.subjects) }

// Shift returns the training shift.
func (s *Scenario) Shift() bench.Shift { return s.sitting }

// Leg returns the leg width of a bird, counted from 1. After the last one the
// birds come again.
func (s *Scenario) Leg(bird int) length.Length { return s.of(bird).width }

// Hints reports whether the run shows how a band is closed.
func (s *Scenario) Hints() bool { return s.level == 1 }

func (s *Scenario) of(bird int) subject {
	return s.subjects[(max(bird, 1)-1)%len(s.subjects)]
}

// number returns the number of a bird's band, which counts from 0. No number
// comes twice in a run.
func (s *Scenario) number(bird, band int) string {
	first := 10 + pick(800, s.seed, 7)*100
	return fmt.Sprintf("%s-%05d", s.of(bird).prefix, (first+10*max(bird, 1)+band)%100_000)
}

// Coach tells what stands round the bench: the bird, the next band on the
// tubing, the digits on the metal. With hints it also says what comes next.
func (s *Scenario) Coach(bird int, h bench.Handling, state bench.State) []string {
	b := s.of(bird)
	switch {
	case h.ID == "" && bird > len(s.subjects):
		return []string{"That was the last bird: s shows how it went; F2 goes on, and Ctrl+Q leaves."}
	case h.ID == "":
		return []string{b.story + " F2 as soon as it is in the hand."}
	case h.Done() && bird >= len(s.subjects):
		return []string{"s shows how it went; F2 goes on, and Ctrl+Q leaves."}
	case h.Done():
		return []string{"Next: " + s.of(bird+1).story + " F2 when it is in the hand."}
	}
	lines := s.stands(bird, h, state)
	if s.Hints() {
		return b.told().coached(h, state, lines)
	}
	return lines
}

// told returns what a trainee ought to tell of the bird.
func (b subject) told() telling { return telling{b.name, b.ageKey, b.sexKey} }

func (s *Scenario) stands(bird int, h bench.Handling, state bench.State) []string {
	b := s.of(bird)
	hint := func(text string) []string {
		if s.Hints() {
			return []string{text}
		}
		return nil
	}
	band, taken := h.CurrentBand()
	widths, _ := h.Counted()
	switch {
	case h.Fate != nil:
		return hint("All is told: Enter, or F9, completes the record, or says what is missing.")
	case h.Bird.Species == "":
		return append([]string{b.story}, hint(fmt.Sprintf("Type %q, choose %s, then Enter.", b.search, b.name))...)
	case h.Bird.Leg == bench.LegUnsaid:
		return []string{fmt.Sprintf("You see: age %s, sex %s; the right leg is the free one.", b.ageKey, b.sexKey)}
	case len(widths) == 0:
		return []string{"The caliper lies in your hand: the space bar squeezes it on the tarsus."}
	case h.Choice == nil:
		return hint("Three readings that agree, then the size: key 1 takes the best.")
	case !taken:
		removed := 0
		for _, had := range h.Bands {
			if had.State == bands.Destroyed {
				removed++
			}
		}
		return []string{fmt.Sprintf("The next band on the tubing is %s.", s.number(bird, removed))}
	}
	closing, closed := h.LastClosing()
	switch {
	case h.Confirmed(state.Setup.Book):
		return hint("Let the bird go with F8, then say how it left: b for banded.")
	case closed && closing.Flush():
		return []string{fmt.Sprintf("On the metal stands %s.", band.Number)}
	case closed:
		return hint("What was found is mended with the pliers, and looked at again. A gap: turned, and past each other slightly. An overlap: nudged about 1 mm from the edge, turned left, then right.")
	default:
		return hint("Set the pliers about 1 mm from the edge, squeeze until the edges meet, turn the pliers, and squeeze once more; then look.")
	}
}

// errNoBand is that there is nothing for the pliers.
var errNoBand = errors.New("no band of a butt-end closure is at work")

// Work returns what the band at work on a bird is like after the acts, told by
// the keys of the tools. It returns an error when there is no butt-end band,
// or none whose spring is known.
func (s *Scenario) Work(state bench.State, bird int, h bench.Handling, acts string) (seam.Worked, error) {
	band, ok := h.CurrentBand()
	if !ok {
		return seam.Worked{}, errNoBand
	}
	return s.work(state, bird, h, band.ID, acts)
}

func (s *Scenario) work(state bench.State, bird int, h bench.Handling, id int, acts string) (seam.Worked, error) {
	i := slices.IndexFunc(h.Bands, func(b bench.Band) bool { return b.ID == id })
	if i < 0 || h.Choice == nil || h.Choice.Closure != "butt-end" {
		return seam.Worked{}, errNoBand
	}
	size, _ := state.Catalogue().Size(h.Choice.Size)
	flaw := NoFlaw
	if i == 0 {
		flaw = s.of(bird).flaw
	}
	seed := mixed(s.seed + 1000*uint64(max(bird, 1)) + uint64(i))
	springy, err := NewSpringy(Blank{Inner: size.Inner, Thickness: size.Thickness, Height: size.Height, Metal: h.Choice.Metal}, flaw, seed)
	if err != nil {
		return seam.Worked{}, err
	}
	w := seam.Worked{Pliers: seam.Pliers{EdgeMM: edgeStep * float64(pick(7, seed, 8))}}
	for _, key := range acts {
		springy = actOn(&w, springy, key)
	}
	w.Sight = springy.Sight()
	return w, nil
}
