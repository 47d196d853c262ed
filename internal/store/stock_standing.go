package store

import (
	"context"
	"database/sql"
	"errors"

	"seamfit/internal/bands"
	"seamfit/internal/bench"
)

// Standing returns what the records know of a number: where it is now, whose
// record says so, and, for a number of the stock, its size, its metal, its
// holder and the next one in that holder's order. What was taken off a bird is
// destroyed, also when another record had put it on.
func (s *Store) Standing(ctx context.Context, number string) (bench.Standing, error) {
	var st bench.Standing
	var state string
	err := s.db.QueryRowContext(ctx, `
		SELECT handling, state FROM number_bands WHERE number = ? AND state <> 'put back'
		ORDER BY CASE WHEN found AND state = 'destroyed' THEN 0 WHEN state = 'on bird' THEN 1 WHEN state = 'destroyed' THEN 2 ELSE 3 END,
		         handling DESC LIMIT 1`, number).Scan(&st.Handling, &state)
	if err != nil && !errors.Is(err, sql.ErrNoRows) {
		return st, s.fail("read", err)
	}
	st.State = bands.State(state)
	if err := s.db.QueryRowContext(ctx, "SELECT EXISTS (SELECT 1 FROM band_string)").Scan(&st.StockKept); err != nil {
		return st, s.fail("read", err)
	}
	if !st.StockKept {
		return st, nil
	}
	var str string
	err = s.db.QueryRowContext(ctx, "SELECT string, size, metal, holder, state FROM stock_now WHERE number = ?", number).
		Scan(&str, &st.Size, &st.Metal, &st.Holder, &state)
	if errors.Is(err, sql.ErrNoRows) {
		if st.State == "" {
			st.Meant, err = s.meant(ctx, number, "n.state IN ('in stock', 'opened')")
			return st, err
		}
		return st, nil
	}
	if err != nil {
		return st, s.fail("read", err)
	}
	if st.State != bands.OnBird && st.State != bands.Destroyed && bands.State(state) != bands.Opened {
		st.Handling = "" // gone by the stock, whoever had it in mind
	}
	st.State = bands.State(state)
	if st.State == bands.InStock {
		st.Meant, err = s.meant(ctx, number, "n.state = 'opened'")
	}
	if st.State == bands.Opened {
		st.Next, err = s.text(ctx, `SELECT number FROM tubing WHERE holder = ? COLLATE NOCASE AND size = ? AND metal = ? AND string = ?
			ORDER BY place LIMIT 1`, st.Holder, st.Size, st.Metal, str)
	}
	return st, err
}

// meant looks for the number, in one of these states and taken for no bird, that
// one slip made this one of: the opened ones first, in their order.
func (s *Store) meant(ctx context.Context, number, states string) (string, error) {
	var near []string
	for _, slip := range bands.Slips(number) {
		near = append(near, slip.Text)
	}
	list, err := jsonText(near)
	if err != nil {
		return "", err
	}
	return s.text(ctx, `SELECT n.number FROM json_each(?) j CROSS JOIN stock_now n ON n.number = j.value
		WHERE `+states+` AND NOT n.claimed ORDER BY n.state DESC, j.key LIMIT 1`, list)
}

// text returns the one text that a query finds; empty when it finds none.
func (s *Store) text(ctx context.Context, query string, args ...any) (string, error) {
	var text string
	err := s.db.QueryRowContext(ctx, query, args...).Scan(&text)
	if errors.Is(err, sql.ErrNoRows) {
		return "", nil
	}
	return text, s.fail("read", err)
}

// texts returns the texts that a query finds.
func (s *Store) texts(ctx context.Context, query string, args ...any) (texts []string, err error) {
	rows, err := s.db.QueryContext(ctx, query, args...)
	if err != nil {
		return nil, s.fail("read", err)
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	for rows.Next() {
		var text string
		if err := rows.Scan(&text); err != nil {
			return nil, s.fail("read", err)
		}
		texts = append(texts, text)
	}
	return texts, s.fail("read", rows.Err())
}
