package store

import (
	"context"
	"database/sql"
	"errors"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/bench"
	"seamfit/internal/length"
)

// keepsSaving saves readings one after another until stop is called.
func (w *worked) keepsSaving() (stop func()) {
	w.do(bench.OpenBird{When: w.when(), ID: newID(), Bird: bench.Bird{Species: "Larus argentatus", Leg: bench.LegRight}})
	ctx, cancel := context.WithCancel(context.Background())
	handling := w.state.Active
	var group sync.WaitGroup
	group.Go(func() {
		for seq := 2; ctx.Err() == nil; seq++ {
			err := w.store.Save(context.Background(), []bench.Fact{bench.ReadingTaken{
				Head: bench.Head{Handling: handling, Seq: seq, At: w.now, Entered: w.now, By: "A. Holm", Typed: "A. Holm"},
				Axis: bench.AxisGreatest, Means: bench.MeansCaliper, Raw: []byte("+8.42"), Value: 8_420_000, Unit: length.MM, Resolution: 10_000,
			}})
			assert.NoError(w.t, err)
		}
	})
	return func() {
		cancel()
		group.Wait()
	}
}

// abreast reads a table twice at the same time, and returns how many rows each
// reading saw; met reports whether both were under way at once.
func abreast(ctx context.Context, v *View, table, column string, limit time.Duration) (rows [2]int, met bool, err error) {
	var group sync.WaitGroup
	var errs [2]error
	var arrived atomic.Int32
	var late atomic.Bool
	both := make(chan struct{})
	for i := range rows {
		group.Go(func() {
			errs[i] = v.Rows(ctx, table, []string{column}, func([]any) error {
				if rows[i]++; rows[i] > 1 {
					return nil
				}
				if arrived.Add(1) == 2 {
					close(both)
				}
				select {
				case <-both:
				case <-time.After(limit):
					late.Store(true)
				}
				return nil
			})
		})
	}
	group.Wait()
	return rows, arrived.Load() == 2 && !late.Load(), errors.Join(errs[:]...)
}

func TestAPairedViewReadsTwoTablesAtATime(t *testing.T) {
	w := newWorked(t)
	w.gull("1236-56701")
	require.NoError(t, w.store.PairedView(t.Context(), func(v *View) error {
		rows, met, err := abreast(t.Context(), v.Only(bench.Selection{}), "facts", "seq", 30*time.Second)
		assert.True(t, met, "neither waits for the other")
		assert.Equal(t, rows[0], rows[1])
		assert.Positive(t, rows[0])
		return err
	}))
}

// Both connections see the same moment, however much is saved meanwhile.
func TestAPairedViewIsOfOneMoment(t *testing.T) {
	w := newWorked(t)
	stop := w.keepsSaving()
	defer stop()
	last := 0
	for range 200 {
		require.NoError(t, w.store.PairedView(t.Context(), func(v *View) error {
			rows, _, err := abreast(t.Context(), v, "facts", "seq", 0)
			assert.Equal(t, rows[0], rows[1])
			assert.GreaterOrEqual(t, rows[0], last)
			last = rows[0]
			return err
		}))
	}
	assert.Greater(t, last, 10, "the bench went on saving")
}

// A save between the moments of two connections is noticed, and they are brought
// together by beginning again.
func TestConnectionsOfTwoMomentsAreToldApart(t *testing.T) {
	w := newWorked(t)
	ctx := t.Context()
	first, err := w.store.db.Conn(ctx)
	require.NoError(t, err)
	second, err := w.store.db.Conn(ctx)
	require.NoError(t, err)
	defer func() { require.NoError(t, errors.Join(first.Close(), second.Close())) }()
	require.NoError(t, errors.Join(begin(ctx, first), begin(ctx, second)))
	defer func() { require.NoError(t, errors.Join(rollback(ctx, first), rollback(ctx, second))) }()

	numbers := []string{"1236-56701", "1236-56702"}
	look := func(ctx context.Context, conn *sql.Conn) (int64, error) {
		version, err := seen(ctx, conn)
		if conn == first && len(numbers) > 0 {
			w.gull(numbers[0]) // saved when first has its moment and second has not
			numbers = numbers[1:]
		}
		return version, err
	}
	same, err := together(ctx, first, second, look)
	require.NoError(t, err)
	require.True(t, same)
	assert.Empty(t, numbers, "it was begun anew until nothing was saved between")
	var facts [2]int
	for i, conn := range []*sql.Conn{first, second} {
		require.NoError(t, conn.QueryRowContext(ctx, "SELECT count(*) FROM fact").Scan(&facts[i]))
	}
	assert.Equal(t, facts[0], facts[1])
	assert.NotZero(t, facts[0])
}
