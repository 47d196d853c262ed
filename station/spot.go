package station

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"seamfit/device"
	"seamfit/internal/bands"
	"seamfit/internal/bench"
	"seamfit/internal/catalogue"
	"seamfit/internal/length"
	"seamfit/internal/metrology"
	"seamfit/internal/seam"
)

// Judging a band by its widths: for bands that were taken off and for spot
// checks; on a living leg only where the settings say so. Nothing of it goes
// into the record, and it takes no finding of an eye away. What it finds and
// the look did not asks for another look.

// Spot is a judgement under way, or done.
type Spot struct {
	Size, Metal string
	Number      string
	String      seam.StringMeasures // as measured on its string
	OnLeg       bool
	Look        []string // what the last look at the band found
	Outer       seam.Dimension
	Widths      []seam.Dimension
	Judgement   *seam.Judgement
	Trouble     string // why it could not be judged
}

// spotWidths is how many widths are measured: the first through the seam, the
// others 60° to its either side.
const spotWidths = 3

// spotAngle says where a width is measured, counted from 0.
func spotAngle(i int) string {
	return [...]string{"through the seam", "60° to its left", "60° to its right"}[min(i, spotWidths-1)]
}

// spotCheck begins to judge the band of the bird on the desk by its widths.
func (t *turn) spotCheck() {
	h, ok := t.s.bird()
	if !ok || t.s.Front.Cautions {
		t.forBird(AskSpotOuter) // says that there is no bird
		return
	}
	spot, mend := t.s.spotFor(h)
	if mend != "" {
		t.refuse([]bench.Blocker{{Code: CodeNoSpot, Mend: mend}})
		return
	}
	t.turnTo(StepSeam)
	t.quiet()
	t.question(AskSpotOuter)
	t.s.Desk.Spot = spot
	t.emit(AskString{Number: spot.Number})
}

// spotString takes what was measured on the string of the band that is being
// judged.
func (t *turn) spotString(e StringTold) {
	if t.s.Desk.Spot.Number == e.Number {
		t.s.Desk.Spot.String = e.Measures
	}
}

// spotFor returns the band that can be judged by its widths: the one on the
// leg, where that is allowed, or else the one that was taken off last. mend
// says why there is none.
func (s State) spotFor(h bench.Handling) (spot Spot, mend string) {
	if h.Choice == nil {
		return spot, "Choose the size first: the thickness of the metal and the flush diameter follow from it."
	}
	spot = Spot{Size: h.Choice.Size, Metal: h.Choice.Metal}
	band, current := h.CurrentBand()
	if current && band.Closed {
		if !s.Options.SpotOnLeg {
			return spot, "On a living leg a band is looked at, not measured; seam.on_leg in the settings allows spot checks. A band that was taken off can be measured."
		}
		spot.OnLeg = true
	} else if i := slices.IndexFunc(h.Bands, func(b bench.Band) bool { return b.State == bands.Destroyed }); i < 0 {
		return spot, "No band of this bird is closed, and none was taken off: there is nothing to measure."
	} else {
		for _, b := range h.Bands[i:] {
			if b.State == bands.Destroyed {
				band = b
			}
		}
	}
	spot.Number = band.Number
	for _, c := range h.Closings {
		if c.Band == band.ID {
			spot.Look = c.Findings
		}
	}
	if size, _ := s.Bench.Catalogue().Size(spot.Size); size.Thickness == 0 || size.Inner == 0 {
		return spot, "The catalogue does not tell the thickness of size " + spot.Size + ": judge it with seamfit seam, which asks for it."
	}
	return spot, ""
}

// spotRead takes a reading of the caliper; false when none is asked for.
func (t *turn) spotRead(r device.Reading) bool {
	if a := t.s.ask(); a != AskSpotOuter && a != AskSpotWidth {
		return false
	}
	t.spotTake(seam.Dimension{Value: r.Value, Resolution: r.Resolution})
	t.bell(BellCapture)
	return true
}

// spotEntered takes a typed value; an empty line leaves the flush diameter to
// what was measured on the string, or to be computed.
func (t *turn) spotEntered() {
	text := strings.TrimSpace(t.s.Desk.Typed)
	if text == "" {
		if t.s.ask() == AskSpotOuter {
			t.spotTake(seam.Dimension{})
		}
		return
	}
	typed, err := length.ParsePerson(text, length.MM)
	if err != nil || typed.Value <= 0 {
		t.refuse([]bench.Blocker{{Code: CodeNotAWidth, Mend: "That is no width: type it as 11.42, in millimetres."}})
		return
	}
	t.spotTake(seam.Dimension{Value: typed.Value, Resolution: typed.Step})
}

func (t *turn) spotTake(d seam.Dimension) {
	spot := t.s.Desk.Spot
	next := AskSpotWidth
	if t.s.ask() == AskSpotOuter {
		spot.Outer = d
	} else {
		spot.Widths = append(slices.Clone(spot.Widths), d)
		if len(spot.Widths) == spotWidths {
			spot, next = t.s.judged(spot), AskSpotJudged
		}
	}
	t.quiet()
	t.question(next)
	t.s.Desk.Spot = spot
}

// judged judges the widths with the caliper as it is known.
func (s State) judged(spot Spot) Spot {
	size, _ := s.Bench.Catalogue().Size(spot.Size)
	c := seam.Closed{Widths: spot.Widths}
	if spot.Outer.Value > 0 {
		c.Outer = seam.Outer{Basis: seam.Measured, Diameters: []seam.Dimension{spot.Outer}}
	}
	c, _ = spot.String.Complete(c, size, spot.Widths[0].Resolution)
	caliper := s.Bench.Setup.SeamCaliper(spot.Widths, s.Now)
	limits := seam.DefaultLimits()
	if s.Options.SeamLimits != nil {
		limits = *s.Options.SeamLimits
	}
	j, err := seam.Judge(c, caliper, limits)
	var input *seam.InputError
	switch {
	case errors.As(err, &input):
		spot.Trouble = catalogue.Capital(input.What) + ": " + input.Mend + "."
	case err != nil:
		spot.Trouble = catalogue.Capital(err.Error()) + "."
	default:
		spot.Judgement = &j
	}
	return spot
}

// spotKey answers a judgement: another look, or measured anew.
func (t *turn) spotKey(r rune) {
	switch {
	case r == keyLookAgain && t.s.Desk.Spot.OnLeg:
		t.closedOnceMore()
		if t.s.Desk.Ask == AskWork {
			t.question(AskLook)
		}
	case r == keyMeasureAgain:
		t.spotCheck()
	}
}

const keyMeasureAgain = 'm'

func (v *view) spotLines(a Ask, columns int) []line {
	spot := v.s.Desk.Spot
	band := fmt.Sprintf("The band that was taken off, size %s %s", spot.Size, spot.Metal)
	if spot.OnLeg {
		band = fmt.Sprintf("The band on the leg, size %s %s", spot.Size, spot.Metal)
	}
	switch a {
	case AskSpotOuter:
		known := "computed from the size, and less sure."
		if outer := spot.String.Outer; len(outer) > 0 {
			known = fmt.Sprintf("as measured on %d of its string.", len(outer))
		}
		lines := wrapped("", band+". First the outer diameter of a flush band of the same string: squeeze, or type it. Enter: "+known, plain, columns)
		return append(lines, fieldLine("flush:", v.s.Desk.Typed))
	case AskSpotWidth:
		n := len(spot.Widths)
		lines := wrapped("", fmt.Sprintf("%s. Width %d of %d, %s: squeeze, or type it.", band, n+1, spotWidths, spotAngle(n)), plain, columns)
		return append(lines, fieldLine("width:", v.s.Desk.Typed))
	}
	var lines []line
	if spot.Judgement == nil {
		lines = wrapped("! ", spot.Trouble, wrong, columns)
	} else {
		lines = v.judgementLines(spot, columns)
	}
	keys := line{}
	if spot.OnLeg {
		keys.pieces = append(keys.pieces, piece{string(keyLookAgain), key}, piece{" look again   ", plain})
	}
	keys.pieces = append(keys.pieces, piece{string(keyMeasureAgain), key}, piece{" measure again   ", plain}, piece{"Esc", key}, piece{" goes back", plain})
	return append(lines, keys)
}

func (v *view) judgementLines(spot Spot, columns int) []line {
	j := spot.Judgement
	text := map[seam.Verdict]string{
		seam.Flush: "flush, by its widths", seam.Gap: "gap", seam.Step: "step suspected: look for an overlap",
		seam.Uncertain: "uncertain: too near a limit for this caliper",
	}[j.Verdict]
	lines := []line{say(piece{"By its widths: " + text, strong})}
	if j.PGapOverLimit != nil {
		lines = append(lines, wrapped("", fmt.Sprintf("Gap seen outside %.2f ± %.2f mm; over the limit of %.2f mm (bench setting) with probability %s.",
			j.Visible.ValueMM, 2*j.Visible.UMM, j.Visible.LimitMM, metrology.Percent(*j.PGapOverLimit)), plain, columns)...)
	}
	lines = append(lines, wrapped("", fmt.Sprintf("Out of round %.2f mm (limit %.2f mm, bench setting); overlap: probability %s, about 50 %% on a flush band.",
		j.OutOfRound.ValueMM, j.OutOfRound.LimitMM, metrology.Percent(j.POverlap)), plain, columns)...)
	if missed := j.Missed(spot.Look); len(missed) > 0 {
		lines = append(lines, wrapped("! ", "The look did not find this: "+strings.Join(findingNames(missed), ", ")+". Look again.", wrong, columns)...)
	}
	if len(spot.Look) > 0 {
		lines = append(lines, wrapped("", "What the eye saw stands, whatever the widths say: "+strings.Join(findingNames(spot.Look), ", ")+".", plain, columns)...)
	}
	return append(lines, wrapped("", "Nothing of this is stored. Widths can't see every overlap; the banding office's rules come first.", quiet, columns)...)
}

// spotPicture shows where the jaws take the next width.
func (v *view) spotPicture() []string {
	n := len(v.s.Desk.Spot.Widths)
	turn := [...]int{0, -1, 1}[min(n, spotWidths-1)]
	return append([]string{spotAngle(n)}, ringOf(seam.Sight{}, &seam.Pliers{Turn: turn})...)
}
