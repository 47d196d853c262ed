package main

import (
	"seamfit/internal/bench"
)

// tellDetails takes what was told of the shift beside its first line.
func (t *shiftTold) tellDetails(sh bench.Shift) {
	t.People = append(bench.People{}, sh.People...)
	t.Instruments = append([]bench.Instrument{}, sh.Instruments...)
	t.Position, t.Watch, t.details = sh.Point, sh.Watch, sh.Details()
	if sh.Watch != nil {
		behind := sh.Watch.Behind().Seconds()
		t.ClockBehindS = &behind
	}
}

// waiting counts what is open: records that wait, and numbers that are doubtful.
func (t *shiftTold) waiting() int {
	n := len(t.Open)
	if t.Numbers != nil {
		n += len(t.Numbers.Doubts)
	}
	return n
}
