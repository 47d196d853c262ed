package store

import (
	"context"
	"database/sql"
	"errors"
	"slices"
	"strings"
	"time"

	"seamfit/internal/bands"
	"seamfit/internal/seam"
)

// StockEvent is one thing that happens to numbers of the stock, which may be
// of several strings. Holder is to whom they are opened or passed.
type StockEvent struct {
	Kind     bands.EventKind
	Numbers  []string
	At       time.Time
	Entered  time.Time
	By       string
	Holder   string
	Reason   string
	Measures seam.StringMeasures // of EventMeasured
}

func stockEventColumns() []string {
	return strings.Fields("string seq kind at at_offset entered entered_offset by holder reason measures numbers")
}

// Record stores events of the stock, all or none, in their order. It returns a
// *bands.EventError for a number to which the event can't happen.
func (s *Store) Record(ctx context.Context, events []StockEvent) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	s.saving.Lock()
	defer s.saving.Unlock()
	ctx = context.WithoutCancel(ctx)
	return s.failStock("record", s.transact(ctx, func() error {
		for _, e := range events {
			if err := s.insertStockEvent(ctx, e); err != nil {
				return err
			}
		}
		return nil
	}))
}

// mark is a number with the state in which an event leaves it; "" where the
// event says nothing of it.
type mark struct {
	number string
	state  bands.State
}

// insertStockEvent stores the event once for each string that its numbers are
// of, in the order of the numbers.
func (s *Store) insertStockEvent(ctx context.Context, e StockEvent) error {
	var order []string
	marks := map[string][]mark{}
	told := map[string]bool{}
	for _, number := range e.Numbers {
		if told[number] {
			continue
		}
		told[number] = true
		str, m, err := s.markFor(ctx, e, number)
		if err != nil {
			return err
		}
		if _, ok := marks[str]; !ok {
			order = append(order, str)
		}
		marks[str] = append(marks[str], m)
	}
	for _, str := range order {
		if err := s.insertMarks(ctx, e, str, marks[str]); err != nil {
			return err
		}
	}
	return nil
}

func (s *Store) markFor(ctx context.Context, e StockEvent, number string) (str string, m mark, err error) {
	var now bands.State
	st, err := s.prepared(ctx, "SELECT string, state FROM stock_now WHERE number = ?")
	if err != nil {
		return "", m, err
	}
	if err := st.QueryRowContext(ctx, number).Scan(&str, &now); err != nil && !isNoRows(err) {
		return "", m, err
	}
	after, err := e.Kind.After(number, now)
	var unknown *bands.EventError
	if errors.As(err, &unknown) && now == "" {
		if unknown.Meant, err = s.meant(ctx, number, "n.state <> ''"); err == nil {
			err = unknown
		}
	}
	m = mark{number: number}
	if after != now || e.Kind == bands.EventPassed {
		m.state = after
	}
	return str, m, err
}

func (s *Store) insertMarks(ctx context.Context, e StockEvent, str string, marks []mark) error {
	previous, seq, err := s.lastOfString(ctx, str)
	if err != nil {
		return err
	}
	measures, err := jsonText(e.Measures)
	if err != nil {
		return err
	}
	// In the order in which the table has them.
	slices.SortFunc(marks, func(a, b mark) int { return strings.Compare(a.number, b.number) })
	var told []string
	for _, m := range marks {
		told = append(told, m.number, string(m.state))
	}
	values := []any{
		str, seq + 1, string(e.Kind), utc(e.At), offset(e.At), utc(e.Entered), offset(e.Entered), e.By, e.Holder, e.Reason,
		measures, digestOfTexts(told),
	}
	if err := s.exec(ctx, insertInto("stock_event", stockEventColumns(), "digest"),
		append(values, digestOf(append([]any{previous}, values...)))...); err != nil {
		return err
	}
	for _, m := range marks {
		if err := s.exec(ctx, "INSERT INTO stock_mark (string, seq, number, state) VALUES (?, ?, ?, ?)",
			str, seq+1, m.number, string(m.state)); err != nil {
			return err
		}
	}
	return nil
}

// lastOfString returns the digest and the sequence of a string's last event,
// the string's own digest and 0 when it has none.
func (s *Store) lastOfString(ctx context.Context, str string) (digest string, seq int64, err error) {
	st, err := s.prepared(ctx, `SELECT coalesce(e.digest, b.digest), coalesce(e.seq, 0) FROM band_string b
		LEFT JOIN stock_event e ON e.string = b.id AND e.seq = (SELECT max(seq) FROM stock_event WHERE string = b.id)
		WHERE b.id = ?`)
	if err != nil {
		return "", 0, err
	}
	err = st.QueryRowContext(ctx, str).Scan(&digest, &seq)
	return digest, seq, err
}

// failStock returns what the stock refused as it is, and wraps the rest.
func (s *Store) failStock(op string, err error) error {
	var refused *StockError
	var event *bands.EventError
	if errors.As(err, &refused) || errors.As(err, &event) {
		return err
	}
	return s.fail(op, err)
}

func isNoRows(err error) bool { return errors.Is(err, sql.ErrNoRows) }
