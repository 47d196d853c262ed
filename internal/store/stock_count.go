package store

import (
	"cmp"
	"context"
	"maps"
	"slices"
	"strings"

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
	err := s.View(ctx, func(v *View) error {
		c := &counting{view: v, account: &account, at: map[string]int{}, by: map[string]int{}}
		for _, step := range []func(context.Context) error{c.strings, c.numbers, c.doubts, c.changes} {
			if err := step(ctx); err != nil {
				return err
			}
		}
		return nil
	})
	for i := range account.Strings {
		c := &account.Strings[i]
		account.Balanced = account.Balanced && c.AddsUp() && len(c.Doubtful) == 0
	}
	for _, c := range account.Changed { // missing then, and nothing was told of them since
		account.Balanced = account.Balanced && (c.Seen || !c.State.Usable())
	}
	return account, s.fail("reconcile", err)
}

// counting is one account being made. Where each number is, which costs the
// most to ask, is asked once.
type counting struct {
	view    *View
	account *Account
	at      map[string]int // place of a string in the account
	all     []counted      // in the order of the strings
	by      map[string]int // place of a number in all
}

// counted is a number of the stock: what the stock alone tells of it, where it
// is, and whether a record has put it on a bird.
type counted struct {
	number, string string
	holder         string
	told, state    bands.State
	claimed        bool
}

func (c *counting) strings(ctx context.Context) error {
	return c.view.eachOf(ctx, "SELECT id, first, last, size, metal, received FROM band_string ORDER BY id", nil, func(r []any) error {
		c.at[text(r[0])] = len(c.account.Strings)
		c.account.Strings = append(c.account.Strings, bands.StringCount{
			First: text(r[1]), Last: text(r[2]), Size: text(r[3]), Metal: text(r[4]), Received: whole(r[5]), Doubtful: []string{},
		})
		return nil
	})
}

func (c *counting) numbers(ctx context.Context) error {
	return c.view.eachOf(ctx, "SELECT number, string, holder, told, state, claimed FROM stock_now ORDER BY string, place", nil, func(r []any) error {
		n := counted{text(r[0]), text(r[1]), text(r[2]), bands.State(text(r[3])), bands.State(text(r[4])), whole(r[5]) != 0}
		c.by[n.number] = len(c.all)
		c.all = append(c.all, n)
		c.account.Strings[c.at[n.string]].Add(n.state)
		return nil
	})
}

// doubts finds the numbers whose account is open to question.
func (c *counting) doubts(ctx context.Context) error {
	found := map[bands.Doubt]bool{}
	doubt := func(n counted, why string) { found[bands.Doubt{Number: n.number, Why: why}] = true }
	gone := []bands.State{bands.Lost, bands.Rejected, bands.Returned, bands.Destroyed}
	for _, n := range c.all {
		if n.state == bands.OnBird && slices.Contains(gone, n.told) {
			doubt(n, "on a bird, and "+string(n.told)+" by the stock")
		}
	}
	for _, rule := range doubtRules() {
		if err := c.view.each(ctx, rule.query, func(r []any) error {
			if i, ok := c.by[text(r[0])]; ok && rule.holds(c.all[i]) {
				doubt(c.all[i], rule.why+text(r[1]))
			}
			return nil
		}); err != nil {
			return err
		}
	}
	told := map[string]bool{}
	for d := range found {
		told[d.Number] = true
	}
	c.gaps(func(n counted, why string) {
		if !told[n.number] { // passed over for a reason, say
			doubt(n, why)
		}
	})
	sorted := slices.SortedFunc(maps.Keys(found), func(a, b bands.Doubt) int {
		return cmp.Or(cmp.Compare(c.all[c.by[a.Number]].string, c.all[c.by[b.Number]].string), cmp.Compare(a.Number, b.Number), cmp.Compare(a.Why, b.Why))
	})
	for _, d := range sorted {
		c.account.Strings[c.at[c.all[c.by[d.Number]].string]].Doubt(d.Number)
		c.account.Doubts = append(c.account.Doubts, d)
	}
	return nil
}

// doubtRule is a query of numbers whose state is doubted where it holds; why is
// followed by the query's second column.
type doubtRule struct {
	query, why string
	holds      func(counted) bool
}

func doubtRules() []doubtRule {
	return []doubtRule{
		{
			"SELECT b.number, '' FROM disputed d JOIN band_now b ON b.handling = d.handling AND b.state <> 'put back' AND NOT b.found",
			"its record is disputed", func(counted) bool { return true },
		},
		{
			"SELECT k.skipped, k.reason FROM fact_band k JOIN stock_now n ON n.number = k.skipped WHERE k.skipped <> '' AND NOT n.claimed",
			"passed over, and not accounted for: ", func(n counted) bool { return n.state == bands.Opened },
		},
		{
			"SELECT b.number, '' FROM number_bands b JOIN stock_now n ON n.number = b.number WHERE b.found AND b.state = 'on bird' AND NOT n.claimed",
			"found on a bird, and no record has put it there", func(n counted) bool { return n.state == bands.OnBird },
		},
		{
			`SELECT b.number, '' FROM band_now b WHERE b.found AND b.state = 'on bird'
			 AND EXISTS (SELECT 1 FROM number_bands d WHERE d.number = b.number AND d.handling <> b.handling AND d.state = 'destroyed')`,
			"found on a bird, and destroyed by the records", func(counted) bool { return true },
		},
		{
			"SELECT b.number, '' FROM band_now b WHERE b.found AND b.state = 'destroyed' AND b.conflict = 'destroyed'",
			"taken off a bird, and destroyed before that by the records", func(counted) bool { return true },
		},
		{
			// One whose species nobody has told is no other: '' is made NULL, which is
			// unlike nothing.
			`SELECT DISTINCT b.number, '' FROM fact_band b CROSS JOIN claim c ON c.number = b.number AND c.handling <> b.handling
			 WHERE b.event = 'found'
			   AND (SELECT nullif(d.species, '') FROM fact_bird d WHERE d.handling = b.handling ORDER BY d.seq DESC LIMIT 1)
			    <> (SELECT nullif(d.species, '') FROM fact_bird d WHERE d.handling = c.handling ORDER BY d.seq DESC LIMIT 1)`,
			"found on a bird of another species than it was put on", func(counted) bool { return true },
		},
		{
			"SELECT m.number, '' FROM stock_event e JOIN stock_mark m ON m.string = e.string AND m.seq = e.seq WHERE e.kind = 'found'",
			"lost and found again: tell it as destroyed or returned", func(n counted) bool { return n.state == bands.Lost },
		},
		{
			`SELECT b.number, '' FROM number_bands b WHERE b.state = 'opened' AND NOT b.found
			 AND NOT EXISTS (SELECT 1 FROM open_handling o WHERE o.handling = b.handling)`,
			"taken for a bird that is gone, and no look at it is told", func(counted) bool { return true },
		},
	}
}

// gaps finds the numbers on a tubing that were left out: not used, and a later
// one of the same string and holder is on a bird.
func (c *counting) gaps(doubt func(n counted, why string)) {
	type tubing struct{ string, holder string }
	later := map[tubing]string{}
	for _, n := range slices.Backward(c.all) {
		t := tubing{n.string, strings.ToLower(n.holder)}
		switch {
		case n.told != bands.Opened:
		case n.claimed && n.state == bands.OnBird && later[t] == "":
			later[t] = n.number
		case !n.claimed && n.state == bands.Opened && later[t] != "":
			doubt(n, "left out: not used, and "+later[t]+" of its tubing is on a bird")
		}
	}
}

// changes compares each number with the last count of its string.
func (c *counting) changes(ctx context.Context) error {
	seen := map[string]bool{}
	told := map[string]bool{} // strings that were counted
	if err := c.view.each(ctx, `SELECT c.string, m.number FROM (SELECT string, max(seq) AS seq FROM stock_event WHERE kind = 'counted' GROUP BY string) c
		JOIN stock_mark m ON m.string = c.string AND m.seq = c.seq`, func(r []any) error {
		told[text(r[0])], seen[text(r[1])] = true, true
		return nil
	}); err != nil {
		return err
	}
	for _, n := range c.all {
		here := n.state == bands.InStock || n.state == bands.Opened
		if told[n.string] && seen[n.number] != here {
			c.account.Changed = append(c.account.Changed, Change{Number: n.number, Seen: seen[n.number], State: n.state})
		}
	}
	return nil
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
