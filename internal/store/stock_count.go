package store

import (
	"context"
	"errors"

	"seamfit/internal/bands"
)

// Account is the account of the whole stock.
type Account struct {
	Strings []bands.StringCount `json:"strings"`
	// Balanced: every string adds up to what was received, and no number is
	// doubtful.
	Balanced bool          `json:"balanced"`
	Doubts   []bands.Doubt `json:"doubts"`
	// Changed are the numbers that are elsewhere than at the last count of
	// their string.
	Changed []Change `json:"changed"`
}

// Change is a number that was seen or missed at the last count of its string,
// and where it is now.
type Change struct {
	Number string      `json:"number"`
	Seen   bool        `json:"seen"`
	State  bands.State `json:"state"`
}

// Reconcile returns where every number of every string is, oldest string
// first.
func (s *Store) Reconcile(ctx context.Context) (Account, error) {
	account := Account{Strings: []bands.StringCount{}, Balanced: true, Doubts: []bands.Doubt{}, Changed: []Change{}}
	at := map[string]int{}
	err := s.View(ctx, func(v *View) error {
		if err := v.eachOf(ctx, "SELECT id, first, last, size, metal, received FROM band_string ORDER BY id", nil, func(r []any) error {
			var c bands.StringCount
			at[text(r[0])] = len(account.Strings)
			c.First, c.Last, c.Size, c.Metal, c.Received = text(r[1]), text(r[2]), text(r[3]), text(r[4]), whole(r[5])
			c.Doubtful = []string{}
			account.Strings = append(account.Strings, c)
			return nil
		}); err != nil {
			return err
		}
		if err := v.eachOf(ctx, "SELECT string, state FROM stock_now", nil, func(r []any) error {
			account.Strings[at[text(r[0])]].Add(bands.State(text(r[1])))
			return nil
		}); err != nil {
			return err
		}
		return errors.Join(v.doubts(ctx, at, &account), v.changes(ctx, &account))
	})
	for i := range account.Strings {
		c := &account.Strings[i]
		account.Balanced = account.Balanced && c.AddsUp() && len(c.Doubtful) == 0
	}
	return account, s.fail("reconcile", err)
}

// doubts finds the numbers whose account is open to question.
func (v *View) doubts(ctx context.Context, at map[string]int, account *Account) error {
	return v.eachOf(ctx, doubtfulSQL, nil, func(r []any) error {
		c := &account.Strings[at[text(r[0])]]
		c.Doubt(text(r[1]))
		account.Doubts = append(account.Doubts, bands.Doubt{Number: text(r[1]), Why: text(r[2])})
		return nil
	})
}

const doubtfulSQL = `
	WITH now AS MATERIALIZED (SELECT number, string, told, state, claimed FROM stock_now)
	SELECT n.string, n.number, 'its record is disputed' AS why FROM disputed d
	  JOIN band_now b ON b.handling = d.handling AND b.state <> 'put back' AND NOT b.found
	  JOIN stock_number n ON n.number = b.number
	UNION
	SELECT n.string, n.number, 'passed over, and not accounted for: ' || k.reason FROM fact_band k
	  JOIN now n ON n.number = k.skipped WHERE k.skipped <> '' AND n.state = 'opened' AND NOT n.claimed
	UNION
	SELECT n.string, n.number, 'on a bird, and ' || n.told || ' by the stock' FROM now n
	  WHERE n.told IN ('lost', 'rejected', 'returned', 'destroyed') AND n.state = 'on bird'
	UNION
	SELECT n.string, n.number, 'found on a bird, and no record has put it there' FROM now n
	  WHERE n.state = 'on bird' AND NOT n.claimed
	UNION
	SELECT n.string, n.number, 'lost and found again: tell it as destroyed or returned' FROM stock_mark m
	  JOIN stock_event e ON e.string = m.string AND e.seq = m.seq AND e.kind = 'found'
	  JOIN now n ON n.number = m.number AND n.state = 'lost'
	UNION
	SELECT n.string, n.number, 'taken for a bird that left without a fate' FROM now n
	  JOIN number_bands b ON b.number = n.number AND b.state = 'opened' AND NOT b.found
	  WHERE NOT EXISTS (SELECT 1 FROM open_handling o WHERE o.handling = b.handling)
	ORDER BY 1, 2`

// changes compares each number with the last count of its string.
func (v *View) changes(ctx context.Context, account *Account) error {
	return v.eachOf(ctx, `
		SELECT n.number, EXISTS (SELECT 1 FROM stock_mark m WHERE m.string = c.string AND m.seq = c.seq AND m.number = n.number) AS seen, n.state
		FROM (SELECT string, max(seq) AS seq FROM stock_event WHERE kind = 'counted' GROUP BY string) c
		JOIN stock_now n ON n.string = c.string
		WHERE seen <> (n.state IN ('in stock', 'opened')) AND (seen OR n.state IN ('in stock', 'opened'))
		ORDER BY n.string, n.place`, nil, func(r []any) error {
		account.Changed = append(account.Changed, Change{Number: text(r[0]), Seen: whole(r[1]) != 0, State: bands.State(text(r[2]))})
		return nil
	})
}

// text and whole read a value of a column that the schema holds to its type.
func text(v any) string {
	s, _ := v.(string)
	return s
}

func whole(v any) int {
	n, _ := v.(int64)
	return int(n)
}

// Located is a number and where it is.
type Located struct {
	Number string
	State  bands.State
}

// NumbersBeside returns all numbers of the strings that the given ones are of,
// in the order of the strings.
func (s *Store) NumbersBeside(ctx context.Context, numbers []string) (located []Located, err error) {
	list, err := jsonText(numbers)
	if err != nil {
		return nil, err
	}
	err = s.View(ctx, func(v *View) error {
		return v.eachOf(ctx, `SELECT n.number, n.state FROM (
			SELECT DISTINCT k.string FROM json_each(?) j CROSS JOIN stock_number k ON k.number = j.value) t
			CROSS JOIN stock_now n ON n.string = t.string ORDER BY n.string, n.place`, []any{list}, func(r []any) error {
			located = append(located, Located{Number: text(r[0]), State: bands.State(text(r[1]))})
			return nil
		})
	})
	return located, s.fail("read", err)
}
