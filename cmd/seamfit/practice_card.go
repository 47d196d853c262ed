package main

import (
	"context"
	"slices"
	"strings"

	"seamfit/internal/bench"
)

// card returns the command card that was scanned with a scanner that types.
func (p *practising) card(answer string) (bench.Card, bool) {
	return bench.CardNamed(bench.Cards(p.files.setup.Book, bench.State{Setup: p.files.setup}.Catalogue(), p.files.settings.People.Names()), answer)
}

// takesTurn gives the turn to a person of the bench, who may be new here.
func (p *practising) takesTurn(name string) {
	at := slices.IndexFunc(p.trainees, func(trainee string) bool { return strings.EqualFold(trainee, name) })
	if at < 0 {
		at, p.trainees = len(p.trainees), append(p.trainees, name)
	}
	p.now = at
}

// turnCard obeys a card between two closings: the next trainee's turn, or
// bands of another size or metal. It reports whether the answer was a card.
func (p *practising) turnCard(answer string) bool {
	if !bench.IsCard(answer) {
		return false
	}
	c, known := p.card(answer)
	switch {
	case known && c.Act == bench.CardSwitch:
		p.now = (p.now + 1) % len(p.trainees)
	case known && c.Act == bench.CardPerson:
		p.takesTurn(c.Value)
	case known && c.Act == bench.CardSize:
		p.settled("size", c.Value)
	case known && c.Act == bench.CardMetal:
		p.change(func() error {
			band, err := p.files.practisedBand(p.band.size.Label, c.Value, "")
			if err == nil {
				p.band = band
			}
			return err
		})
	default:
		p.d.say("  that card says nothing here; people, switch, sizes and metals do, and findings when you look")
	}
	return true
}

// lookCards collects a look that is told by cards, from the first one on: the
// card for flush, or findings until the card that they are all told. ok is
// false for an answer that is no card of a look.
func (p *practising) lookCards(ctx context.Context, who, answer string) (found []string, ok bool, err error) {
	for {
		c, known := p.card(answer)
		switch {
		case known && c.Act == bench.CardFlush && len(found) == 0:
			return nil, true, nil
		case known && c.Act == bench.CardFinding:
			more, err := parseLook(c.Value, p.band.closure, p.letters)
			if err != nil {
				p.d.say("  %s", err.Error())
			}
			found = append(found, more...)
		case known && c.Act == bench.CardLooked && len(found) > 0:
			return found, true, nil
		case len(found) == 0:
			return nil, false, nil
		default:
			p.d.say("  scan what else was found, or the card that says that is all")
		}
		if answer, err = p.d.question(ctx, who); err != nil {
			return nil, false, err
		}
	}
}
