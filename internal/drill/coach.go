package drill

import (
	"fmt"
	"slices"

	"seamfit/internal/bands"
	"seamfit/internal/bench"
)

// Coach returns what to tell the newcomer now: bird counts from 1 in the run,
// h is its handling, or empty while it is not open.
func (s *Script) Coach(bird int, h bench.Handling, state bench.State) []string {
	b := s.bird(bird)
	switch {
	case h.ID == "" && bird > len(s.birds):
		return []string{"That was the last of the three birds. F2 begins the run anew with other numbers; Ctrl+Q leaves."}
	case h.ID == "":
		return []string{b.Story + " F2 as soon as it is in the hand: its clock runs from that key on."}
	case h.Done() && bird >= len(s.birds):
		return []string{"The third record is complete, and this is how every bird goes. Ctrl+Q leaves; F2 goes on practising."}
	case h.Done():
		return []string{"The record is complete. " + s.bird(bird+1).Story + " F2 when it is in the hand."}
	}
	run := (max(bird, 1) - 1) / len(s.birds)
	return b.told().coached(h, state, b.coach(h, state, run))
}

// told returns what a trainee ought to tell of the bird.
func (b Bird) told() telling { return telling{b.Name, b.AgeKey, b.SexKey} }

// coach leads through one handling; run counts the rounds through the script,
// so that no number comes twice.
func (b Bird) coach(h bench.Handling, state bench.State, run int) []string {
	switch {
	case h.Bird.Species == "" || h.Bird.Leg == bench.LegUnsaid:
		return b.coachBird(h)
	case h.Choice == nil:
		return b.coachLeg(h, state)
	}
	if h.Fate != nil {
		return []string{"All is told. If something is still missing, the bench lists it with its mend: mend it, and then Enter, or F9, completes the record."}
	}
	band, taken := h.CurrentBand()
	if !taken && h.Choice.Size != b.Size {
		return []string{fmt.Sprintf("You took size %s. %s Shift+Tab goes back to the size.", h.Choice.Size, b.Choice)}
	}
	if !taken {
		return b.coachNumber(h, run)
	}
	return b.coachSeam(h, band, state, run)
}

func (b Bird) coachBird(h bench.Handling) []string {
	switch {
	case h.Bird.Species == "":
		return []string{fmt.Sprintf("%s Type %q, move to %s with Up or Down, and take it with Enter.", b.Story, b.Search, b.Name)}
	case h.Bird.Age == "" && h.Bird.Sex == "":
		return []string{fmt.Sprintf("Answer each question with one key: age %s, then sex %s, then the right leg, r.", b.AgeKey, b.SexKey)}
	default:
		return []string{fmt.Sprintf("Sex %s if it is asked, then the leg that gets the band: the right one, r.", b.SexKey)}
	}
}

func (b Bird) coachLeg(h bench.Handling, state bench.State) []string {
	widths, _ := h.Counted()
	result, err := state.Fit(h)
	switch {
	case len(widths) == 0:
		return []string{"Hold the caliper across the widest part of the tarsus. The space bar squeezes it: press it once a reading, three times in all."}
	case len(widths) < state.Setup.Readings:
		return []string{"The number stands in large digits, and the ruler shows the leg among the sizes. Open the jaws, and squeeze again: space."}
	case err == nil && !result.Agreement.OK:
		return []string{"These readings lie too far apart to be repeats of one leg. Take another: space."}
	default:
		return []string{b.Choice}
	}
}

// next returns the band that comes next: the first whose number has not been
// on this bird.
func (b Bird) next(h bench.Handling, run int) Band {
	for _, band := range b.Bands {
		used := slices.ContainsFunc(h.Bands, func(had bench.Band) bool { return had.Number == numberIn(band.Number, run) })
		if !used {
			return band
		}
	}
	return b.Bands[len(b.Bands)-1]
}

func (b Bird) coachNumber(h bench.Handling, run int) []string {
	band := b.next(h, run)
	number := numberIn(band.Number, run)
	if slices.ContainsFunc(h.Bands, func(had bench.Band) bool { return had.State == bands.Destroyed }) {
		return []string{fmt.Sprintf("The spoilt band counts as destroyed, and its number is never used again. The next one on the tubing is %s: type it, then Enter.", number)}
	}
	return []string{fmt.Sprintf("The next band on the tubing is %s: type it, then Enter.", number)}
}

func (b Bird) coachSeam(h bench.Handling, band bench.Band, state bench.State, run int) []string {
	script, known := b.scripted(band.Number, run)
	if !known {
		script = Band{Number: band.Number, Looks: []Sight{flush()}}
	}
	seen, missed := script.seen(h, band)
	closing, closed := h.LastClosing()
	switch {
	case missed:
		return []string{"You told it as flush. Look again: " + script.Looks[seen].Words + " l tells a new look: then its key, and Enter."}
	case h.Confirmed(state.Setup.Book):
		return []string{"Confirmed: the seam is sound and the number is the one on the leg. Let the bird go with F8, then say how it left: b for banded."}
	case closed && closing.Flush():
		return coachConfirm(h, band, state)
	case closed && script.Off != "":
		return []string{"The spreaders do not go in: it can't be opened. Such a band comes off. F6, then the reason: " + script.Off + "."}
	default:
		return []string{"You close the band with both squeezes and look all round. " + script.sight(seen)}
	}
}

// seen returns how far through its looks a band has come: a look that was told
// as flush and is not, or the other way about, is still to be told. missed reports
// that the last one was told as flush, and is not.
func (band Band) seen(h bench.Handling, worked bench.Band) (look int, missed bool) {
	for _, c := range h.Closings {
		if c.Band != worked.ID {
			continue
		}
		flush := len(band.Looks[look].Findings) == 0
		missed = c.Flush() && !flush
		if c.Flush() == flush {
			look = min(look+1, len(band.Looks)-1)
		}
	}
	return look, missed
}

// coachConfirm leads through the statements and the read-back. The number that
// it names stands for the metal, which nobody can read here.
func coachConfirm(h bench.Handling, band bench.Band, state bench.State) []string {
	metal := fmt.Sprintf("On the metal you read %s: key its last three digits, then Enter.", band.Number)
	for _, blocker := range bench.Blockers(h, state.Setup.Book) {
		switch blocker.Code {
		case bench.StatementMissing:
			return []string{"State each point with its own key, once you have seen it. After l the new look comes first."}
		case bench.ReadBackMismatch:
			return []string{"Those are not the digits on the band. " + metal}
		}
	}
	return []string{metal}
}

func (b Bird) scripted(number string, run int) (Band, bool) {
	for _, band := range b.Bands {
		if numberIn(band.Number, run) == number {
			return band, true
		}
	}
	return Band{}, false
}

// sight tells what a look sees, and its keys.
func (band Band) sight(look int) string {
	sight := band.Looks[look]
	if len(sight.Findings) == 0 {
		return sight.Words + " Key: f."
	}
	return sight.Words + " Its key, then Enter."
}

// numberIn returns the number as it is in the given round of the run: each
// round takes the numbers ten further on.
func numberIn(number string, run int) string {
	head, tail := number[:len(number)-5], number[len(number)-5:]
	n := 0
	for _, digit := range tail {
		n = n*10 + int(digit-'0')
	}
	return fmt.Sprintf("%s%05d", head, (n+10*run)%100000)
}
