package store

import (
	"context"
	"database/sql"
	"errors"

	"seamfit/internal/bands"
	"seamfit/internal/bench"
)

// Offer returns the number that a holder takes next for a band of that size
// and metal, how many are left of its string, and, where those are few, what
// comes after it. The number is the first one on the tubing that was issued to
// them, else on one that was issued to nobody by name.
func (s *Store) Offer(ctx context.Context, t bench.Tubing) (bench.Offer, error) {
	var o bench.Offer
	if err := s.db.QueryRowContext(ctx, "SELECT EXISTS (SELECT 1 FROM band_string)").Scan(&o.StockKept); err != nil || !o.StockKept {
		return o, s.fail("read", err)
	}
	var str string
	for _, holder := range []string{bands.Holder(t.Holder), ""} {
		err := s.db.QueryRowContext(ctx, `SELECT number, string FROM tubing
			WHERE holder = ? COLLATE NOCASE AND size = ? AND metal = ? ORDER BY string, place LIMIT 1`, holder, t.Size, t.Metal).Scan(&o.Next, &str)
		if errors.Is(err, sql.ErrNoRows) {
			continue
		}
		if err == nil {
			err = s.db.QueryRowContext(ctx, `SELECT count(*) FROM tubing
				WHERE holder = ? COLLATE NOCASE AND size = ? AND metal = ? AND string = ?`, holder, t.Size, t.Metal, str).Scan(&o.Left)
		}
		if err != nil {
			return o, s.fail("read", err)
		}
		break
	}
	if o.Left > bench.FewLeft {
		return o, nil
	}
	return s.thereafter(ctx, o, t, str)
}

// thereafter adds what comes after a string: the next one on a tubing of the
// holder's or of nobody's, else the first number in stock.
func (s *Store) thereafter(ctx context.Context, o bench.Offer, t bench.Tubing, str string) (bench.Offer, error) {
	var err error
	if o.Next != "" {
		o.Then, err = s.text(ctx, `SELECT number FROM tubing WHERE (holder = ? COLLATE NOCASE OR holder = '') AND size = ? AND metal = ? AND string <> ?
			ORDER BY holder = '', string, place LIMIT 1`, bands.Holder(t.Holder), t.Size, t.Metal, str)
		o.ThenOpened = o.Then != ""
	}
	if err != nil || o.Then != "" {
		return o, err
	}
	strings, err := s.texts(ctx, "SELECT id FROM band_string WHERE size = ? AND metal = ? ORDER BY id", t.Size, t.Metal)
	for _, id := range strings {
		if err != nil || o.Then != "" {
			break
		}
		o.Then, err = s.text(ctx, "SELECT number FROM stock_now WHERE string = ? AND state = 'in stock' ORDER BY place LIMIT 1", id)
	}
	return o, err
}
