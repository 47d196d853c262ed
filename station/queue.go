package station

import (
	"slices"
	"time"

	"seamfit/internal/bench"
)

// Queue is the facts that are not on the disk yet, in order. Nothing leaves it
// but by being saved, or by being refused by a rule of the records.
type Queue struct {
	Facts    []bench.Fact
	InFlight int // how many of the first are being saved
	Tries    int // failures in a row
	Retry    time.Time
	What     string // why the last try failed
	Mend     string
	SavedAt  time.Time // of the last success
}

// Failing reports whether facts wait because saving failed.
func (q Queue) Failing() bool { return q.Tries > 0 && len(q.Facts) > 0 }

// longestWait is the most time between two tries.
const longestWait = 30 * time.Second

// enqueue takes facts into the queue and has them saved.
func (t *turn) enqueue(facts []bench.Fact) {
	t.s.Queue.Facts = append(slices.Clone(t.s.Queue.Facts), facts...)
	for _, f := range facts {
		if ofBand(f) {
			t.s.Stock = Stock{}
		}
		if at := f.Key().At; at.After(t.s.Latest) {
			t.s.Latest = at
		}
	}
	t.save()
}

// save sends what waits, unless a save is in flight or its retry is not due.
func (t *turn) save() {
	q := &t.s.Queue
	if q.InFlight > 0 || len(q.Facts) == 0 || !due(q.Retry, t.at) {
		return
	}
	q.InFlight = len(q.Facts)
	t.emit(Save{Facts: slices.Clone(q.Facts)})
}

// due reports whether the time of a retry has come. A clock that was set back
// does not put it off.
func due(retry, now time.Time) bool {
	return !now.Before(retry) || retry.Sub(now) > longestWait
}

func (t *turn) saved(e Saved) {
	q := &t.s.Queue
	n := min(e.Count, len(q.Facts))
	q.Facts = slices.Clone(q.Facts[n:])
	q.InFlight, q.Tries, q.Retry, q.What, q.Mend = 0, 0, time.Time{}, "", ""
	q.SavedAt = t.at
	if !slices.ContainsFunc(q.Facts, func(f bench.Fact) bool { return f.Key().Handling == "" }) {
		t.s.Shift = t.s.Bench.Shift
	}
	t.save()
	t.leaveIfFree()
}

func (t *turn) saveFailed(e SaveFailed) {
	q := &t.s.Queue
	q.InFlight = 0
	if e.Refused {
		t.saveRefused(e)
		return
	}
	q.Tries++
	q.What, q.Mend = e.What, e.Mend
	q.Retry = t.at.Add(min(time.Second<<min(q.Tries-1, 10), longestWait))
	t.bell(BellRefusal)
}

// saveRefused drops the facts that a rule of the records refused, together
// with all that were built on them, and has their handlings read again: what
// the records hold is what stands. When the first facts hold several
// handlings, they are sent one handling at a time first, so that only the
// refused one is dropped.
func (t *turn) saveRefused(e SaveFailed) {
	q := &t.s.Queue
	count := min(e.Count, len(q.Facts))
	first := handlingsOf(q.Facts[:count])
	if len(first) > 1 {
		t.sendAlone(first[0])
		return
	}
	var kept, dropped []bench.Fact
	for _, f := range q.Facts {
		if slices.Contains(first, f.Key().Handling) {
			dropped = append(dropped, f)
		} else {
			kept = append(kept, f)
		}
	}
	q.Facts = kept
	t.refuse([]bench.Blocker{{Code: CodeRecordsRefused, Mend: recordsRefused(len(dropped), e.What, e.Mend)}})
	for _, id := range first {
		t.reread(id)
	}
	t.save()
}

// sendAlone brings one handling's facts to the front, keeping their order, and
// saves only them.
func (t *turn) sendAlone(id string) {
	q := &t.s.Queue
	own := func(f bench.Fact) bool { return f.Key().Handling == id }
	others := slices.DeleteFunc(slices.Clone(q.Facts), own)
	mine := slices.DeleteFunc(slices.Clone(q.Facts), func(f bench.Fact) bool { return !own(f) })
	q.Facts = append(mine, others...)
	q.InFlight = len(mine)
	t.emit(Save{Facts: slices.Clone(mine)})
}

func handlingsOf(facts []bench.Fact) []string {
	var ids []string
	for _, f := range facts {
		if id := f.Key().Handling; !slices.Contains(ids, id) {
			ids = append(ids, id)
		}
	}
	return ids
}
