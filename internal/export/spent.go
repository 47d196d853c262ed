package export

import (
	"context"
	"fmt"
	"time"
)

// spentBands are the numbers that the stock alone has as gone, and those that
// were found on a bird that no record here has banded. They are of no bird, so
// that a selection of a shift or a species leaves them all out.
func spentBands(ctx context.Context, s Source, used []UsedBand) (list []UsedBand, err error) {
	if s.Only.Shift != "" || s.Only.Species != "" {
		return nil, nil
	}
	known := map[string]bool{}
	for _, b := range used {
		known[b.Number] = true
	}
	told, err := toldOfNumbers(ctx, s.Records)
	if err != nil {
		return nil, err
	}
	err = s.Records.Rows(ctx, "numbers", []string{"number", "state", "size", "metal"}, func(v []any) error {
		b := UsedBand{Number: fmt.Sprint(v[0]), State: fmt.Sprint(v[1]), Size: fmt.Sprint(v[2]), Metal: fmt.Sprint(v[3])}
		switch b.State {
		case "destroyed", "lost", "rejected", "returned":
		case "on bird":
			if !known[b.Number] && s.Only.All() {
				b.Reason = "found on a bird, and no record here has put it there"
				list = append(list, b)
			}
			return nil
		default:
			return nil
		}
		event := told[b.Number+" "+b.State]
		b.Day, b.By, b.Reason = event.day, event.by, event.reason
		if known[b.Number] || s.Only.From != "" && b.Day < s.Only.From || s.Only.To != "" && b.Day > s.Only.To {
			return nil
		}
		list = append(list, b)
		return nil
	})
	return list, err
}

// stockEvent is what a list tells of an event of the stock.
type stockEvent struct{ day, by, reason string }

// toldOfNumbers returns the last event that left a number in a state, by
// number and state.
func toldOfNumbers(ctx context.Context, r Records) (map[string]stockEvent, error) {
	events := map[string]stockEvent{}
	if err := r.Rows(ctx, "stock_events", []string{"string", "seq", "at", "at_offset", "by", "reason"}, func(v []any) error {
		day, err := localDay(fmt.Sprint(v[2]), fmt.Sprint(v[3]))
		events[fmt.Sprint(v[0], " ", v[1])] = stockEvent{day, fmt.Sprint(v[4]), fmt.Sprint(v[5])}
		return err
	}); err != nil {
		return nil, err
	}
	told := map[string]stockEvent{}
	err := r.Rows(ctx, "stock_marks", []string{"string", "seq", "number", "state"}, func(v []any) error {
		told[fmt.Sprint(v[2], " ", v[3])] = events[fmt.Sprint(v[0], " ", v[1])]
		return nil
	})
	return told, err
}

// localDay returns the day by the clock at the bench of a stored time.
func localDay(at, offset string) (string, error) {
	t, err := time.Parse(time.RFC3339Nano, at)
	if err != nil {
		return "", fmt.Errorf("a time of the stock: %w", err)
	}
	zone, err := time.Parse("-07:00", offset)
	if err != nil {
		return "", fmt.Errorf("an offset of the stock: %w", err)
	}
	return t.In(zone.Location()).Format(time.DateOnly), nil
}
