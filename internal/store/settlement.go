package store

import (
	"context"

	"seamfit/internal/bench"
)

func settlementColumns() []string {
	return []string{"id", "at", "at_offset", "by", "handlings", "reason"}
}

// insertSettlement stores the end of a settlement, which the records refuse
// while one of its handlings is disputed: then none of it is stored.
func (s *Store) insertSettlement(ctx context.Context, f bench.Settled) error {
	handlings, err := jsonText(f.Handlings)
	if err != nil {
		return err
	}
	values := []any{f.ID, utc(f.At), offset(f.At), f.By, handlings, f.Reason}
	return s.exec(ctx, insertInto("settlement", settlementColumns(), "digest"), append(values, digestOf(values))...)
}

// Claimants returns the handlings that claim a number for their birds, or
// told it of a band that the bird wore, oldest first.
func (s *Store) Claimants(ctx context.Context, number string) ([]string, error) {
	return s.texts(ctx, `SELECT DISTINCT handling FROM number_bands WHERE number = ? AND state <> 'put back' ORDER BY handling`, number)
}

// Disputed returns the handlings whose numbers stand against another record.
func (s *Store) Disputed(ctx context.Context) ([]string, error) {
	return s.texts(ctx, "SELECT handling FROM disputed ORDER BY handling")
}
