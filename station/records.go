package station

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"seamfit/internal/bench"
)

// Question is a number that the records have been asked for, and the command
// that waits for the answer.
type Question struct {
	Ticket  int
	Command bench.Command
}

// Rereading is a handling that is being read again from the records.
type Rereading struct {
	id      string
	left    time.Time // the bird left the hand meanwhile
	waiting bool      // for the next try
	retry   time.Time
	tries   int
}

// lookUp asks the records for the number of a command before it is done.
func (t *turn) lookUp(number string, c bench.Command) {
	t.s.ticket++
	t.s.Asked = append(slices.Clone(t.s.Asked), Question{Ticket: t.s.ticket, Command: c})
	t.emit(LookUp{Ticket: t.s.ticket, Number: number})
}

// lookedUp does the command that waited for the answer. When the records could
// not be read, the command is done without: the band in the hand is recorded,
// and the records check its number again when it is saved.
func (t *turn) lookedUp(e LookedUp) {
	i := slices.IndexFunc(t.s.Asked, func(q Question) bool { return q.Ticket == e.Ticket })
	if i < 0 {
		return
	}
	q := t.s.Asked[i]
	t.s.Asked = slices.Delete(slices.Clone(t.s.Asked), i, i+1)
	switch c := q.Command.(type) {
	case bench.GiveNumber:
		c.Standing = e.Standing
		t.numberKnown(c)
	case bench.TellFound:
		c.Standing = e.Standing
		t.foundKnown(c)
	}
	if e.Trouble != "" && t.s.Refused == nil {
		t.s.Message = "The number could not be checked now (" + e.Trouble + "); it is checked when it is saved."
	}
}

func recordsRefused(dropped int, what, mend string) string {
	entries := "The last entry was"
	if dropped > 1 {
		entries = fmt.Sprintf("The last %d entries were", dropped)
	}
	if _, rule, ok := strings.Cut(what, bench.ErrRefused.Error()+": "); ok {
		what = rule // which file it is goes without saying
	}
	if mend == "" {
		mend = "the bird is shown as the records have it; read the band again and enter it anew"
	}
	return fmt.Sprintf("%s refused by the records (%s) and not kept: %s.", entries, strings.TrimRight(what, "."), mend)
}

// reread has a handling read again. Of a shift only the details are dropped that
// were refused; a shift that was refused itself is asked for again.
func (t *turn) reread(id string) {
	if id == "" {
		kept := t.s.Shift
		if now := t.s.Bench.Shift; kept != nil && now != nil && kept.ID == now.ID {
			t.s.Bench = t.s.Bench.WithShift(*kept)
			return
		}
		t.s.Bench.Shift = nil
		t.s.Front.Stage = AskPlace
		return
	}
	if !t.isRereading(id) {
		t.s.Reread = append(slices.Clone(t.s.Reread), Rereading{id: id})
	}
	t.emit(Reload{Handling: id})
}

func (t *turn) isRereading(id string) bool {
	return id != "" && slices.ContainsFunc(t.s.Reread, func(r Rereading) bool { return r.id == id })
}

// reloaded puts the handling as the records have it in the place of the one
// that was shown.
func (t *turn) reloaded(e Reloaded) {
	i := slices.IndexFunc(t.s.Reread, func(r Rereading) bool { return r.id == e.Handling })
	if i < 0 {
		return
	}
	t.s.Reread = slices.Clone(t.s.Reread)
	r := &t.s.Reread[i]
	if e.Trouble != "" {
		r.tries++
		r.waiting, r.retry = true, t.at.Add(min(time.Second<<min(r.tries-1, 10), longestWait))
		t.s.Message = "The record could not be read again (" + e.Trouble + "); it is tried again."
		return
	}
	left := r.left
	t.s.Reread = slices.Delete(t.s.Reread, i, i+1)
	disputed := hasCode(t.s.Refused, bench.NumberDisputed)
	t.replace(e.Handling, e.Record)
	if disputed && !e.Record.Disputed() && e.Handling == t.s.Bench.Active {
		t.say("The record was read again: nothing stands against its number any more.")
	}
	if !left.IsZero() {
		w := t.stamp(left, e.Record.Bander)
		w.At, w.Handling = left, e.Handling
		if blockers := t.do(bench.LeaveHand{When: w}, e.Handling); blockers != nil {
			t.refuse(blockers)
		}
	}
}

func (t *turn) replace(id string, record bench.Handling) {
	b := &t.s.Bench
	b.Handlings = slices.Clone(b.Handlings)
	i := slices.IndexFunc(b.Handlings, func(h bench.Handling) bool { return h.ID == id })
	if i < 0 {
		return
	}
	if record.ID != "" {
		b.Handlings[i] = record
		if t.s.Desk.Handling == id {
			t.turnTo(nextStep(*b, record, StepBird))
		}
		return
	}
	b.Handlings = slices.Delete(b.Handlings, i, i+1)
	t.s.Parked = slices.DeleteFunc(slices.Clone(t.s.Parked), func(d Desk) bool { return d.Handling == id })
	if t.s.Desk.Handling == id {
		t.s.Desk = Desk{}
		b.Active = ""
		t.nextBird()
	}
}
