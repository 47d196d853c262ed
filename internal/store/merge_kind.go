package store

import (
	"context"
	"encoding/hex"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"
)

// unit is a link of a chain that is merged whole or not at all: a row with a
// digest, and the rows that belong to it.
type unit struct {
	kind, key string
	seq       int64
	digest    string
	rows      []record
}

// record is a row as it stands in a table.
type record struct {
	table   string
	columns []string
	values  []any
}

func (r record) value(column string) any { return r.values[slices.Index(r.columns, column)] }

// json writes the rows so that each value can be read back as it was.
func (u unit) json() (string, error) {
	var rows []KeptRow
	for _, r := range u.rows {
		values := map[string]any{}
		for i, c := range r.columns {
			values[c] = r.values[i]
			switch v := r.values[i].(type) {
			case []byte:
				values[c] = map[string]string{"hex": hex.EncodeToString(v)}
			case string:
				if !utf8.ValidString(v) { // which JSON can't hold
					values[c] = map[string]string{"text_hex": hex.EncodeToString([]byte(v))}
				}
			}
		}
		rows = append(rows, KeptRow{r.table, values})
	}
	return jsonText(rows)
}

// mergeKind is a kind of chain: the query of the keys in the other file, the
// query of a chain's sequences and digests, which takes its key as often as it
// has "?", and how its links are read.
type mergeKind struct {
	name, keys, digests string
	units               func(ctx context.Context, m *merger, key string) ([]unit, error)
}

// mergeKinds are in the order in which they can come in: what rows refer to
// comes before them.
func mergeKinds() []mergeKind {
	single := func(name, table string) mergeKind {
		return mergeKind{
			name, "SELECT id FROM " + table + " ORDER BY id", "SELECT 0, digest FROM " + table + " WHERE id = ?",
			linksOf(name, link{table, "id", "", nil}),
		}
	}
	return []mergeKind{
		{
			"shift", "SELECT id FROM shift ORDER BY id",
			"SELECT 0, digest FROM shift WHERE id = ? UNION ALL SELECT seq, digest FROM shift_fact WHERE shift = ?",
			linksOf("shift", link{"shift", "id", "", nil}, link{"shift_fact", "shift", "seq", nil}),
		},
		single("rod", "rod"),
		single("calibration", "calibration"),
		single("check", "rod_check"),
		{
			"string", "SELECT id FROM band_string ORDER BY id",
			"SELECT 0, digest FROM band_string WHERE id = ? UNION ALL SELECT seq, digest FROM stock_event WHERE string = ?",
			linksOf("string", link{"band_string", "id", "", numbersOf}, link{"stock_event", "string", "seq", marksOf}),
		},
		{
			"handling", "SELECT id FROM handling ORDER BY id", "SELECT seq, digest FROM fact WHERE handling = ?",
			linksOf("handling", link{"fact", "handling", "seq", contentOf}),
		},
		single("settlement", "settlement"),
		{"shift end", "SELECT shift FROM shift_close ORDER BY shift", "SELECT 0, digest FROM shift_close WHERE shift = ?", linksOf("shift end", link{"shift_close", "shift", "", nil})},
		{"submission", "SELECT id FROM submission ORDER BY map, place", "SELECT 0, digest FROM submission WHERE id = ?", linksOf("submission", link{"submission", "id", "", birdsOf})},
		single("practice", "practice"),
		// What the other bench merged itself is its own history.
		single("merge settlement", "merge_settled"),
	}
}

// digests are the digests of a chain by sequence.
func digests(ctx context.Context, v *View, k mergeKind, key string) (map[int64]string, error) {
	args := make([]any, strings.Count(k.digests, "?"))
	for i := range args {
		args[i] = key
	}
	found := map[int64]string{}
	return found, v.eachOf(ctx, k.digests, args, func(r []any) error {
		seq, _ := r[0].(int64)
		found[seq] = text(r[1])
		return nil
	})
}

// link is a table whose rows are links of a chain: the column of the chain's
// key, the column of the sequence ("": there is one row, of sequence 0), and
// what reads the rows that belong to a link.
type link struct {
	table, key, seq string
	belongs         func(ctx context.Context, m *merger, head record) (before, after []record, err error)
}

func linksOf(kind string, links ...link) func(context.Context, *merger, string) ([]unit, error) {
	return func(ctx context.Context, m *merger, key string) (units []unit, err error) {
		for _, l := range links {
			order := l.key
			if l.seq != "" {
				order = l.seq
			}
			heads, err := m.read(ctx, l.table, l.key+" = ?", order, key)
			if err != nil {
				return nil, err
			}
			for _, head := range heads {
				u := unit{kind: kind, key: key, digest: text(head.value("digest")), rows: []record{head}}
				if l.seq != "" {
					u.seq, _ = head.value(l.seq).(int64)
				}
				if l.belongs != nil {
					before, after, err := l.belongs(ctx, m, head)
					if err != nil {
						return nil, err
					}
					u.rows = slices.Concat(before, u.rows, after)
				}
				units = append(units, u)
			}
		}
		return units, nil
	}
}

func contentOf(ctx context.Context, m *merger, fact record) (before, after []record, err error) {
	if fact.value("seq") == int64(1) {
		if before, err = m.read(ctx, "handling", "id = ?", "id", fact.value("handling")); err != nil {
			return nil, nil, err
		}
	}
	kind := text(fact.value("kind"))
	if _, known := kinds()[kind]; !known {
		return nil, nil, fmt.Errorf("%w: a fact of kind %q", ErrDamaged, kind)
	}
	after, err = m.read(ctx, "fact_"+kind, "handling = ? AND seq = ?", "seq", fact.value("handling"), fact.value("seq"))
	return before, after, err
}

func numbersOf(ctx context.Context, m *merger, str record) (before, after []record, err error) {
	after, err = m.read(ctx, "stock_number", "string = ?", "place", str.value("id"))
	return nil, after, err
}

func marksOf(ctx context.Context, m *merger, event record) (before, after []record, err error) {
	after, err = m.read(ctx, "stock_mark", "string = ? AND seq = ?", "number", event.value("string"), event.value("seq"))
	return nil, after, err
}

func birdsOf(ctx context.Context, m *merger, submission record) (before, after []record, err error) {
	after, err = m.read(ctx, "submission_bird", "submission = ?", "handling", submission.value("id"))
	return nil, after, err
}

// read returns rows of a table of the other file.
func (m *merger) read(ctx context.Context, table, where, order string, args ...any) (rows []record, err error) {
	names, ok := m.columns[table]
	if !ok {
		if err := m.from.eachOf(ctx, "SELECT name FROM pragma_table_info(?)", []any{table}, func(r []any) error {
			names = append(names, text(r[0]))
			return nil
		}); err != nil {
			return nil, err
		}
		m.columns[table] = names
	}
	query := selectOf(names, " FROM "+table+" AS t WHERE "+where+" ORDER BY "+order)
	st, ok := m.reads[query]
	if !ok {
		if st, err = m.from.conn.PrepareContext(ctx, query); err != nil {
			return nil, err
		}
		m.reads[query] = st
	}
	found, err := st.QueryContext(ctx, args...)
	if err != nil {
		return nil, err
	}
	return rows, eachRow(found, func(r []any) error {
		rows = append(rows, record{table, names, r})
		return nil
	})
}
