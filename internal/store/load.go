package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strings"
	"time"

	"seamfit/internal/bench"
)

// Load returns a handling as its facts tell it; one without an ID where the
// records have none. It returns ErrDamaged for facts that can't be read.
func (s *Store) Load(ctx context.Context, handling string) (bench.Handling, error) {
	facts, err := s.Facts(ctx, handling)
	if err != nil {
		return bench.Handling{}, err
	}
	var h bench.Handling
	for _, f := range facts {
		h = bench.FoldHandling(h, f)
	}
	if h.People, err = s.people(ctx, s.db, h.Shift); err != nil {
		return h, err
	}
	err = s.db.QueryRowContext(ctx, "SELECT EXISTS (SELECT 1 FROM disputed WHERE handling = ?)", handling).Scan(&h.ClaimedElsewhere)
	return h, s.fail("read", err)
}

// Open handlings, oldest first: those neither complete nor resolved.
func (s *Store) openIDs(ctx context.Context) (ids []string, err error) {
	rows, err := s.db.QueryContext(ctx, "SELECT handling FROM open_handling ORDER BY handling")
	if err != nil {
		return nil, s.fail("read", err)
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	for rows.Next() {
		var id string
		if err := rows.Scan(&id); err != nil {
			return nil, s.fail("read", err)
		}
		ids = append(ids, id)
	}
	return ids, s.fail("read", rows.Err())
}

// Resume returns the state in which the records stand: the shift that began
// last, unless it is closed, and the open handlings. That one of this bench's own is
// active of which something was told last.
func (s *Store) Resume(ctx context.Context, setup *bench.Setup) (bench.State, error) {
	state := bench.State{Setup: setup}
	shift, err := s.LastShift(ctx)
	if err != nil {
		return state, err
	}
	if shift != nil {
		closed, err := s.Closed(ctx, shift.ID)
		if err != nil {
			return state, err
		}
		if closed.IsZero() {
			state.Shift = shift
		}
	}
	if state.LastFact, err = s.Latest(ctx); err != nil {
		return state, err
	}
	if state.Shift != nil {
		if state.Nests, err = s.nests(ctx, state.Shift.ID); err != nil {
			return state, err
		}
	}
	ids, err := s.openIDs(ctx)
	if err != nil {
		return state, err
	}
	// CROSS JOIN: from the few that are open.
	if state.Active, err = s.text(ctx, `SELECT o.handling FROM open_handling o CROSS JOIN handling h ON h.id = o.handling
		WHERE h.shift NOT IN (SELECT shift FROM taken_in)
		ORDER BY (SELECT max(entered) FROM fact WHERE handling = o.handling) DESC, o.handling DESC LIMIT 1`); err != nil {
		return state, err
	}
	for _, id := range ids {
		h, err := s.Load(ctx, id)
		if err != nil {
			return state, err
		}
		state.Handlings = append(state.Handlings, h)
	}
	return state, nil
}

// recentNests bounds how many of a shift's birds are looked at for their nests:
// those before have long been put back.
const recentNests = 1000

// nests returns the birds of a shift that were taken from a nest, among its
// last thousand; nil where none was.
func (s *Store) nests(ctx context.Context, shift string) (nests map[string]bench.NestBird, err error) {
	rows, err := s.db.QueryContext(ctx, `SELECT h.id, c.nest, iif(c.captured <> '', c.captured, f.at), iif(c.captured <> '', c.captured_offset, f.at_offset)
		FROM handling h
		JOIN fact_circumstances c ON c.handling = h.id AND c.seq = (SELECT max(seq) FROM fact_circumstances WHERE handling = h.id)
		JOIN fact f ON f.handling = h.id AND f.seq = 1
		WHERE h.id IN (SELECT id FROM handling WHERE shift = ? ORDER BY id DESC LIMIT ?) AND c.nest <> ''`, shift, recentNests)
	if err != nil {
		return nil, s.fail("read", err)
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	for rows.Next() {
		var id, at, atOffset string
		var bird bench.NestBird
		if err := rows.Scan(&id, &bird.Nest, &at, &atOffset); err != nil {
			return nil, s.fail("read", err)
		}
		if bird.Captured, err = parseTime(at, atOffset); err != nil {
			return nil, s.fail("read", err)
		}
		if nests == nil {
			nests = map[string]bench.NestBird{}
		}
		nests[id] = bird
	}
	return nests, s.fail("read", rows.Err())
}

// Latest returns when the last fact of the handling that was begun last was
// entered; the zero time when there is none. A clock that stands before it
// runs behind.
func (s *Store) Latest(ctx context.Context) (time.Time, error) {
	var at, atOffset string
	err := s.db.QueryRowContext(ctx, `SELECT entered, entered_offset FROM fact
		WHERE handling = (SELECT max(id) FROM handling) ORDER BY entered DESC LIMIT 1`).Scan(&at, &atOffset)
	if errors.Is(err, sql.ErrNoRows) {
		return time.Time{}, nil
	}
	if err != nil {
		return time.Time{}, s.fail("read", err)
	}
	t, err := parseTime(at, atOffset)
	return t, s.fail("read", err)
}

// Settled returns how many handlings of a shift are not open any more.
func (s *Store) Settled(ctx context.Context, shift string) (n int, err error) {
	// Two counts, of which the large one runs along an index: looking each
	// handling up among the open ones would grow with the shift.
	err = s.db.QueryRowContext(ctx, `SELECT (SELECT count(*) FROM handling WHERE shift = ?) -
		(SELECT count(*) FROM open_handling o JOIN handling h ON h.id = o.handling WHERE h.shift = ?)`, shift, shift).Scan(&n)
	return n, s.fail("read", err)
}

// Numbering returns how many birds a shift has, and for every open handling
// which bird of its own shift it is, from 1.
func (s *Store) Numbering(ctx context.Context, shift string) (birds int, open map[string]int, err error) {
	if err := s.db.QueryRowContext(ctx, "SELECT count(*) FROM handling WHERE shift = ?", shift).Scan(&birds); err != nil {
		return 0, nil, s.fail("read", err)
	}
	rows, err := s.db.QueryContext(ctx, `SELECT h.id, (SELECT count(*) FROM handling WHERE shift = h.shift AND id <= h.id)
		FROM open_handling o CROSS JOIN handling h ON h.id = o.handling`)
	if err != nil {
		return 0, nil, s.fail("read", err)
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	open = map[string]int{}
	for rows.Next() {
		var id string
		var n int
		if err := rows.Scan(&id, &n); err != nil {
			return 0, nil, s.fail("read", err)
		}
		open[id] = n
	}
	return birds, open, s.fail("read", rows.Err())
}

// Facts returns the facts of a handling in their order; none for one that the
// records don't have. Its errors are Load's.
func (s *Store) Facts(ctx context.Context, handling string) ([]bench.Fact, error) {
	heads, kinds, err := s.heads(ctx, handling)
	if err != nil {
		return nil, err
	}
	if len(heads) == 0 {
		return nil, nil
	}
	facts := make([]bench.Fact, len(heads))
	for i, h := range heads {
		facts[i], err = s.fact(ctx, kinds[i], h)
		if err != nil {
			return nil, s.fail("read", fmt.Errorf("fact %d of %s: %w", h.Seq, handling, err))
		}
	}
	if bird, ok := facts[0].(bench.BirdTold); ok {
		err = s.db.QueryRowContext(ctx, "SELECT shift FROM handling WHERE id = ?", handling).Scan(&bird.Shift)
		for i := range facts {
			if told, ok := facts[i].(bench.BirdTold); ok {
				told.Shift = bird.Shift
				facts[i] = told
			}
		}
	}
	return facts, s.fail("read", err)
}

func (s *Store) heads(ctx context.Context, handling string) (heads []bench.Head, kinds []string, err error) {
	rows, err := s.db.QueryContext(ctx, `SELECT seq, kind, at, at_offset, entered, entered_offset, by, typed, replaces, why
		FROM fact WHERE handling = ? ORDER BY seq`, handling)
	if err != nil {
		return nil, nil, s.fail("read", err)
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	for rows.Next() {
		h := bench.Head{Handling: handling}
		var kind, at, atOffset, entered, enteredOffset string
		if err := rows.Scan(&h.Seq, &kind, &at, &atOffset, &entered, &enteredOffset, &h.By, &h.Typed, &h.Replaces, &h.Why); err != nil {
			return nil, nil, s.fail("read", err)
		}
		if h.At, err = parseTime(at, atOffset); err != nil {
			return nil, nil, s.fail("read", err)
		}
		if h.Entered, err = parseTime(entered, enteredOffset); err != nil {
			return nil, nil, s.fail("read", err)
		}
		heads, kinds = append(heads, h), append(kinds, kind)
	}
	return heads, kinds, s.fail("read", rows.Err())
}

func (s *Store) fact(ctx context.Context, kind string, h bench.Head) (bench.Fact, error) {
	names := columns(kind)
	if len(names) == 0 {
		return decode(kind, h, func(...any) error { return nil })
	}
	query := fmt.Sprintf("SELECT %s FROM fact_%s WHERE handling = ? AND seq = ?", strings.Join(names, ", "), kind)
	// Asked only when it is scanned: a row that nobody scans holds its connection.
	f, err := decode(kind, h, func(dest ...any) error { return s.db.QueryRowContext(ctx, query, h.Handling, h.Seq).Scan(dest...) })
	if errors.Is(err, sql.ErrNoRows) {
		return nil, fmt.Errorf("%w: its row is missing", ErrDamaged)
	}
	return f, err
}
