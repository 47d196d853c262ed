package station

import "seamfit/internal/bench"

// What the loop asks the records. Each runs in a goroutine, and its answer comes
// back as an event.

func (l *loop) lookUp(e LookUp) Event {
	standing, err := l.cfg.Keeper.Standing(l.ctx, e.Number)
	answer := LookedUp{Moment: l.now(), Ticket: e.Ticket, Standing: standing}
	if err != nil {
		answer.Standing, answer.Trouble = bench.Standing{}, err.Error()
	}
	return answer
}

func (l *loop) reload(e Reload) Event {
	record, err := l.cfg.Keeper.Load(l.ctx, e.Handling)
	answer := Reloaded{Moment: l.now(), Handling: e.Handling, Record: record}
	if err != nil {
		answer.Record, answer.Trouble = bench.Handling{}, err.Error()
	}
	return answer
}

func (l *loop) lookBack(like bench.Likeness) Event {
	history, err := l.cfg.History(l.ctx, like)
	if err != nil {
		return LookedBack{Moment: l.now(), Like: like, Trouble: err.Error()}
	}
	return LookedBack{Moment: l.now(), Like: like, History: history}
}

func (l *loop) trace(inscription string) Event {
	tracks, err := l.cfg.Trace(l.ctx, inscription)
	if err != nil {
		tracks = Tracks{Trouble: err.Error()}
	}
	tracks.Inscription = inscription
	return Traced{l.now(), tracks}
}

func (l *loop) askStock(t bench.Tubing) Event {
	if l.cfg.Offer == nil {
		return Offered{Moment: l.now(), Tubing: t}
	}
	offer, err := l.cfg.Offer(l.ctx, t)
	if err != nil {
		return Offered{Moment: l.now(), Tubing: t, Trouble: err.Error()}
	}
	return Offered{Moment: l.now(), Tubing: t, Offer: offer}
}

// askString asks for what makes a judgement better, and is not needed for it:
// where it can't be read, the flush diameter is asked for as if none was known.
func (l *loop) askString(number string) Event {
	measures, err := l.cfg.String(l.ctx, number)
	if err != nil {
		return StringTold{Moment: l.now(), Number: number}
	}
	return StringTold{Moment: l.now(), Number: number, Measures: measures}
}
