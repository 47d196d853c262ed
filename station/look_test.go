package station_test

import (
	"fmt"
	"testing"
)

func TestLook(t *testing.T) {
	for _, c := range []struct {
		n string
		r *rig
	}{
		{"nobird", newRig(t)},
		{"told", newRig(t).told()},
		{"two", newRig(t).told().readings(302, 301)},
		{"measured", newRig(t).measured()},
		{"metal", newRig(t).measured().keys("1")},
		{"sized", newRig(t).sized()},
		{"numbered", newRig(t).numbered()},
		{"flush", newRig(t).flush()},
		{"confirmed", newRig(t).confirmed()},
		{"fated", newRig(t).fated()},
		{"completed", newRig(t).completed()},
		{"species", newRig(t).keys("F2", "gull")},
		{"refused", newRig(t).keys("F2", "F9")},
		{"training", training(t)},
		{"training2", training(t).keys("Enter")},
		{"t3", training(t).keys("Enter", "F2")},
		{"t4", training(t).keys("Enter", "F2", "common tern", "Enter")},
	} {
		fmt.Println("=====", c.n)
		fmt.Print(c.r.screen().String())
	}
}
