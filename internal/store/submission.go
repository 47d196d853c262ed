package store

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"time"
)

// Submission is what was handed to an office in one go, through the map of
// that name. Columns name the fields of each bird's row.
type Submission struct {
	ID      string
	Map     string
	Columns []string
	At      time.Time
	By      string
	// Folder is where its files go.
	Folder string
	Birds  []SubmittedBird
}

// SubmittedBird is the row of one bird. Change is "new", "corrected", or
// "withdrawn" with the row as it was before.
type SubmittedBird struct {
	Handling string
	Change   string
	Fields   []string
	// Was is the row that was submitted last before; nil for a new one. Only
	// Unfinished tells it.
	Was []string
}

func submissionColumns() []string {
	return strings.Fields("id map place columns at at_offset by birds")
}

// SaveSubmission marks a submission and returns its place among those of its
// map, 1 for the first. Until SubmissionOut tells that its files are in their
// place it is unfinished. It returns an *Error that wraps bench.ErrRefused for
// training records, a bird that the records don't have, or one named twice;
// then nothing is stored.
func (s *Store) SaveSubmission(ctx context.Context, sub Submission) (place int64, err error) {
	if err := ctx.Err(); err != nil {
		return 0, err
	}
	columns, err := jsonText(sub.Columns)
	if err != nil {
		return 0, err
	}
	s.saving.Lock()
	defer s.saving.Unlock()
	ctx = context.WithoutCancel(ctx)
	err = s.transact(ctx, func() error {
		st, err := s.prepared(ctx, "SELECT 1 + coalesce(max(place), 0) FROM submission WHERE map = ?")
		if err != nil {
			return err
		}
		if err := st.QueryRowContext(ctx, sub.Map).Scan(&place); err != nil {
			return err
		}
		told, rows, err := sub.rows()
		if err != nil {
			return err
		}
		values := []any{sub.ID, sub.Map, place, columns, utc(sub.At), offset(sub.At), sub.By, told}
		if err := s.exec(ctx, insertInto("submission", submissionColumns(), "digest"), append(values, digestOf(values))...); err != nil {
			return err
		}
		for _, row := range rows {
			if err := s.exec(ctx, "INSERT INTO submission_bird (submission, handling, change, fields) VALUES (?, ?, ?, ?)", row...); err != nil {
				return err
			}
		}
		return s.insertOut(ctx, sub.ID, "begun", sub.Folder, sub.At)
	})
	return place, s.fail("save", err)
}

// SubmissionOut marks that the files of a submission are in their place. It
// returns an *Error that wraps bench.ErrRefused where they were already, or
// where there is no such submission.
func (s *Store) SubmissionOut(ctx context.Context, id, folder string, at time.Time) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	s.saving.Lock()
	defer s.saving.Unlock()
	ctx = context.WithoutCancel(ctx)
	return s.fail("save", s.transact(ctx, func() error { return s.insertOut(ctx, id, "out", folder, at) }))
}

func (s *Store) insertOut(ctx context.Context, id, state, folder string, at time.Time) error {
	return s.exec(ctx, "INSERT INTO submission_out (submission, state, folder, at, at_offset) VALUES (?, ?, ?, ?, ?)", id, state, folder, utc(at), offset(at))
}

// Unfinished returns the oldest submission through the map of that name that
// was marked and whose files are not known to be in their place, with its place
// among those of its map; nil when there is none.
func (v *View) Unfinished(ctx context.Context, name string) (sub *Submission, place int64, err error) {
	err = v.eachOf(ctx, `SELECT s.id, s.place, s.columns, s.at, s.at_offset, s.by, b.folder
		FROM submission s JOIN submission_out b ON b.submission = s.id AND b.state = 'begun'
		WHERE s.map = ? AND NOT EXISTS (SELECT 1 FROM submission_out o WHERE o.submission = s.id AND o.state = 'out')
		ORDER BY s.place LIMIT 1`, []any{name}, func(r []any) error {
		sub = &Submission{ID: text(r[0]), Map: name, By: text(r[5]), Folder: text(r[6])}
		place, _ = r[1].(int64)
		at, err := parseTime(text(r[3]), text(r[4]))
		sub.At = at
		return errors.Join(err, json.Unmarshal([]byte(text(r[2])), &sub.Columns))
	})
	if err != nil || sub == nil {
		return nil, 0, v.store.fail("read", err)
	}
	err = v.eachOf(ctx, `SELECT b.handling, b.change, b.fields, CASE b.change WHEN 'new' THEN 'null' ELSE coalesce((
		  SELECT o.fields FROM submission_bird o JOIN submission l ON l.id = o.submission
		  WHERE o.handling = b.handling AND l.map = ? AND l.place < ? ORDER BY l.place DESC LIMIT 1), 'null') END
		FROM submission_bird b WHERE b.submission = ? ORDER BY b.handling`, []any{name, place, sub.ID}, func(r []any) error {
		b := SubmittedBird{Handling: text(r[0]), Change: text(r[1])}
		err := errors.Join(json.Unmarshal([]byte(text(r[2])), &b.Fields), json.Unmarshal([]byte(text(r[3])), &b.Was))
		sub.Birds = append(sub.Birds, b)
		return err
	})
	return sub, place, v.store.fail("read", err)
}

// rows returns the rows of the birds, and the digest over them in the order of
// their handlings.
func (sub Submission) rows() (digest string, rows [][]any, err error) {
	told := map[string]any{}
	for _, b := range sub.Birds {
		fields, err := jsonText(b.Fields)
		if err != nil {
			return "", nil, err
		}
		rows = append(rows, []any{sub.ID, b.Handling, b.Change, fields})
		told[b.Handling] = []string{b.Change, fields}
	}
	return digestOfBirds(told), rows, nil
}

// digestOfBirds is the digest over what was told of each bird; JSON puts the
// names of a map in order.
func digestOfBirds(told map[string]any) string {
	text, _ := json.Marshal(told) // texts can always be written
	return digestOf([]any{text})
}

// Submitted calls each for every bird whose row was submitted through the map
// of that name and was not withdrawn since: the columns' names, and the row as
// it was submitted last.
func (v *View) Submitted(ctx context.Context, name string, each func(handling string, columns, row []string) error) (err error) {
	rows, err := v.conn.QueryContext(ctx, `
		SELECT b.handling, s.columns, b.fields FROM submission s JOIN submission_bird b ON b.submission = s.id
		WHERE s.map = ? AND b.change <> 'withdrawn' AND NOT EXISTS (
		  SELECT 1 FROM submission_bird o JOIN submission l ON l.id = o.submission
		  WHERE o.handling = b.handling AND l.map = s.map AND l.place > s.place)
		ORDER BY b.handling`, name)
	if err != nil {
		return v.store.fail("read", err)
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	for rows.Next() {
		var handling, columnsText, fieldsText string
		var columns, fields []string
		if err := rows.Scan(&handling, &columnsText, &fieldsText); err != nil {
			return v.store.fail("read", err)
		}
		if err := errors.Join(json.Unmarshal([]byte(columnsText), &columns), json.Unmarshal([]byte(fieldsText), &fields)); err != nil {
			return v.store.fail("read", fmt.Errorf("%w: submission of %s: %w", ErrDamaged, handling, err))
		}
		if err := each(handling, columns, fields); err != nil {
			return err
		}
	}
	return v.store.fail("read", rows.Err())
}

// verifySubmissions compares the rows of each submission with its digest over
// them.
func (v *View) verifySubmissions(ctx context.Context, found func(Finding) error) error {
	return v.each(ctx, "SELECT id, birds FROM submission", func(r []any) error {
		told := map[string]any{}
		if err := v.eachOf(ctx, "SELECT handling, change, fields FROM submission_bird WHERE submission = ?", r[:1], func(b []any) error {
			told[fmt.Sprint(b[0])] = []string{fmt.Sprint(b[1]), fmt.Sprint(b[2])}
			return nil
		}); err != nil {
			return err
		}
		if digestOfBirds(told) != r[1] {
			return found(Finding{"the rows of a submission were changed after they were stored", fmt.Sprintf("submission %v", r[0])})
		}
		return nil
	})
}
