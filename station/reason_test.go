package station_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestAKeyIsNoReasonAtAnyPrompt(t *testing.T) {
	for name, r := range map[string]*rig{
		"set aside": newRig(t).told().readings(302).keys("x"),
		"removal":   newRig(t).numbered().keys("o", "Enter", "F6"),
		"fate":      newRig(t).flush().keys("F8", "Tab", "c"),
		"size":      newRig(t).measured().keys("2", "a"),
	} {
		before := len(r.saved)
		r.keys("y", "Enter").shows("says nothing")
		assert.Len(t, r.saved, before, name)
		assert.Equal(t, "y", r.s.Desk.Typed, "%s: what was typed can be gone on with", name)
		r.keys("es, it struggled", "Enter")
		assert.Greater(t, len(r.saved), before, name)
	}
}
