package main

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"seamfit/internal/metrology"
	"seamfit/internal/seam"
	"seamfit/internal/store"
)

// practising is a session of practice under way.
type practising struct {
	a        *app
	d        *dialogue
	files    benchFiles
	target   seam.Target
	letters  map[string]rune
	measure  *measuring // nil: widths are not asked for
	trainees []string
	now      int // index of the trainee whose turn it is
	trainer  string
	band     practised
	next     seam.PracticeClosing // what holds for the next closing too
	told     []seam.PracticeClosing
	earlier  []seam.PracticeClosing
	rods     []metrology.Rod // of the register, never a dowel
	records  *store.Store    // nil until the first closing is stored
}

var errPracticeOver = errors.New("the practice is over")

// practiceLive leads through closings, line by line, and stores each.
func (a *app) practiceLive(ctx context.Context, f practiceFlags, files benchFiles, target seam.Target) (err error) {
	p := &practising{a: a, files: files, target: target, letters: findingLetters(files.setup.Book), trainer: strings.TrimSpace(f.trainer)}
	if err := p.begin(f); err != nil {
		return err
	}
	if p.records, p.earlier, p.rods, err = a.practiceRecords(ctx, files); err != nil {
		return err
	}
	defer func() {
		if p.records != nil {
			err = errors.Join(err, p.records.Close())
		}
	}()
	var caliper feed
	if f.measure {
		p.measure = &measuring{a: a, files: files, outer: f.outer, thickness: f.thickness, of: f.of}
		if f.of != "" {
			if _, err := files.stringOf(ctx, p.records, f.of); err != nil {
				return fmt.Errorf("--string %w", err)
			}
		}
		link, err := a.caliperFeed(files.settings)
		if err != nil {
			return err
		}
		if link != nil {
			caliper = link
			defer func() { err = errors.Join(err, link.Close()) }()
		}
	}
	talk, stop := context.WithCancel(ctx)
	defer stop()
	p.d = a.newDialogue(talk, caliper)
	p.d.say("Practice closings on a dowel; never on a certified rod. %s", practiceAdvice)
	p.warnOfRod()
	err = p.run(talk, f)
	// The end of the input is the end of the practice: what was told is stored.
	if errors.Is(err, errPracticeOver) || errors.Is(err, errInputEnded) && len(p.told) > 0 {
		return p.conclude()
	}
	if ctx.Err() != nil && len(p.told) > 0 {
		return fmt.Errorf("the practice ended early; what was told, %d closings, is stored", len(p.told))
	}
	return err
}

// begin takes what the flags tell.
func (p *practising) begin(f practiceFlags) (err error) {
	for _, text := range []struct{ flag, value string }{{"--by", f.by}, {"--trainer", f.trainer}, {"--tool", f.tool}} {
		if err := visible(text.flag, text.value); err != nil {
			return err
		}
	}
	for _, name := range strings.Split(f.by, ",") {
		if name = strings.TrimSpace(name); name != "" && !slices.Contains(p.trainees, name) {
			p.trainees = append(p.trainees, name)
		}
	}
	if p.next.Dowel, err = dowelOf(f.dowel, f.dowelWidth); err != nil {
		return err
	}
	p.next.Tool = f.tool
	if p.next.Band = seam.PracticeBand(strings.ToLower(f.band)); !slices.Contains([]seam.PracticeBand{seam.Unnumbered, seam.Rejected, seam.Numbered}, p.next.Band) {
		return usagef("--band %q is none; use unnumbered, rejected or numbered", f.band)
	}
	if f.size != "" && f.metal != "" {
		p.band, err = p.files.practisedBand(f.size, f.metal, f.closure)
	}
	return err
}

func (p *practising) run(ctx context.Context, f practiceFlags) error {
	for len(p.trainees) == 0 {
		name, err := p.d.question(ctx, "Who practises?")
		if err != nil {
			return err
		}
		if shown("the name", name) == nil {
			p.trainees = append(p.trainees, name)
		}
	}
	for p.band.metal == "" {
		if err := p.askBand(ctx, f); err != nil {
			return err
		}
	}
	p.d.say("Enter when you begin to close. Other answers: a trainee's name, or number of the list -")
	p.d.say("size LABEL METAL - dowel SHAPE [MM] - band KIND - tool WORDS - trainer NAME - show - quit")
	for {
		if err := p.turn(ctx); err != nil {
			return err
		}
	}
}

func (p *practising) askBand(ctx context.Context, f practiceFlags) (err error) {
	size, metal := f.size, f.metal
	if size == "" {
		if size, err = p.d.question(ctx, "Which size of bands?"); err != nil {
			return err
		}
	}
	if metal == "" {
		if metal, err = p.d.question(ctx, "Of which metal?"); err != nil {
			return err
		}
	}
	band, unknown := p.files.practisedBand(size, metal, f.closure)
	if unknown == nil {
		p.band = band
		return nil
	}
	if f.size != "" && f.metal != "" {
		return unknown
	}
	p.d.say("  %s", unknown.Error())
	return nil
}

// turn is one answer to the question whose turn it is: a closing, or something
// that holds for the next ones.
func (p *practising) turn(ctx context.Context) error {
	if len(p.trainees) > 1 {
		list := make([]string, len(p.trainees))
		for i, name := range p.trainees {
			list[i] = fmt.Sprintf("%d %s", i+1, name)
		}
		p.d.say("Trainees: %s", strings.Join(list, ", "))
	}
	answer, err := p.d.question(ctx, fmt.Sprintf("%s, %s %s, %s dowel: Enter to begin", p.trainees[p.now], p.band.size.Label, p.band.metal, p.next.Dowel.Shape))
	if err != nil {
		return err
	}
	switch {
	case answer == "":
		return p.closing(ctx)
	case p.turnCard(answer):
		return nil
	}
	word, rest, _ := strings.Cut(answer, " ")
	rest = strings.TrimSpace(rest)
	switch strings.ToLower(word) {
	case "quit":
		return errPracticeOver
	case "show":
		return p.show()
	}
	if p.settled(strings.ToLower(word), rest) {
		return nil
	}
	return p.trainee(ctx, answer)
}

// settled takes an answer that holds for the next closings: a word and what it
// is to be. It reports whether it was one.
func (p *practising) settled(word, rest string) bool {
	switch word {
	case "size":
		label, metal, _ := strings.Cut(rest, " ")
		if metal == "" {
			metal = p.band.metal
		}
		p.change(func() (err error) {
			band, err := p.files.practisedBand(label, metal, "")
			if err == nil {
				p.band = band
			}
			return err
		})
	case "dowel":
		shape, width, _ := strings.Cut(rest, " ")
		p.change(func() error {
			dowel, err := dowelOf(shape, strings.TrimSpace(width))
			if err == nil {
				p.next.Dowel = dowel
				p.warnOfRod()
			}
			return err
		})
	case "band":
		p.change(func() error {
			kind := seam.PracticeBand(strings.ToLower(rest))
			if !slices.Contains([]seam.PracticeBand{seam.Unnumbered, seam.Rejected, seam.Numbered}, kind) {
				return fmt.Errorf("%q is no kind of band; say unnumbered, rejected or numbered", rest)
			}
			p.next.Band = kind
			return nil
		})
	case "tool":
		p.change(func() error {
			err := visible("the tool", rest)
			if err == nil {
				p.next.Tool = rest
			}
			return err
		})
	case "trainer":
		p.change(func() error {
			err := visible("the name", rest)
			if err == nil {
				p.trainer = strings.Trim(rest, "- ")
			}
			return err
		})
	default:
		return false
	}
	return true
}

// warnOfRod warns where the dowel may be one of the certified rods.
func (p *practising) warnOfRod() {
	if warning := mayBeRod(p.next.Dowel, p.rods); warning != "" {
		p.d.say("! %s", warning)
	}
}

func (p *practising) change(do func() error) {
	if err := do(); err != nil {
		p.d.say("  %s", err.Error())
	}
}

// trainee gives the turn to another one: by number, by name, or new.
func (p *practising) trainee(ctx context.Context, answer string) error {
	if n, err := strconv.Atoi(answer); err == nil {
		if n < 1 || n > len(p.trainees) {
			p.d.say("  there is no trainee %d; type the name of a new one", n)
			return nil
		}
		p.now = n - 1
		return nil
	}
	if i := slices.IndexFunc(p.trainees, func(name string) bool { return strings.EqualFold(name, answer) }); i >= 0 {
		p.now = i
		return nil
	}
	if err := visible("the name", answer); err != nil {
		p.d.say("  %s", err.Error())
		return nil
	}
	agreed, err := p.d.yes(ctx, fmt.Sprintf("%q is no one of the list. A new trainee?", answer))
	if err != nil || !agreed {
		return err
	}
	p.trainees, p.now = append(p.trainees, answer), len(p.trainees)
	return nil
}

func (p *practising) standings() ([]seam.Record, error) {
	return p.target.Records(slices.Concat(p.earlier, p.told), seam.BySizeAndMetal, p.d.now())
}

// show shows where the trainees of this session stand.
func (p *practising) show() error {
	stands, err := p.standings()
	if err != nil {
		return err
	}
	for _, r := range stands {
		if slices.Contains(p.trainees, r.By) {
			p.d.text(recordText(r))
		}
	}
	return p.d.failed
}

func (p *practising) conclude() error {
	p.d.say("closings stored: %d", len(p.told))
	stands, err := p.standings()
	if err != nil {
		return err
	}
	stands = slices.DeleteFunc(stands, func(r seam.Record) bool { return !slices.Contains(p.trainees, r.By) })
	if p.d.failed != nil {
		return p.d.failed
	}
	return p.a.printPractice(p.target, stands)
}
