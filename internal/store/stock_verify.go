package store

import (
	"context"
	"fmt"
)

// verifyStock goes along the events of every string, and compares the numbers
// and marks with what their string and their event said of them.
func (v *View) verifyStock(ctx context.Context, found func(Finding) error) error {
	if err := v.verifyListed(ctx, found, "SELECT id, numbers FROM band_string",
		"SELECT number, place FROM stock_number WHERE string = ? ORDER BY place"); err != nil {
		return err
	}
	var str, previous string
	var seq int64
	names := stockEventColumns()
	return v.each(ctx, fmt.Sprintf("SELECT %s, t.digest, b.digest FROM stock_event t JOIN band_string b ON b.id = t.string ORDER BY t.string, t.seq",
		qualified(names)), func(r []any) error {
		id, stored := fmt.Sprint(r[0]), fmt.Sprint(r[len(names)])
		where := fmt.Sprintf("string %s, event %v", id, r[1])
		if id != str {
			str, previous, seq = id, fmt.Sprint(r[len(names)+1]), 0
		}
		seq++
		if r[1] != seq {
			return found(Finding{"events of the stock are missing", where})
		}
		digest := digestOf(append([]any{previous}, r[:len(names)]...))
		previous = stored
		if digest != stored {
			return found(Finding{"an event of the stock was changed after it was stored", where})
		}
		var told []string
		if err := v.eachOf(ctx, "SELECT number, state FROM stock_mark WHERE string = ? AND seq = ? ORDER BY number", []any{r[0], r[1]}, func(m []any) error {
			told = append(told, fmt.Sprint(m[0]), fmt.Sprint(m[1]))
			return nil
		}); err != nil {
			return err
		}
		if digestOfTexts(told) != r[len(names)-1] {
			return found(Finding{"marks of the stock were changed after they were stored", where})
		}
		return nil
	})
}

// verifyListed compares lists of numbers with the digest that their owner has
// of them.
func (v *View) verifyListed(ctx context.Context, found func(Finding) error, owners, listed string) error {
	return v.each(ctx, owners, func(r []any) error {
		var numbers []string
		if err := v.eachOf(ctx, listed, r[:1], func(n []any) error {
			numbers = append(numbers, fmt.Sprint(n[0]))
			if n[1] != int64(len(numbers)) {
				numbers = append(numbers, "out of its place")
			}
			return nil
		}); err != nil {
			return err
		}
		if digestOfTexts(numbers) != r[1] {
			return found(Finding{"the numbers of a string were changed after they were stored", fmt.Sprintf("string %v", r[0])})
		}
		return nil
	})
}
