package station

import (
	"fmt"

	"seamfit/internal/bench"
	"seamfit/internal/grid"
	"seamfit/internal/length"
)

// reading draws the last reading in large digits, and below it what it is.
func (v *view) reading(a grid.Area) {
	width, height := a.Size()
	theme := v.s.Options.Theme
	text, caption, r := v.lastReading()
	if text == "" {
		a.PutRight(width-1, height-1, caption, theme.style(quiet))
		return
	}
	digits, look := a.Sub(0, 0, width-1, height-1), theme.style(digit)
	if r == fleeting {
		look = theme.style(fleeting)
	}
	if scale := largeScale(text, width-1, height-1); scale > 0 {
		drawLarge(digits, text, scale, look)
	} else {
		digits.PutRight(width-1, 2, text, look)
	}
	a.PutRight(width-1, height-1, grid.Fit(caption, width-1), theme.style(r))
}

// lastReading returns the reading to show: the last one of the bird on the
// desk, or one that was refused just now.
func (v *view) lastReading() (text, caption string, r role) {
	last := v.s.Last
	if last.Given && last.Refused && len(v.s.Refused) > 0 {
		return last.Value.Format(last.Unit, length.Decimals(last.Resolution, last.Unit)), " REFUSED ", alarm
	}
	if live := v.s.Live; v.s.Flowing && v.open && v.s.Desk.Step == StepLeg {
		return live.Value.Format(live.Unit, length.Decimals(live.Resolution, live.Unit)), live.Unit.String() + ", live: hold still", fleeting
	}
	if !v.open || len(v.h.Readings) == 0 {
		return "", "no reading yet", quiet
	}
	taken := v.h.Readings[len(v.h.Readings)-1]
	widths, _ := v.h.Counted()
	caption = fmt.Sprintf("%s, %d of %d", taken.Unit, len(widths), v.s.Bench.Setup.Readings)
	if len(widths) > v.s.Bench.Setup.Readings {
		caption = taken.Unit.String() + ", " + count(len(widths), "reading")
	}
	if taken.SetAside != "" {
		caption = taken.Unit.String() + ", set aside"
	} else if k, ok := axisKeyOf(taken.Axis); ok {
		caption = taken.Unit.String() + ", " + k.words
	}
	if taken.UnitAssumed {
		caption += ", unit as set"
	}
	if taken.Means == bench.MeansTyped {
		caption += ", typed"
	}
	return readingText(taken.ReadingTaken), caption, strong
}

// link draws the state of the devices in words. Where there is no room for all
// of a trouble the panel tells it, and here stands which device has it.
func (v *view) link(a grid.Area) {
	theme := v.s.Options.Theme
	x := 2
	width, _ := a.Size()
	var told [len(v.s.Links)]piece
	room := width - x - 1
	for d, l := range v.s.Links {
		text, r := l.words(Device(d))
		told[d] = piece{text, r}
		room -= grid.Width(text) + 3
	}
	for d, p := range told {
		if room < 0 && v.s.Links[d].Trouble != "" {
			p.text = "! " + Device(d).String() + " not ready"
		}
		if p.text != "" {
			x = a.Put(x, 0, grid.Fit(p.text, width-x-1), theme.style(p.role)) + 3
		}
	}
	switch {
	case x > 2:
	case v.s.Options.Typed != nil:
		a.Put(x, 0, "the caliper types its readings", theme.style(quiet))
	default:
		a.Put(x, 0, "no caliper: widths are typed", theme.style(quiet))
	}
}

func (l Link) words(d Device) (string, role) {
	switch {
	case !l.Fitted:
		return "", plain
	case l.Trouble != "":
		return "! " + l.Trouble, wrong
	case l.Low:
		return "! " + d.String() + ": battery low", wrong
	case l.Open:
		return "√ " + d.String() + " ready", good
	default:
		return "○ " + d.String() + " is being opened", plain
	}
}
