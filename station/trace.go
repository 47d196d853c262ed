package station

import (
	"fmt"

	"seamfit/internal/bench"
)

// Track is a number that a found band may have, with what the records tell of
// it, a line each and the newest last.
type Track struct {
	Number  string
	Words   []string
	Species string    // of the bird that it was on last; empty: on none
	Leg     bench.Leg // of it
}

// Tracks are what the records were asked about the band that a bird wears.
type Tracks struct {
	Inscription string
	Known       bool
	Found       []Track
	More        int // that it could be too
	Trouble     string
}

// trace asks the records what they tell of an inscription.
func (t *turn) trace(inscription string) {
	t.s.Tracks = Tracks{Inscription: inscription}
	t.emit(Trace{Inscription: inscription})
}

// traced takes the answer.
func (t *turn) traced(e Traced) {
	if e.Tracks.Inscription == t.s.Tracks.Inscription {
		t.s.Tracks = e.Tracks
		t.s.Tracks.Known = true
		if h, ok := t.s.bird(); ok && t.s.otherBird(h) != "" {
			t.bell(BellRefusal)
		}
	}
}

// otherBird says what in these records speaks against the found band that is
// being told being on this bird; empty: nothing.
func (s State) otherBird(h bench.Handling) string {
	tracks, told := s.Tracks, s.Desk.Found
	if !tracks.Known || tracks.Inscription != told.Number || len(tracks.Found) != 1 || tracks.Found[0].Species == "" {
		return ""
	}
	last := tracks.Found[0]
	words := s.shortName(bench.Handling{Bird: bench.Bird{Species: last.Species}})
	if last.Leg != bench.LegUnsaid {
		words += ", " + string(last.Leg) + " leg"
	}
	leg := told.Leg != bench.LegUnsaid && last.Leg != bench.LegUnsaid && told.Leg != last.Leg
	if species := h.Bird.Species != "" && h.Bird.Species != last.Species; !species && !leg {
		return ""
	}
	return fmt.Sprintf("%s was on another bird or leg in these records: %s. Read it again, digit by digit; if it is so, go on.", last.Number, words)
}

// trackLines tell what the records know of the found band that is being told,
// in at most room lines.
func (v *view) trackLines(columns, room int) []line {
	s := v.s.Tracks
	if !s.Known || s.Inscription != v.s.Desk.Found.Number {
		return nil
	}
	switch {
	case s.Trouble != "":
		return wrapped("", "The records could not be looked through ("+s.Trouble+").", quiet, columns)
	case len(s.Found) == 0:
		return []line{words("These records tell nothing of " + s.Inscription + ".")}
	case len(s.Found) == 1:
		return v.trackOf(s.Found[0], columns, room)
	}
	lines := []line{say(piece{"In these records it could be:", strong})}
	shown := 0
	for _, track := range s.Found {
		if len(lines) >= room-1 {
			break
		}
		last := ""
		if n := len(track.Words); n > 0 {
			last = track.Words[n-1]
		}
		lines = append(lines, say(piece{cell(track.Number+"  "+last, columns), plain}))
		shown++
	}
	if more := s.More + len(s.Found) - shown; more > 0 {
		lines = append(lines, words(fmt.Sprintf("and %s besides: seamfit bands show lists them", count(more, "number"))))
	}
	return lines
}

// trackOf tells the history of one number, the oldest left out first.
func (v *view) trackOf(track Track, columns, room int) []line {
	lines := []line{say(piece{track.Number + " in these records:", strong})}
	told := track.Words[max(0, len(track.Words)-max(room-1, 1)):]
	for _, text := range told {
		lines = append(lines, say(piece{cell(text, columns), plain}))
	}
	return lines
}

// foundLines are what is asked about a found band after its number, below what
// the records tell of it.
func (v *view) foundLines(a Ask, columns int) []line {
	var ask []line
	switch a {
	case AskFoundLeg:
		ask = append([]line{words("On which leg is it?")}, choicesIn(sides(), columns)...)
	case AskCondition:
		ask = []line{words("Its condition: wear, gap, readable?"), fieldLine("condition:", v.s.Desk.Typed)}
	case AskScheme:
		text := "Which scheme issued it? Enter when it is your own."
		if _, err := v.s.Bench.Setup.Pattern.Inscribed(v.s.Desk.Found.Number); err != nil {
			text = "It is no number of your own pattern. Which scheme issued it?"
		}
		ask = []line{words(text), fieldLine("scheme:", v.s.Desk.Typed)}
	default:
		then := []choice{{'l', string(bench.ThenLeft) + " as it is"}, {'w', string(bench.ThenWorked) + " on"}, {'r', string(bench.ThenReplaced) + ": it comes off"}}
		ask = append([]line{words("What is done about it?")}, choicesIn(then, columns)...)
	}
	if text := v.s.otherBird(v.h); text != "" {
		ask = append(wrapped("! ", text, wrong, columns), ask...)
	}
	return append(v.trackLines(columns, v.spare-len(ask)), ask...)
}
