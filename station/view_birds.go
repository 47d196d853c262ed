package station

import (
	"fmt"
	"time"

	"seamfit/internal/bench"
	"seamfit/internal/grid"
)

// birds draws the open birds with the time since each was captured.
func (v *view) birds() {
	x := 1
	shown := 0
	entries := v.entries()
	for _, e := range entries {
		more := ""
		if rest := len(entries) - shown - 1; rest > 0 {
			more = fmt.Sprintf("  +%d", rest)
		}
		if x+grid.Width(e.text)+len(more) > v.width && shown > 0 {
			v.put(x, 1, fmt.Sprintf("+%d more", len(entries)-shown), strong)
			return
		}
		x = v.put(x, 1, e.text, e.role) + 2
		shown++
	}
	if len(entries) == 0 {
		v.put(1, 1, "no bird in the hand", plain)
	}
}

type birdEntry struct {
	text string
	role role
}

// entries returns the active bird first, then the others, those in the hand
// before those that are gone.
func (v *view) entries() []birdEntry {
	var list []birdEntry
	if v.open {
		list = append(list, v.entry(v.h, "►"))
	}
	for _, d := range v.s.others(nil) {
		if h, ok := v.s.Bench.Handling(d.Handling); ok {
			list = append(list, v.entry(h, ""))
		}
	}
	return list
}

func (v *view) entry(h bench.Handling, sign string) birdEntry {
	name := v.s.shortName(h)
	text := fmt.Sprintf("%s%s %s ", sign, v.s.called(h), grid.Fit(name, 20))
	held, over := v.s.held(h)
	nest := ""
	if text := v.nestWords(); sign != "" && text != "" {
		nest = ", " + grid.Fit(text, 24)
	}
	switch {
	case v.s.late() && h.InHand():
		return birdEntry{text + "caught " + h.Opened.Format("15:04"), strong}
	case over && h.InHand():
		return birdEntry{text + minutes(held) + " OVER " + minutes(v.s.Options.HandlingLimit) + nest, alarm}
	case !h.InHand():
		return birdEntry{text + "left " + h.Left.Format("15:04") + nest, plain}
	case sign != "":
		return birdEntry{text + minutes(held) + nest, strong}
	default:
		return birdEntry{text + minutes(held), plain}
	}
}

// held returns how long the bird has been, or was, in the hand, and whether
// that is over the limit.
func (s State) held(h bench.Handling) (time.Duration, bool) {
	now := s.Now
	if s.late() {
		now = h.Opened
	}
	held := h.Held(now)
	return held, s.Options.HandlingLimit > 0 && held > s.Options.HandlingLimit
}

// minutes writes a time in the hand as mm:ss, or h:mm:ss.
func minutes(d time.Duration) string {
	seconds := int(d / time.Second)
	if seconds >= 3600 {
		return fmt.Sprintf("%d:%02d:%02d", seconds/3600, seconds/60%60, seconds%60)
	}
	return fmt.Sprintf("%02d:%02d", seconds/60, seconds%60)
}

// shortName returns the name by which a bird is called on the screen.
func (s State) shortName(h bench.Handling) string {
	if h.Bird.Species == "" {
		return "species?"
	}
	if sp, ok := s.Bench.Setup.Book.SpeciesNamed(h.Bird.Species); ok && sp.English != "" {
		return sp.English
	}
	return h.Bird.Species
}
