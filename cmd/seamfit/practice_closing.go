package main

import (
	"context"
	"fmt"
	"strings"
	"time"

	"seamfit/internal/length"
	"seamfit/internal/seam"
)

// closing asks what one closing was like, and stores it.
func (p *practising) closing(ctx context.Context) error {
	began := p.d.now()
	c := p.next
	c.ID, c.By, c.Trainer = p.a.newID(), p.trainees[p.now], p.trainer
	c.Size, c.Metal, c.Closure = p.band.size.Label, p.band.metal, p.band.closure.ID
	if _, err := p.d.question(ctx, "  Close it with all its squeezes; Enter when the pliers are off"); err != nil {
		return err
	}
	c.At = p.d.now()
	// Nobody closes a band within a second: such a time was not taken.
	if took := c.At.Sub(began); took >= time.Second {
		c.Took = min(took, longestClosing).Round(time.Millisecond)
	}
	if err := p.number(ctx, &c); err != nil {
		return err
	}
	if p.trainer != "" && p.trainer != c.By {
		look, err := p.look(ctx, fmt.Sprintf("  %s looks, %s not looking on:", p.trainer, c.By))
		if err != nil {
			return err
		}
		c.Blind, c.BlindLook = seam.BlindFlush, look
		if len(look) > 0 {
			c.Blind = seam.BlindDefect
		}
	}
	look, err := p.look(ctx, fmt.Sprintf("  %s looks all round:", c.By))
	if err != nil {
		return err
	}
	c.Look = look
	if p.measure != nil {
		if err := p.widths(ctx, &c); err != nil {
			return err
		}
	}
	return p.keep(ctx, c)
}

// number asks for the number of a numbered band, and says what becomes of it.
func (p *practising) number(ctx context.Context, c *seam.PracticeClosing) error {
	for c.Band == seam.Numbered {
		text, err := p.d.question(ctx, "  The band's number (it counts as destroyed):")
		if err != nil {
			return err
		}
		number, err := p.files.setup.Pattern.Parse(text)
		if err == nil {
			c.Number = number.String()
			return nil
		}
		p.d.say("  %s", err.Error())
	}
	return nil
}

func (p *practising) look(ctx context.Context, who string) ([]string, error) {
	keys := "f flush"
	for _, id := range p.band.closure.Defects {
		keys += fmt.Sprintf(", %c %s", p.letters[id], strings.ReplaceAll(id, "_", " "))
	}
	p.d.say("  %s", keys)
	for {
		answer, err := p.d.question(ctx, who)
		if err != nil {
			return nil, err
		}
		if found, told, err := p.lookCards(ctx, who, answer); told || err != nil {
			return found, err
		}
		found, err := parseLook(answer, p.band.closure, p.letters)
		if err == nil {
			return found, nil
		}
		p.d.say("  %s", err.Error())
	}
}

// anglesOf says where each width is measured.
var anglesOf = [...]string{"through the seam", "60° to its left", "60° to its right"}

// widths measures the band, and asks for another look where the eye missed
// something. What the eye saw stands.
func (p *practising) widths(ctx context.Context, c *seam.PracticeClosing) error {
	var widths []seam.Dimension
	for len(widths) < len(anglesOf) {
		reading, words, err := p.d.measure(ctx, fmt.Sprintf("  width %d of 3, %s (or: none):", len(widths)+1, anglesOf[len(widths)]))
		switch {
		case err != nil:
			return err
		case reading != nil:
			widths = append(widths, seam.Dimension{Value: reading.value, Resolution: max(reading.step, length.Nanometre)})
		case words == "none":
			return nil
		}
	}
	kept, judgement, err := p.measure.judge(ctx, p.records, widths, p.band, c.Dowel, c.Number)
	if err != nil {
		p.d.say("  ! not judged: %s", err.Error())
		return nil
	}
	c.Measured = kept
	p.d.say("  flush outer diameter %.3f mm, %s", judgement.OuterMM, judgement.OuterFrom())
	p.d.say("  by its widths: %s, gap %.2f ± %.2f mm, out of round %.2f mm (limits are bench settings)",
		string(judgement.Verdict), judgement.GapMM, 2*judgement.GapUMM, judgement.OutOfRoundMM)
	if missed := judgement.Missed(c.Look); len(missed) > 0 {
		p.d.say("  ! The widths speak of %s, and the look did not: look again, now that you know.", strings.Join(missed, ", "))
	}
	return nil
}

// keep stores a closing, and says where its trainee stands.
func (p *practising) keep(ctx context.Context, c seam.PracticeClosing) error {
	if err := c.Check(); err != nil {
		return err
	}
	if p.records == nil {
		records, err := p.a.openRecords(ctx, p.files.setup, false)
		if err != nil {
			return err
		}
		p.records = records
	}
	if err := p.records.SavePractice(ctx, []seam.PracticeClosing{c}); err != nil {
		p.d.say("  ! not stored: %s", err.Error())
		return nil
	}
	p.told = append(p.told, c)
	stands, err := p.standings()
	if err != nil {
		return err
	}
	for _, r := range stands {
		if r.Group == (seam.Group{By: c.By, Bands: seam.BySizeAndMetal(c)}) {
			word := "flush"
			if !r.Outcomes[len(r.Outcomes)-1] {
				word = strings.Join(c.Defects(), ", ")
			}
			p.d.say("  Stored: closing %d, %s. Score %.2f of %.2f: %s.", r.Closings, word, r.Score, r.Needed, string(r.Readiness))
		}
	}
	return nil
}
