package main

import (
	"bytes"
	"context"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"slices"
	"strconv"
	"strings"

	"seamfit/internal/length"
	"seamfit/internal/metrology"
)

// studyFlags are the flags of the command study.
type studyFlags struct {
	caliperFlags
	from           string
	items, banders string
	trials         int
	inOrder        bool
	out            string
}

// studying is a study under way. What was measured before is never shown.
type studying struct {
	d      *dialogue
	turns  []turn
	taken  []studied
	limit  length.Length
	hide   string // hides what is on the screen
	number int    // of the turns at the beginning
}

// turn is one measurement to be taken.
type turn struct{ item, bander, trial string }

// studied is one that was taken.
type studied struct {
	turn
	value    length.Length
	setAside string
}

func (a *app) studyLive(ctx context.Context, f studyFlags) (err error) {
	files, err := a.load()
	if err != nil {
		return err
	}
	if err := f.apply(&files.settings); err != nil {
		return err
	}
	if err := (outputFlags{svg: f.out}).check(); err != nil {
		return err
	}
	items, banders, err := f.names()
	if err != nil {
		return err
	}
	d, end, err := a.converse(ctx, files.settings)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, end()) }()
	s := &studying{d: d, limit: files.settings.Measure.AbsurdOver.Length}
	if screen, ok := d.out.(*os.File); ok {
		s.hide = hiding(screen, a.env("TERM"))
	}
	s.turns = plan(items, banders, f.trials, f.inOrder, uint64(a.now().UnixNano()))
	s.number = len(s.turns)
	s.d.say("A study: items %d, banders %d, trials %d; %d measurements.", len(items), len(banders), f.trials, s.number)
	s.d.say("No earlier value is shown; don't look at the caliper's own display before it is sent.")
	s.d.say("Other answers: wrong REASON (the one before; it is taken again) - quit")
	if err := s.read(ctx); err != nil {
		return s.keepPart(f.out, err)
	}
	if f.out != "" {
		if err := writeNew(f.out, s.csv()); err != nil {
			return err
		}
	}
	return a.concludeStudy(s)
}

// names reads the names of items and banders.
func (f studyFlags) names() (items, banders []string, err error) {
	if f.trials < 1 || f.trials > 20 {
		return nil, nil, usagef("--trials %d is out of range; use 1 to 20", f.trials)
	}
	for _, list := range []struct {
		flag, text string
		into       *[]string
	}{{"--items", f.items, &items}, {"--banders", f.banders, &banders}} {
		for _, name := range strings.Split(list.text, ",") {
			name = strings.TrimSpace(name)
			if err := shown("a name in "+list.flag, name); err != nil {
				return nil, nil, err
			}
			if slices.Contains(*list.into, name) {
				return nil, nil, usagef("%s names %q twice; give each its own name", list.flag, name)
			}
			*list.into = append(*list.into, name)
		}
	}
	return items, banders, nil
}

// plan orders the measurements: trial by trial and bander by bander, the items
// mixed anew each time so that nobody remembers the last value.
func plan(items, banders []string, trials int, inOrder bool, seed uint64) []turn {
	rng := rand.New(rand.NewPCG(seed, 0x57d1))
	var turns []turn
	for trial := range trials {
		for _, bander := range banders {
			order := slices.Clone(items)
			if !inOrder {
				rng.Shuffle(len(order), func(i, j int) { order[i], order[j] = order[j], order[i] })
			}
			for _, item := range order {
				turns = append(turns, turn{item, bander, strconv.Itoa(trial + 1)})
			}
		}
	}
	return turns
}

// hiding returns what makes a screen forget what stood on it: on a terminal
// that knows no more, so many empty lines that it is out of sight.
func hiding(out *os.File, term string) string {
	info, err := out.Stat()
	switch {
	case err != nil || info.Mode()&os.ModeCharDevice == 0:
		return ""
	case term == "" || term == "dumb":
		return strings.Repeat("\n", 60)
	default:
		return "\x1b[2J\x1b[3J\x1b[H"
	}
}

func (s *studying) read(ctx context.Context) error {
	for len(s.turns) > 0 {
		next := s.turns[0]
		reading, words, err := s.d.measure(ctx, fmt.Sprintf("%s measures item %s, trial %s (%d to go):", next.bander, next.item, next.trial, len(s.turns)))
		if err != nil {
			return err
		}
		if reading == nil {
			if err := s.answer(words); err != nil {
				return err
			}
			continue
		}
		if reading.value <= 0 || reading.value > s.limit {
			s.forget()
			s.d.say("  that is no width that is measured here (above 0, up to %s): zero the caliper, and measure again", s.limit.String())
			continue
		}
		s.taken = append(s.taken, studied{turn: next, value: reading.value})
		s.turns = s.turns[1:]
		s.forget()
		s.d.say("  taken: %d of %d", s.number-len(s.turns), s.number)
	}
	return s.d.failed
}

// forget hides what was typed.
func (s *studying) forget() {
	if s.hide == "" {
		return
	}
	s.d.prompt = ""
	if _, err := io.WriteString(s.d.out, s.hide); err != nil {
		s.d.failed = err
	}
}

func (s *studying) answer(words string) error {
	word, reason, _ := strings.Cut(words, " ")
	reason = strings.TrimSpace(reason)
	switch {
	case strings.EqualFold(word, "quit"):
		return errQuit
	case !strings.EqualFold(word, "wrong"):
		s.d.say("  %s is no reading; press the button, type millimetres, or: wrong REASON - quit", words)
	case reason == "" || visible("the reason", reason) != nil:
		s.d.say("  write the reason behind the word, like: wrong slipped")
	case len(s.taken) == 0 || s.taken[len(s.taken)-1].setAside != "":
		s.d.say("  there is no measurement before this one to take again")
	default:
		last := &s.taken[len(s.taken)-1]
		last.setAside = reason
		s.turns = append([]turn{last.turn}, s.turns...)
		s.d.say("  set aside: %s", reason)
	}
	return nil
}

// csv writes what was taken as the command reads it.
func (s *studying) csv() []byte {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	rows := [][]string{{"item", "bander", "trial", "value_mm", "set_aside"}}
	for _, t := range s.taken {
		rows = append(rows, []string{t.item, t.bander, t.trial, t.value.Exact(), t.setAside})
	}
	_ = w.WriteAll(rows) // a buffer takes everything
	return b.Bytes()
}

// keepPart keeps what was taken of a study that was left, beside where all of
// it would have gone.
func (s *studying) keepPart(out string, cause error) error {
	if out == "" || len(s.taken) == 0 {
		return cause
	}
	part := out + ".part"
	if err := writeNew(part, s.csv()); err != nil {
		return errors.Join(cause, err)
	}
	if errors.Is(cause, errQuit) || errors.Is(cause, errInputEnded) {
		return fmt.Errorf("left before the end; the %d values so far are in %s", len(s.taken), part)
	}
	return fmt.Errorf("%w; the %d values so far are in %s", cause, len(s.taken), part)
}

func (a *app) concludeStudy(s *studying) error {
	var rows []metrology.StudyRow
	for _, t := range s.taken {
		if t.setAside == "" {
			rows = append(rows, metrology.StudyRow{Item: t.item, Bander: t.bander, Trial: t.trial, Value: t.value.MM()})
		}
	}
	study, err := metrology.AnalyseStudy(rows)
	if err != nil {
		return err
	}
	if a.json() {
		return a.writeJSON(study)
	}
	s.d.say("")
	return a.printStudy(study)
}
