package main

import (
	"fmt"
	"strings"

	"seamfit/internal/bench"
)

// tellDetails takes what was told of the shift beside its first line.
func (t *shiftTold) tellDetails(sh bench.Shift) {
	t.People = append(bench.People{}, sh.People...)
	t.Instruments = append([]bench.Instrument{}, sh.Instruments...)
	t.Position, t.Watch = sh.Point, sh.Watch
	if sh.Watch != nil {
		behind := sh.Watch.Behind().Seconds()
		t.ClockBehindS = &behind
	}
}

// details writes them as lines.
func (t *shiftTold) details() []string {
	var lines []string
	if p := t.Position; p != nil {
		line := fmt.Sprintf("position %s, %s", p.Latitude, p.Longitude)
		if p.AccuracyM != "" {
			line += " to " + p.AccuracyM + " m"
		}
		lines = append(lines, line+", "+p.Datum)
	}
	if w := t.Watch; w != nil {
		lines = append(lines, fmt.Sprintf("%s, compared at %s", w.Words(), w.Clock.Format("15:04:05")))
	}
	for _, p := range t.People {
		lines = append(lines, string(p.Role)+" "+p.Name)
	}
	for _, i := range t.Instruments {
		lines = append(lines, strings.TrimSpace(i.What+" "+i.Name+" "+i.Note))
	}
	return lines
}

// waiting counts what is open: records that wait, and numbers that are doubtful.
func (t *shiftTold) waiting() int {
	n := len(t.Open)
	if t.Numbers != nil {
		n += len(t.Numbers.Doubts)
	}
	return n
}
