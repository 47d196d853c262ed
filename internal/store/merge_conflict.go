package store

import (
	"context"
	"encoding/json"
	"fmt"
	"strings"
)

// Conflict is something that two benches told differently. Both are in the
// file; Kind and Key name it, Records are the handlings that it is between, as
// far as it is between handlings.
type Conflict struct {
	Kind    string   `json:"kind"`
	Key     string   `json:"key"`
	What    string   `json:"what"`
	Mend    string   `json:"mend"`
	Records []string `json:"records"`
	Whose   []string `json:"whose"` // of which bird each record is: species, begin, place, bander
	Kept    []Kept   `json:"kept"`  // what was kept aside, in its order
}

// Kept is a row of another bench that was kept aside, with those that belong to
// it: the fact with its content, the string with its numbers.
type Kept struct {
	Seq  int       `json:"seq"`
	Why  string    `json:"why"`
	Rows []KeptRow `json:"rows"`
}

// KeptRow is one row as its table had it. Bytes are written {"hex": "…"}, and
// text that is no UTF-8 {"text_hex": "…"}.
type KeptRow struct {
	Table  string         `json:"table"`
	Values map[string]any `json:"values"`
}

// Conflicts returns what nobody has settled yet: what was kept aside at a
// merge, numbers on two birds, and numbers that were practised with and are
// elsewhere too.
func (s *Store) Conflicts(ctx context.Context) (conflicts []Conflict, err error) {
	err = s.View(ctx, func(v *View) error {
		if conflicts, err = v.conflicts(ctx); err != nil {
			return err
		}
		for i := range conflicts {
			c := &conflicts[i]
			if c.Whose, err = v.whose(ctx, c.Records); err != nil {
				return err
			}
			if c.Kind == "string" {
				err = v.eachOf(ctx, "SELECT first, last FROM band_string WHERE id = ?", []any{c.Key}, func(r []any) error {
					c.What = text(r[0]) + " to " + text(r[1]) + ", " + c.What
					return nil
				})
			}
			if err != nil {
				return err
			}
		}
		return nil
	})
	return conflicts, s.fail("read", err)
}

// whose says of which bird each record is, in words by which a person knows it.
func (v *View) whose(ctx context.Context, records []string) ([]string, error) {
	told := make([]string, len(records))
	for i, id := range records {
		if err := v.eachOf(ctx, `SELECT b.species, f.at, f.at_offset, s.place, f.by
			FROM handling h JOIN shift s ON s.id = h.shift JOIN fact f ON f.handling = h.id AND f.seq = 1
			JOIN fact_bird b ON b.handling = h.id AND b.seq = (SELECT max(seq) FROM fact_bird WHERE handling = h.id)
			WHERE h.id = ?`, []any{id}, func(r []any) error {
			at, err := parseTime(text(r[1]), text(r[2]))
			told[i] = strings.Join([]string{text(r[0]), at.Format("2006-01-02 15:04"), text(r[3]), text(r[4])}, ", ")
			return err
		}); err != nil {
			return nil, err
		}
	}
	return told, nil
}

func (v *View) conflicts(ctx context.Context) ([]Conflict, error) {
	const settle = "see that what stands here is true, correct it if not, then settle it with merge --settle"
	conflicts := []Conflict{}
	add := func(c Conflict) {
		if c.Records == nil {
			c.Records = []string{}
		}
		if c.Kept == nil {
			c.Kept = []Kept{}
		}
		conflicts = append(conflicts, c)
	}
	if err := v.each(ctx, "SELECT kind, key, seq, why, rows FROM unsettled ORDER BY kind, key, seq, id", func(r []any) error {
		kept := Kept{Seq: whole(r[2]), Why: text(r[3])}
		rows := json.NewDecoder(strings.NewReader(text(r[4])))
		rows.UseNumber() // as they were written
		if err := rows.Decode(&kept.Rows); err != nil {
			return fmt.Errorf("%w: kept %v %v: %w", ErrDamaged, r[0], r[1], err)
		}
		if n := len(conflicts); n > 0 && conflicts[n-1].Kind == r[0] && conflicts[n-1].Key == r[1] {
			conflicts[n-1].Kept = append(conflicts[n-1].Kept, kept)
			return nil
		}
		c := Conflict{Kind: text(r[0]), Key: text(r[1]), What: "another bench has it otherwise: " + kept.Why, Mend: settle, Kept: []Kept{kept}}
		if c.Kind == "handling" {
			c.Records = []string{c.Key}
		}
		add(c)
		return nil
	}); err != nil {
		return nil, err
	}
	if err := v.each(ctx, `SELECT number, group_concat(DISTINCT handling) FROM claim GROUP BY number HAVING count(DISTINCT handling) > 1 ORDER BY number`, func(r []any) error {
		add(Conflict{
			Kind: "number", Key: text(r[0]), What: "one number on two birds", Records: strings.Split(text(r[1]), ","),
			Mend: "find out which bird wears it, then settle it with bands settle",
		})
		return nil
	}); err != nil {
		return nil, err
	}
	return conflicts, v.each(ctx, practisedTwiceSQL, func(r []any) error {
		add(Conflict{Kind: "practice", Key: text(r[0]), What: "a number that was practised with is told elsewhere too", Mend: settle})
		return nil
	})
}

const practisedTwiceSQL = `SELECT p.number FROM practice p WHERE p.number <> ''
	AND (EXISTS (SELECT 1 FROM fact_band o JOIN claim c ON c.handling = o.handling AND c.number = o.number WHERE o.number = p.number)
	     OR EXISTS (SELECT 1 FROM practice q WHERE q.number = p.number AND q.id <> p.id))
	AND NOT EXISTS (SELECT 1 FROM merge_settled s, json_each(s.settles) j WHERE j.value = 'practice ' || p.number)
	GROUP BY p.number ORDER BY p.number`
