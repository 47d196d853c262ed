package store

import (
	"context"
	"encoding/json"
	"strings"
	"time"

	"seamfit/internal/bands"
	"seamfit/internal/bench"
	"seamfit/internal/seam"
)

// NumberEntry is one thing that the records tell of a number.
type NumberEntry struct {
	At       time.Time `json:"at"`
	What     string    `json:"what"`
	By       string    `json:"by"`
	Detail   string    `json:"detail"`
	Handling string    `json:"handling"` // empty: told by the stock
	Species  string    `json:"species"`
	Leg      string    `json:"leg"`
}

// NumberHistory is all that the records tell of a number, oldest first.
type NumberHistory struct {
	Number  string        `json:"number"`
	State   bands.State   `json:"state"` // empty: in no record as this bench's own
	Size    string        `json:"size"`
	Metal   string        `json:"metal"`
	Holder  string        `json:"holder"`
	Entries []NumberEntry `json:"entries"`
}

// matchLimit bounds how many numbers an inscription with unread digits finds.
const matchLimit = 200

// NumbersLike returns the numbers in the stock or in a record that could be
// the inscription, in their order, 200 at most.
func (s *Store) NumbersLike(ctx context.Context, read bands.Inscription) ([]string, error) {
	// GLOB's own "?" is any one character; its other signs are in no number.
	glob := strings.NewReplacer("[", "", "]", "", "*", "").Replace(string(read))
	return s.texts(ctx, `SELECT number FROM stock_number WHERE number GLOB ?
		UNION SELECT number FROM fact_band WHERE number GLOB ? ORDER BY 1 LIMIT ?`, glob, glob, matchLimit)
}

// NumberHistory returns all that the records tell of a number; no entries for
// one that they don't know.
func (s *Store) NumberHistory(ctx context.Context, number string) (NumberHistory, error) {
	h := NumberHistory{Number: number, Entries: []NumberEntry{}}
	st, err := s.Standing(ctx, number)
	if err != nil {
		return h, err
	}
	h.State, h.Size, h.Metal, h.Holder = st.State, st.Size, st.Metal, st.Holder
	err = s.View(ctx, func(v *View) error {
		return v.eachOf(ctx, numberHistorySQL, []any{number, number, number, number, number}, func(r []any) error {
			at, err := parseTime(text(r[0]), text(r[1]))
			h.Entries = append(h.Entries, NumberEntry{
				At: at, What: text(r[2]), By: text(r[3]), Detail: text(r[4]), Handling: text(r[5]), Species: text(r[6]), Leg: text(r[7]),
			})
			return err
		})
	})
	return h, s.fail("read", err)
}

const numberHistorySQL = `
	SELECT s.at, s.at_offset, 'received', s.by, trim(s.first || ' to ' || s.last || ' ' || s.note) AS detail, '' AS handling, '' AS species, '' AS leg, s.id AS o, 0 AS n
	  FROM stock_number k JOIN band_string s ON s.id = k.string WHERE k.number = ?
	UNION ALL
	SELECT e.at, e.at_offset, e.kind, e.by, trim(CASE WHEN e.holder <> '' THEN 'to ' || e.holder || ' ' ELSE '' END || e.reason), '', '', '', e.string, e.seq
	  FROM stock_mark m JOIN stock_event e ON e.string = m.string AND e.seq = m.seq WHERE m.number = ?
	UNION ALL
	SELECT f.at, f.at_offset, CASE b.event WHEN 'planned' THEN 'taken for a bird' WHEN 'removed' THEN 'taken off, destroyed'
	         WHEN 'found' THEN 'found on a bird, ' || b.done WHEN 'returned' THEN 'put back' WHEN 'renumbered' THEN 'told as the band''s number'
	         ELSE 'settled as the band''s number' END,
	       f.by, trim(b.condition || ' ' || b.scheme || ' ' || b.reason
	         || CASE WHEN b.conflict <> '' THEN ' (stood against the records: ' || b.conflict || ')' ELSE '' END),
	       b.handling, d.species, coalesce(nullif(b.leg, ''), d.leg), b.handling, b.seq
	  FROM fact_band b JOIN fact f ON f.handling = b.handling AND f.seq = b.seq
	  JOIN fact_bird d ON d.handling = b.handling AND d.seq = (SELECT max(seq) FROM fact_bird WHERE handling = b.handling)
	  WHERE b.number = ?
	UNION ALL
	SELECT f.at, f.at_offset, 'closing', f.by,
	       CASE c.findings WHEN '[]' THEN 'flush' ELSE (SELECT group_concat(replace(j.value, '_', ' '), ', ') FROM json_each(c.findings) j) END,
	       c.handling, '', '', c.handling, c.seq
	  FROM (SELECT DISTINCT handling, band FROM number_bands WHERE number = ?) n
	  CROSS JOIN fact_closing c ON c.handling = n.handling AND c.band = n.band
	  JOIN fact f ON f.handling = c.handling AND f.seq = c.seq
	UNION ALL
	SELECT f.at, f.at_offset, 'left the hand ' || t.fate, f.by, t.reason, t.handling, '', '', t.handling, t.seq
	  FROM (SELECT DISTINCT handling FROM number_bands WHERE number = ?) n
	  CROSS JOIN fact_fate t ON t.handling = n.handling
	  JOIN fact f ON f.handling = t.handling AND f.seq = t.seq
	ORDER BY 1, o, n`

// LastMeasures returns the newest values of each measure of bands of the string
// that holds a number; none where nobody has measured.
func (s *Store) LastMeasures(ctx context.Context, number string) (m seam.StringMeasures, err error) {
	err = s.View(ctx, func(v *View) error {
		return v.eachOf(ctx, `SELECT e.measures FROM stock_number n
			JOIN stock_event e ON e.string = n.string AND e.kind = 'measured' WHERE n.number = ? ORDER BY e.seq`, []any{number}, func(r []any) error {
			var next seam.StringMeasures
			err := json.Unmarshal([]byte(text(r[0])), &next)
			m = m.With(next)
			return err
		})
	})
	return m, s.fail("read", err)
}

// OpenMatter is a record that waits for something, and for what.
type OpenMatter struct {
	Handling string `json:"handling"`
	Species  string `json:"species"`
	Number   string `json:"number"`
	Matter   string `json:"matter"`
	// Opened and Place are when the bird was taken up, and where.
	Opened time.Time `json:"opened"`
	Place  string    `json:"place"`
}

// OpenMatters returns the records that wait: of all shifts, since none of them
// may be forgotten with its day. Birds of the given shift that have no fate
// yet come first.
func (s *Store) OpenMatters(ctx context.Context, shift string) (matters []OpenMatter, err error) {
	err = s.View(ctx, func(v *View) error {
		return v.eachOf(ctx, openMattersSQL, []any{shift, shift}, func(r []any) error {
			opened, err := parseTime(text(r[4]), text(r[5]))
			matters = append(matters, OpenMatter{
				Handling: text(r[0]), Species: text(r[1]), Number: text(r[2]), Matter: text(r[3]), Opened: opened, Place: text(r[6]),
			})
			return err
		})
	})
	return matters, s.fail("read", err)
}

const openMattersSQL = `
	WITH waiting (handling, matter, rank) AS (
	  SELECT o.handling, CASE coalesce((SELECT t.fate FROM fact_fate t WHERE t.handling = o.handling ORDER BY t.seq DESC LIMIT 1), '')
	      WHEN '' THEN CASE WHEN h.shift = ? THEN 'open: its fate is not told yet' ELSE 'open since an earlier shift: its fate is not told yet' END
	      WHEN 'unconfirmed' THEN 'closure unconfirmed' WHEN 'escaped' THEN 'escaped, not resolved' ELSE 'not marked complete' END,
	    CASE WHEN h.shift = ? THEN 0 ELSE 1 END
	  FROM open_handling o JOIN handling h ON h.id = o.handling
	  UNION ALL SELECT d.handling, 'disputed number', 2 FROM disputed d)
	SELECT w.handling, b.species,
	       coalesce((SELECT n.number FROM band_now n WHERE n.handling = w.handling AND n.state <> 'put back' ORDER BY n.band DESC LIMIT 1), ''), w.matter,
	       f.at, f.at_offset, s.place
	FROM waiting w JOIN handling h ON h.id = w.handling JOIN shift s ON s.id = h.shift JOIN fact f ON f.handling = w.handling AND f.seq = 1
	JOIN fact_bird b ON b.handling = w.handling AND b.seq = (SELECT max(seq) FROM fact_bird WHERE handling = w.handling)
	ORDER BY w.rank, w.handling`

// ShiftCount is what a shift came to.
type ShiftCount struct {
	Birds    int            `json:"birds"`
	Complete int            `json:"complete"`
	Resolved int            `json:"resolved"` // settled without the mark of a complete record
	Fates    map[string]int `json:"fates"`
}

// CountShift returns what a shift came to so far.
func (s *Store) CountShift(ctx context.Context, shift string) (c ShiftCount, err error) {
	c.Fates = map[string]int{}
	err = s.View(ctx, func(v *View) error {
		return v.eachOf(ctx, `SELECT coalesce((SELECT t.fate FROM fact_fate t WHERE t.handling = h.id ORDER BY t.seq DESC LIMIT 1), ''),
			EXISTS (SELECT 1 FROM fact_completion c WHERE c.handling = h.id) AND NOT EXISTS (SELECT 1 FROM disputed d WHERE d.handling = h.id),
			EXISTS (SELECT 1 FROM fact_resolved r WHERE r.handling = h.id) AND NOT EXISTS (SELECT 1 FROM fact_completion c WHERE c.handling = h.id)
			FROM handling h WHERE h.shift = ?`, []any{shift}, func(r []any) error {
			c.Birds++
			c.Complete += whole(r[1])
			c.Resolved += whole(r[2])
			if fate := bench.Fate(text(r[0])); fate != "" {
				c.Fates[string(fate)]++
			}
			return nil
		})
	})
	return c, s.fail("read", err)
}
