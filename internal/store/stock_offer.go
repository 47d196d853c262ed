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
	// In stock is what no mark and no bird has taken out of it; asked so, and not
	// of stock_now, since most strings of an old bench are used up.
	o.Then, err = s.text(ctx, `SELECT n.number FROM band_string s CROSS JOIN stock_number n ON n.string = s.id
		WHERE s.size = ? AND s.metal = ?
		  AND NOT EXISTS (SELECT 1 FROM stock_mark m WHERE m.number = n.number AND m.state NOT IN ('', 'in stock'))
		  AND NOT EXISTS (SELECT 1 FROM number_bands b WHERE b.number = n.number AND b.state <> 'put back')
		ORDER BY s.id, n.place LIMIT 1`, t.Size, t.Metal)
	return o, err
}
