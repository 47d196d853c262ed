package store

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"seamfit/internal/bands"
)

// MergeSettlement is a person's decision that what stands here under Key is
// true, whatever was kept aside. With Retell, what the other bench told of the
// stock happened as well, and is told again here first.
type MergeSettlement struct {
	ID     string
	Key    string
	At     time.Time
	By     string
	Reason string
	Retell bool
}

func mergeSettledColumns() []string { return strings.Fields("id at at_offset by settles reason") }

// SettleMerge records the decision. What was kept aside stays. With Retell the
// kept events of the stock become events here, each with its own time and
// person; numbers to which one can't happen any more are left as they are and
// returned. It returns an *Error when nothing under that key is unsettled.
func (s *Store) SettleMerge(ctx context.Context, m MergeSettlement) (left []string, err error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	s.saving.Lock()
	defer s.saving.Unlock()
	ctx = context.WithoutCancel(ctx)
	err = s.transact(ctx, func() error {
		here := &View{store: s, conn: s.writer}
		settles, err := here.toSettle(ctx, m.Key)
		if err != nil {
			return err
		}
		if len(settles) == 0 {
			return &Error{Op: "settle", Path: s.path, Err: fmt.Errorf("nothing under %q waits to be settled", m.Key), Hint: "take the key from merge --conflicts; a number on two birds is settled with bands settle"}
		}
		if m.Retell {
			if left, err = s.retell(ctx, m); err != nil {
				return err
			}
		}
		list, err := jsonText(settles)
		if err != nil {
			return err
		}
		values := []any{m.ID, utc(m.At), offset(m.At), m.By, list, m.Reason}
		return s.exec(ctx, insertInto("merge_settled", mergeSettledColumns(), "digest"), append(values, digestOf(values))...)
	})
	return left, s.fail("settle", err)
}

// toSettle lists what waits under a key.
func (v *View) toSettle(ctx context.Context, key string) (settles []string, err error) {
	if err := v.eachOf(ctx, "SELECT id FROM unsettled WHERE key = ? ORDER BY id", []any{key}, func(r []any) error {
		settles = append(settles, text(r[0]))
		return nil
	}); err != nil {
		return nil, err
	}
	return settles, v.each(ctx, practisedTwiceSQL, func(r []any) error {
		if text(r[0]) == key {
			settles = append(settles, "practice "+key)
		}
		return nil
	})
}

// retell tells the kept events of a string again. A count is left out: it was
// of what the other bench had before it.
func (s *Store) retell(ctx context.Context, m MergeSettlement) (left []string, err error) {
	here := &View{store: s, conn: s.writer}
	var events []StockEvent
	if err := here.eachOf(ctx, "SELECT rows FROM unsettled WHERE kind = 'string' AND key = ? AND seq > 0 ORDER BY seq, id", []any{m.Key}, func(r []any) error {
		e, err := keptEvent(text(r[0]))
		if err != nil {
			return fmt.Errorf("%w: kept of the string %s: %w", ErrDamaged, m.Key, err)
		}
		e.Entered = m.At
		events = append(events, e)
		return nil
	}); err != nil {
		return nil, err
	}
	for _, e := range events {
		if e.Kind == bands.EventCounted {
			continue
		}
		var can []string
		for _, number := range e.Numbers {
			_, _, err := s.markFor(ctx, e, number)
			var refused *bands.EventError
			switch {
			case errors.As(err, &refused):
				if !slices.Contains(left, number) {
					left = append(left, number)
				}
			case err != nil:
				return nil, err
			default:
				can = append(can, number)
			}
		}
		e.Numbers = can
		if err := s.insertStockEvent(ctx, e); err != nil {
			return nil, err
		}
	}
	return left, nil
}

// keptEvent reads an event of the stock from its kept rows.
func keptEvent(rows string) (e StockEvent, err error) {
	var kept []struct {
		Table  string `json:"table"`
		Values struct {
			Kind     string `json:"kind"`
			At       string `json:"at"`
			AtOffset string `json:"at_offset"`
			By       string `json:"by"`
			Holder   string `json:"holder"`
			Reason   string `json:"reason"`
			Measures string `json:"measures"`
			Number   string `json:"number"`
		} `json:"values"`
	}
	if err := json.Unmarshal([]byte(rows), &kept); err != nil || len(kept) == 0 {
		return e, errors.Join(errors.New("no event"), err)
	}
	head := kept[0].Values
	e = StockEvent{Kind: bands.EventKind(head.Kind), By: head.By, Holder: head.Holder, Reason: head.Reason}
	if e.At, err = parseTime(head.At, head.AtOffset); err != nil {
		return e, err
	}
	for _, mark := range kept[1:] {
		e.Numbers = append(e.Numbers, mark.Values.Number)
	}
	return e, json.Unmarshal([]byte(head.Measures), &e.Measures)
}
