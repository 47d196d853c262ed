package store

import (
	"context"
	"errors"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const countingSQL = "WITH RECURSIVE n (i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < ?) SELECT i, 'row ' || i FROM n WHERE i <= ?"

// streamOf is a query of as many rows as asked for.
func streamOf(ctx context.Context, w *worked, rows int, each func(values []any) error) error {
	return w.store.View(context.WithoutCancel(ctx), func(v *View) error {
		return v.stream(ctx, v.conn, countingSQL, []any{rows, rows}, 2, each)
	})
}

func TestEveryRowOfAStreamComesOnceAndInOrder(t *testing.T) {
	w := newWorked(t)
	for _, rows := range []int{0, 1, blockRows - 1, blockRows, blockRows + 1, blocks * blockRows, 5*blockRows + 7} {
		var last int64
		require.NoError(t, streamOf(t.Context(), w, rows, func(values []any) error {
			last++
			if values[0] != last {
				return errors.New("out of order")
			}
			return nil
		}))
		assert.EqualValues(t, rows, last)
	}
}

func TestAStreamEndsWithTheFirstError(t *testing.T) {
	w := newWorked(t)
	full := errors.New("the disk is full")
	for _, at := range []int{1, blockRows, 3*blockRows + 1} {
		calls := 0
		err := streamOf(t.Context(), w, 10*blockRows, func([]any) error {
			if calls++; calls == at {
				return full
			}
			return nil
		})
		require.ErrorIs(t, err, full)
		assert.Equal(t, at, calls, "nothing is handed on after the error")
	}
}

func TestAStreamThatIsCancelledEnds(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	rows := 0
	err := streamOf(ctx, newWorked(t), 100*blockRows, func([]any) error {
		if rows++; rows == 10 {
			cancel()
		}
		return nil
	})
	require.ErrorIs(t, err, context.Canceled)
	assert.Less(t, rows, 100*blockRows)
}
