package drill

import (
	"fmt"

	"seamfit/internal/seam"
)

// edgeStep is by how much a key moves the pliers, and farthestEdge how far in
// they go, in millimetres.
const (
	edgeStep     = 0.5
	farthestEdge = 4
)

// The keys of the tools.
const (
	keyLeft     = '1'
	keyMid      = '2'
	keyRight    = '3'
	keyIn       = '+'
	keyOut      = '-'
	keyGently   = 'g'
	keyMeet     = 'm'
	keyPast     = 'p'
	keyHard     = 'h'
	keyNudge    = 'n'
	keySideways = 's'
	keyOpen     = 'o'
)

// Tools returns what can be done to a band, with the keys.
func (s *Scenario) Tools() []seam.Tool {
	return []seam.Tool{
		{Key: keyLeft, Words: "pliers turned left"},
		{Key: keyMid, Words: "mid"},
		{Key: keyRight, Words: "right"},
		{Key: keyIn, Words: "farther from the edge"},
		{Key: keyOut, Words: "nearer"},
		{Key: keyGently, Words: "gently"},
		{Key: keyMeet, Words: "until they meet"},
		{Key: keyPast, Words: "until they pass"},
		{Key: keyHard, Words: "hard"},
		{Key: keyNudge, Words: "nudge"},
		{Key: keySideways, Words: "sideways"},
		{Key: keyOpen, Words: "open"},
	}
}

// actOn does what a key stands for; keys of no tool do nothing.
func actOn(w *seam.Worked, b Springy, key rune) Springy {
	deeds := map[rune]Deed{
		keyGently: Gently, keyMeet: Meet, keyPast: Past, keyHard: Hard, keyNudge: Nudge, keySideways: Straighten, keyOpen: Spread,
	}
	if deed, ok := deeds[key]; ok {
		b, w.Said = b.Do(Act{Deed: deed, Pliers: w.Pliers})
		return b
	}
	switch key {
	case keyLeft, keyMid, keyRight:
		w.Pliers.Turn = int(key-keyLeft) - 1
		w.Said = "The pliers are turned " + [...]string{"left.", "to the middle.", "right."}[w.Pliers.Turn+1]
	case keyIn, keyOut:
		step := edgeStep
		if key == keyOut {
			step = -step
		}
		w.Pliers.EdgeMM = min(max(w.Pliers.EdgeMM+step, 0), farthestEdge)
		w.Said = fmt.Sprintf("The pliers' edge sits %.1f mm from the band's edge.", w.Pliers.EdgeMM)
	}
	return b
}
