package main

import (
	"context"
	"errors"

	"seamfit/internal/bench"
	"seamfit/internal/store"
)

// resume returns the state in which the records stand. People whom the settings
// name since the open shift began are told in it; of those who can't be, it says
// why.
func (a *app) resume(ctx context.Context, records *store.Store, setup *bench.Setup) (state bench.State, doubts []string, err error) {
	if state, err = records.Resume(ctx, setup); err != nil || state.Shift == nil {
		return state, nil, err
	}
	for _, p := range setup.People {
		if state.Shift.People.Role(p.Name) != "" {
			continue // what was told of the shift goes before the settings
		}
		next, facts, blockers := bench.Apply(state, bench.TellShift{When: bench.When{At: a.now()}, Detail: p})
		if len(blockers) > 0 {
			doubts = append(doubts, blockers[0].Mend)
			continue
		}
		switch err := records.Save(ctx, facts); {
		case errors.Is(err, bench.ErrRefused):
			doubts = append(doubts, p.Name+" is "+string(p.Role)+" by the settings, and not in this shift: it is told from the next one on.")
		case err != nil:
			return state, nil, err
		default:
			state = next
		}
	}
	return state, doubts, nil
}
