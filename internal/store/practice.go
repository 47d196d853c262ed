package store

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"time"

	"seamfit/internal/bands"
	"seamfit/internal/length"
	"seamfit/internal/seam"
)

// SavePractice stores practice closings, all or none, in their order. A
// numbered band that the stock knows is destroyed by it, in the same
// transaction. It returns the *seam.InputError of a closing that can't be
// kept, a *bands.EventError for a number that can't have been practised with,
// and an *Error that wraps bench.ErrRefused for one that is on a bird.
func (s *Store) SavePractice(ctx context.Context, closings []seam.PracticeClosing) error {
	for i, c := range closings {
		if err := c.Check(); err != nil {
			return fmt.Errorf("practice closing %d: %w", i+1, err)
		}
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	s.saving.Lock()
	defer s.saving.Unlock()
	ctx = context.WithoutCancel(ctx)
	return s.failStock("save", s.transact(ctx, func() error {
		for _, c := range closings {
			if err := s.insertPractice(ctx, c); err != nil {
				return err
			}
		}
		return nil
	}))
}

func practiceColumns() []string {
	return strings.Fields("id at at_offset by trainer size metal closure dowel dowel_nm band number tool findings blind measured took_ms")
}

func (s *Store) insertPractice(ctx context.Context, c seam.PracticeClosing) error {
	look, err := jsonText(append([]string{}, c.Look...)) // never null
	if err != nil {
		return err
	}
	blind := "null"
	if c.Blind != seam.NoBlindLook {
		if blind, err = jsonText(append([]string{}, c.BlindLook...)); err != nil {
			return err
		}
	}
	measured, err := jsonText(c.Measured)
	if err != nil {
		return err
	}
	values := []any{
		c.ID, utc(c.At), offset(c.At), c.By, c.Trainer, c.Size, c.Metal, c.Closure, string(c.Dowel.Shape), int64(c.Dowel.Width),
		string(c.Band), c.Number, c.Tool, look, blind, measured, c.Took.Milliseconds(),
	}
	if err := s.exec(ctx, insertInto("practice", practiceColumns(), "digest"), append(values, digestOf(values))...); err != nil {
		return err
	}
	if c.Number == "" {
		return nil
	}
	return s.destroyPractised(ctx, c)
}

// destroyPractised tells the stock, if it knows the number.
func (s *Store) destroyPractised(ctx context.Context, c seam.PracticeClosing) error {
	var kept int
	st, err := s.prepared(ctx, "SELECT count(*) FROM stock_number WHERE number = ?")
	if err != nil {
		return err
	}
	if err := st.QueryRowContext(ctx, c.Number).Scan(&kept); err != nil || kept == 0 {
		return err
	}
	return s.insertStockEvent(ctx, StockEvent{
		Kind: bands.EventDestroyed, Numbers: []string{c.Number}, At: c.At, Entered: c.At, By: c.By, Reason: seam.DestroyedByPractice,
	})
}

// Practice returns the practice closings in the order in which they were
// stored: of one bander, or of all when by is empty.
func (s *Store) Practice(ctx context.Context, by string) (closings []seam.PracticeClosing, err error) {
	rows, err := s.db.QueryContext(ctx, fmt.Sprintf("SELECT %s FROM practice AS t WHERE ? = '' OR by = ? ORDER BY id", qualified(practiceColumns())), by, by)
	if err != nil {
		return nil, s.fail("read", err)
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	for rows.Next() {
		c, err := scanPractice(rows.Scan)
		if err != nil {
			return nil, s.fail("read", err)
		}
		closings = append(closings, c)
	}
	return closings, s.fail("read", rows.Err())
}

func scanPractice(scan func(...any) error) (c seam.PracticeClosing, err error) {
	var at, atOffset, look, blind, measured string
	var width, took int64
	if err := scan(&c.ID, &at, &atOffset, &c.By, &c.Trainer, &c.Size, &c.Metal, &c.Closure, &c.Dowel.Shape, &width,
		&c.Band, &c.Number, &c.Tool, &look, &blind, &measured, &took); err != nil {
		return c, err
	}
	c.Dowel.Width, c.Took = length.Length(width), time.Duration(took)*time.Millisecond
	if c.At, err = parseTime(at, atOffset); err != nil {
		return c, err
	}
	if err := errors.Join(json.Unmarshal([]byte(look), &c.Look), json.Unmarshal([]byte(blind), &c.BlindLook),
		json.Unmarshal([]byte(measured), &c.Measured)); err != nil {
		return c, fmt.Errorf("practice closing %s: %w", c.ID, err)
	}
	switch {
	case len(c.BlindLook) > 0:
		c.Blind = seam.BlindDefect
	case blind != "null":
		c.Blind, c.BlindLook = seam.BlindFlush, nil
	}
	if len(c.Look) == 0 {
		c.Look = nil
	}
	return c, nil
}
