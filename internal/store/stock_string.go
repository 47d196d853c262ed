package store

import (
	"context"
	"fmt"
	"strings"
	"time"

	"seamfit/internal/bands"
)

// BandString is a string of bands as it was received. Missing are numbers of
// its run that the maker left out, which never came; Doubled are those that
// are on two bands, of which neither is used: they are rejected at once.
type BandString struct {
	ID      string
	Run     bands.Run
	Size    string
	Metal   string
	Missing []bands.Number
	Doubled []bands.Number
	Note    string // who sent it, the packet, whatever helps later
	At      time.Time
	Entered time.Time
	By      string
}

// StockError says why an entry into the stock was refused; nothing of it was
// stored.
type StockError struct {
	Reason string
	Mend   string
}

// Error returns "what went wrong; how to mend it".
func (e *StockError) Error() string { return e.Reason + "; " + e.Mend }

func stringColumns() []string {
	return strings.Fields("id first last received size metal missing note at at_offset entered entered_offset by numbers")
}

// Receive takes strings into the stock, all or none. It returns a *StockError
// when a number of theirs is in the stock already or missing or doubled
// numbers are not of their string.
func (s *Store) Receive(ctx context.Context, received []BandString) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	s.saving.Lock()
	defer s.saving.Unlock()
	ctx = context.WithoutCancel(ctx)
	return s.failStock("receive", s.transact(ctx, func() error {
		for _, b := range received {
			if err := s.insertString(ctx, b); err != nil {
				return err
			}
		}
		return nil
	}))
}

func (s *Store) insertString(ctx context.Context, b BandString) error {
	numbers, missing, err := b.numbers()
	if err != nil {
		return err
	}
	if err := s.refuseOverlap(ctx, b, numbers); err != nil {
		return err
	}
	left, err := jsonText(missing)
	if err != nil {
		return err
	}
	values := []any{
		b.ID, b.Run.First().String(), b.Run.Last().String(), int64(len(numbers)), b.Size, b.Metal, left, b.Note,
		utc(b.At), offset(b.At), utc(b.Entered), offset(b.Entered), b.By, digestOfTexts(numbers),
	}
	if err := s.exec(ctx, insertInto("band_string", stringColumns(), "digest"), append(values, digestOf(values))...); err != nil {
		return err
	}
	for i, number := range numbers {
		if err := s.exec(ctx, "INSERT INTO stock_number (number, string, place) VALUES (?, ?, ?)", number, b.ID, i+1); err != nil {
			return err
		}
	}
	if len(b.Doubled) == 0 {
		return nil
	}
	doubled := StockEvent{Kind: bands.EventRejected, At: b.At, Entered: b.Entered, By: b.By, Reason: "doubled by the maker"}
	for _, n := range b.Doubled {
		doubled.Numbers = append(doubled.Numbers, n.String())
	}
	return s.insertStockEvent(ctx, doubled)
}

// numbers lists what came and what did not.
func (b BandString) numbers() (came, missing []string, err error) {
	left := map[string]bool{}
	missing = []string{}
	for _, list := range [][]bands.Number{b.Missing, b.Doubled} {
		for _, n := range list {
			if !b.Run.Contains(n) || left[n.String()] {
				return nil, nil, &StockError{
					Reason: fmt.Sprintf("%v, told as missing or doubled, is not in %v, or is told twice", n, b.Run),
					Mend:   "name each such number of the string once",
				}
			}
			left[n.String()] = true
		}
	}
	clear(left)
	for _, n := range b.Missing {
		left[n.String()] = true
		missing = append(missing, n.String())
	}
	for n := range b.Run.All() {
		if !left[n.String()] {
			came = append(came, n.String())
		}
	}
	if len(came) == 0 {
		return nil, nil, &StockError{Reason: fmt.Sprintf("nothing of %v came", b.Run), Mend: "leave the string out"}
	}
	return came, missing, nil
}

// refuseOverlap says with which string a number of this one collides.
func (s *Store) refuseOverlap(ctx context.Context, b BandString, numbers []string) error {
	var number, first, last, at string
	st, err := s.prepared(ctx, `SELECT n.number, t.first, t.last, substr(t.at, 1, 10) FROM stock_number n
		JOIN band_string t ON t.id = n.string WHERE n.number = ?`)
	if err != nil {
		return err
	}
	for _, text := range numbers {
		err := st.QueryRowContext(ctx, text).Scan(&number, &first, &last, &at)
		if isNoRows(err) {
			continue
		}
		if err != nil {
			return err
		}
		return &StockError{
			Reason: fmt.Sprintf("%v overlaps the string %s to %s, received %s: %s is in both", b.Run, first, last, at, number),
			Mend:   "read the numbers on the packet again",
		}
	}
	return nil
}

func digestOfTexts(texts []string) string {
	values := make([]any, len(texts))
	for i, t := range texts {
		values[i] = t
	}
	return digestOf(values)
}
