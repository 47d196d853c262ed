package replay

import (
	"context"
	"fmt"

	"seamfit/internal/bench"
)

// settle plays an event that settles records: the birds of Handlings, counted
// as they came, have from now on Numbers, one each; or, without them, each has
// the number Slip places on from its own; or, without both, two of them swap.
func (b *Bench) settle(ctx context.Context, when bench.When, e event) error {
	var settled []bench.Handling
	var numbers []string
	for _, k := range e.Handlings {
		if k < 1 || k > len(b.opened) {
			b.refuse(e.Do, bench.NoSuchHandling, "No bird %d has come yet: there are %d.", k, len(b.opened))
			return nil
		}
		h, err := b.records.Load(ctx, b.opened[k-1])
		if err != nil {
			return fmt.Errorf("line %d: %w", b.line, err)
		}
		number, ok := h.NumberToSettle("")
		if !ok {
			b.refuse(e.Do, bench.BandMissing, "Bird %d has no band to settle.", k)
			return nil
		}
		settled, numbers = append(settled, h), append(numbers, number)
	}
	wanted, blocker := b.wanted(e, numbers)
	if blocker != nil {
		b.refusals = append(b.refusals, Refusal{Line: b.line, Do: e.Do, Blockers: []bench.Blocker{*blocker}})
		return nil
	}
	c := bench.Settle{When: when, ID: b.source.NewID(), Reason: e.Reason}
	for i, h := range settled {
		standing, err := b.records.Standing(ctx, wanted[i])
		if err != nil {
			return fmt.Errorf("line %d: %w", b.line, err)
		}
		c.Records = append(c.Records, bench.Renumbering{Handling: h, Number: wanted[i], Standing: standing})
	}
	return b.apply(ctx, e.Do, c)
}

// wanted returns the number that each record ought to have.
func (b *Bench) wanted(e event, have []string) ([]string, *bench.Blocker) {
	pattern := b.state.Setup.Pattern
	refuse := func(code bench.Code, format string, args ...any) ([]string, *bench.Blocker) {
		return nil, &bench.Blocker{Code: code, Mend: fmt.Sprintf(format, args...)}
	}
	switch {
	case len(e.Numbers) > 0 && len(e.Numbers) != len(have):
		return refuse(notUnderstood, "%d birds and %d numbers: give one number for each bird.", len(have), len(e.Numbers))
	case len(e.Numbers) == 0 && e.Slip == 0 && len(have) == 2:
		return []string{have[1], have[0]}, nil
	case len(e.Numbers) == 0 && e.Slip == 0:
		return refuse(notUnderstood, "Two birds swap their numbers; for %d give numbers, or slip.", len(have))
	}
	var wanted []string
	for i := range have {
		text := have[i]
		if len(e.Numbers) > 0 {
			text = e.Numbers[i]
		}
		n, err := pattern.Parse(text)
		if err == nil {
			n, err = n.Plus(e.Slip)
		}
		if err != nil {
			return refuse(bench.NumberPattern, "%v", err)
		}
		wanted = append(wanted, n.String())
	}
	return wanted, nil
}
