package station_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/bench"
	"seamfit/station"
)

func TestSavedIsSaidAfterTheCommit(t *testing.T) {
	r := newRig(t).fated()
	r.shows("√ saved")
	r.hold = true
	r.keys("Enter")
	r.hides("√ saved").shows("saving", "complete, saving")
	r.letGo()
	r.shows("√ saved", "The record of bird 1 is complete.").hides("saving")
}

func TestOneSaveAtATimeInOrder(t *testing.T) {
	r := newRig(t)
	r.hold = true
	r.told().readings(302, 301, 303)
	saves := 0
	for _, e := range r.waiting {
		if _, ok := e.(station.Saved); ok {
			saves++
		}
	}
	assert.Equal(t, 1, saves, "one save in flight, however many facts wait")
	r.letGo()
	assert.Empty(t, r.s.Queue.Facts)
	for i, f := range r.saved {
		assert.Equal(t, i+1, f.Key().Seq)
	}
}

func TestNothingIsLostWhileTheDiskIsFull(t *testing.T) {
	r := newRig(t).told()
	var tries []time.Time
	full := true
	r.failing = func([]bench.Fact) *station.SaveFailed {
		tries = append(tries, r.at)
		if full {
			return &station.SaveFailed{What: "the disk is full", Mend: "make room"}
		}
		return nil
	}
	before := len(r.saved)
	r.readings(302, 301, 303).wait(2 * time.Minute)
	r.shows("NOT SAVED", "The disk is full; make room", "Next try in").hides("√ saved")
	assert.Len(t, r.saved, before)
	assert.Len(t, r.s.Queue.Facts, 3)
	require.Greater(t, len(tries), 5)
	assert.Equal(t, time.Second, tries[1].Sub(tries[0]))
	last := tries[len(tries)-1].Sub(tries[len(tries)-2])
	assert.Equal(t, 30*time.Second, last, "the waits grow to their limit")

	r.keys("1", "a") // work goes on
	full = false
	r.wait(31 * time.Second).shows("√ saved").hides("NOT SAVED")
	assert.Empty(t, r.s.Queue.Facts)
	require.Len(t, r.saved, before+5, "three readings, the estimate, the choice")
	for i, f := range r.saved {
		assert.Equal(t, i+1, f.Key().Seq, "in order, each once")
	}
}

func TestRefusedByTheRecordsIsToldDroppedAndReadAgain(t *testing.T) {
	r := newRig(t).sized()
	as := r.bird()
	r.records[as.ID] = as
	r.hold = true
	refusals := 0
	r.failing = func(facts []bench.Fact) *station.SaveFailed {
		for _, f := range facts {
			if told, ok := f.(bench.BandTold); ok && told.Number == scanned {
				refusals++
				return &station.SaveFailed{Refused: true, What: "number 1232-40001 is on another bird"}
			}
		}
		return nil
	}
	r.keys(scanned, "Enter")
	r.letGo()
	assert.Equal(t, as, r.bird(), "the bird is as the records have it")
	assert.Equal(t, 1, refusals, "what a rule refuses is not tried again")
	assert.Empty(t, r.s.Queue.Facts)
	r.shows("refused by the records", "1232-40001 is on another bird")
	r.keys("1232-40002", "Enter")
	assert.Equal(t, "1232-40002", number(r))
}

// A refusal drops the facts of its own bird and of no other.
func TestRefusalOfOneBirdKeepsTheOthers(t *testing.T) {
	r := newRig(t).sized()
	first := r.bird()
	r.records[first.ID] = first
	r.keys("F2", "herring", "Enter")
	second := r.bird().ID
	busy := true
	r.failing = func(facts []bench.Fact) *station.SaveFailed {
		for _, f := range facts {
			if told, ok := f.(bench.BandTold); ok && told.Number == scanned {
				return &station.SaveFailed{Refused: true, What: "taken"}
			}
		}
		if busy {
			return &station.SaveFailed{What: "locked"}
		}
		return nil
	}
	r.keys("a", "F3", scanned, "Enter", "F3", "f", "F3", "f", "F3")
	busy = false
	r.wait(time.Minute)
	h, _ := r.s.Bench.Handling(first.ID)
	assert.Equal(t, first, h)
	h, _ = r.s.Bench.Handling(second)
	assert.Equal(t, "female", h.Bird.Sex)
	assert.Empty(t, r.s.Queue.Facts)
	var kept []bench.Fact
	for _, f := range r.saved {
		if f.Key().Handling == second {
			kept = append(kept, f)
		}
	}
	for i, f := range kept {
		assert.Equal(t, i+1, f.Key().Seq)
	}
	assert.Len(t, kept, h.Seq)
}

func TestLeftTheHandWhileTheRecordIsReadAgain(t *testing.T) {
	r := newRig(t).sized()
	as := r.bird()
	refused := false
	r.failing = func([]bench.Fact) *station.SaveFailed {
		if refused {
			return nil
		}
		refused = true
		return &station.SaveFailed{Refused: true, What: "taken"}
	}
	r.send(station.LookedUp{}) // an answer that nobody waits for
	r.keys("1232-40003")
	r.hold = true
	r.keys("Enter")
	// The look-up and the refusal are answered; the reload is not.
	for range 2 {
		e := r.waiting[0]
		r.waiting = r.waiting[1:]
		r.send(e)
	}
	r.waiting = nil
	r.shows("refused by the records")
	left := r.at
	r.keys("F8").shows("Left the hand at")
	r.keys("F8")
	r.readings(302).shows("being read again")
	r.hold = false
	r.send(station.Reloaded{Moment: r.moment(), Handling: as.ID, Trouble: "locked"})
	r.send(station.Reloaded{Moment: r.moment(), Handling: as.ID, Record: as})
	assert.Equal(t, left, r.bird().Left, "the time is that of the key")
}

func TestReloadIsTriedAgain(t *testing.T) {
	r := refusedByRecords(t) // its reload is answered
	require.NotEmpty(t, r.bird().ID)
	r = newRig(t).sized()
	id := r.bird().ID
	r.hold = true
	r.failing = func([]bench.Fact) *station.SaveFailed { return &station.SaveFailed{Refused: true, What: "taken"} }
	r.keys(scanned, "Enter")
	for range 2 {
		e := r.waiting[0]
		r.waiting = r.waiting[1:]
		r.send(e)
	}
	r.waiting = nil
	r.send(station.Reloaded{Moment: r.moment(), Handling: id, Trouble: "locked"})
	r.shows("tried again")
	r.wait(3 * time.Second)
	require.Len(t, r.waiting, 1, "asked once more")
	r.letGo()
	_, open := r.s.Bench.Handling(id)
	assert.False(t, open, "the records have no such bird")
	r.shows("no bird in the hand")
}
