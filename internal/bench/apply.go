package bench

import (
	"cmp"
	"errors"
	"fmt"
	"reflect"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"
)

// ErrRefused is wrapped by a store that was given facts which a rule of the
// database refuses, as when another program took the number meanwhile.
var ErrRefused = errors.New("refused by a rule of the records")

// Apply answers a command: the next state and the facts to store, or the
// blockers for which it is refused. A refused command changes nothing. A
// command that would only say again what already stands gives no facts and no
// blockers.
func Apply(s State, c Command) (State, []Fact, []Blocker) {
	if text, found := unprintable(reflect.ValueOf(c)); found {
		return s, nil, refuse(NotPrintable, "%q holds a character that can't be seen: write it again without.", text)
	}
	a := &applying{state: s, when: c.when()}
	if blockers := a.dispatch(c); len(blockers) > 0 {
		return s, nil, blockers
	}
	return a.state, a.facts, nil
}

// unprintable finds a text in a command with a control character or another
// one that can't be seen. Bytes from a caliper are not texts.
func unprintable(v reflect.Value) (text string, found bool) {
	switch v.Kind() {
	case reflect.String:
		s := v.String()
		return s, !utf8.ValidString(s) || strings.ContainsFunc(s, func(r rune) bool { return !unicode.IsPrint(r) })
	case reflect.Slice:
		if v.Type().Elem().Kind() != reflect.String {
			return "", false
		}
		for i := range v.Len() {
			if text, found := unprintable(v.Index(i)); found {
				return text, true
			}
		}
	case reflect.Struct:
		if v.Type() == reflect.TypeFor[time.Time]() {
			return "", false
		}
		for i := range v.NumField() {
			if text, found := unprintable(v.Field(i)); found {
				return text, true
			}
		}
	case reflect.Interface, reflect.Pointer:
		if !v.IsNil() {
			return unprintable(v.Elem())
		}
	default: // numbers and flags
	}
	return "", false
}

// applying is one command on its way: the state as folded so far, and the
// facts that folding it took.
type applying struct {
	state State
	when  When
	facts []Fact
}

func (a *applying) dispatch(c Command) []Blocker {
	switch c := c.(type) {
	case OpenShift:
		return a.openShift(c)
	case TellShift:
		return a.tellShift(c)
	case OpenBird:
		return a.openBird(c)
	case Settle:
		return a.settle(c)
	}
	h, blockers := a.target()
	if blockers != nil {
		return blockers
	}
	switch c := c.(type) {
	case Activate:
		a.state.Active = h.ID
		return nil
	case DescribeBird:
		return a.describeBird(h, c)
	case ReEstimate:
		return a.reEstimate(h, c)
	case TakeMeasure:
		return a.takeMeasure(h, c)
	case TellCircumstances:
		return a.tellCircumstances(h, c)
	}
	if blockers := completeRefusals(h, c); blockers != nil {
		return blockers
	}
	return a.ofOpenBird(h, c)
}

// ofOpenBird answers the commands that a complete record does not take.
func (a *applying) ofOpenBird(h Handling, c Command) []Blocker {
	switch c := c.(type) {
	case TakeReading:
		return a.takeReading(h, c)
	case SetAside:
		return a.setAside(h, c)
	case ChooseSize:
		return a.chooseSize(h, c)
	case GiveNumber:
		return a.giveNumber(h, c)
	case TellFound:
		return a.tellFound(h, c)
	case Look:
		return a.look(h, c)
	case Confirm:
		return a.confirm(h, c)
	case Supervise:
		return a.supervise(h, c)
	case Remove:
		return a.remove(h, c)
	case LeaveHand:
		return a.leaveHand(h)
	case StillInHand:
		return a.stillInHand(h, c)
	case TellFate:
		return a.tellFate(h, c)
	case TellIncident:
		return a.tellIncident(h, c)
	case Resolve:
		return a.resolve(h, c)
	case Complete:
		return a.complete(h)
	default:
		panic(fmt.Sprintf("bench: command %T is not handled", c))
	}
}

// completeRefusals refuses what would change a complete record: all but the
// mend of a disputed number, setting a reading aside, and saying "complete"
// again.
func completeRefusals(h Handling, c Command) []Blocker {
	if !h.Complete {
		return nil
	}
	switch c := c.(type) {
	case Complete, SetAside: // which is never without its reason
		return nil
	case GiveNumber:
		if h.Disputed() && c.Reason != "" {
			return nil
		}
	}
	return refuse(AlreadyComplete, "This record is complete: only corrections with their reason are taken.")
}

// target returns the handling that the command is about.
func (a *applying) target() (Handling, []Blocker) {
	if a.when.Handling == "" {
		h, ok := a.state.ActiveHandling()
		if !ok {
			return h, refuse(NoBird, "No bird is open: begin one first.")
		}
		return h, nil
	}
	h, ok := a.state.Handling(a.when.Handling)
	if !ok {
		return h, refuse(NoSuchHandling, "No such bird is open at this bench: choose one of the open birds.")
	}
	return h, nil
}

// head makes the head of the next fact of a handling.
func (a *applying) head(handling string) Head {
	head := Head{Handling: handling, Seq: 1, At: a.when.At, Entered: a.when.Entered, By: a.when.By, Typed: a.when.Typed}
	h, ok := a.state.Handling(handling)
	if ok {
		head.Seq = h.Seq + 1
	}
	var people People
	switch {
	case ok:
		people, head.By = h.People, cmp.Or(head.By, h.Bander)
	case a.state.Shift != nil:
		people, head.By = a.state.Shift.People, cmp.Or(head.By, a.state.Shift.Bander)
	}
	head.By = people.Spelled(head.By)
	if head.Entered.IsZero() {
		head.Entered = head.At
	}
	if head.Typed == "" {
		head.Typed = head.By
	}
	return head
}

// record takes a fact into the state and onto the list to be stored, and
// returns its sequence.
func (a *applying) record(f Fact) int {
	a.state = Fold(a.state, f)
	a.facts = append(a.facts, f)
	return f.Key().Seq
}
