package store

import (
	"context"
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A merge that the disk has no room for, at whatever page it ends, or that is
// called off, leaves nothing of itself.
func TestAMergeThatCantEndLeavesNothing(t *testing.T) {
	folder := t.TempDir()
	a, b := anotherBench(t, folder, "a", ""), anotherBench(t, folder, "b", "")
	defer func() { require.NoError(t, a.store.Close()) }()
	defer func() { require.NoError(t, b.store.Close()) }()
	for i := range 20 {
		b.bandedAndComplete(fmt.Sprintf("1236-567%02d", i+1))
	}
	before := a.everything()
	pages := func(name string) (n int64) {
		n, err := a.store.pragmaInt(t.Context(), name)
		require.NoError(t, err)
		return n
	}
	limit, full := pages("max_page_count"), 0
	join := Joining{ID: newID(), At: a.now, By: "A. Holm"}
	for room := range int64(40) {
		require.NoError(t, a.store.set(t.Context(), fmt.Sprintf("PRAGMA max_page_count = %d", pages("page_count")+room)))
		_, err := a.store.Merge(t.Context(), b.store.path, join)
		if err == nil {
			break
		}
		full++
		require.ErrorIs(t, err, ErrFull)
		require.Equal(t, before, a.everything())
	}
	require.Greater(t, full, 3)
	require.NoError(t, a.store.set(t.Context(), fmt.Sprintf("PRAGMA max_page_count = %d", limit)))
	requireWhole(t, a.store)
	assert.Empty(t, a.merge(b.store.path).Added, "all of it came in at last")
	assert.Greater(t, len(a.everything()), len(before))

	c := anotherBench(t, folder, "c", "")
	defer func() { require.NoError(t, c.store.Close()) }()
	before = c.everything()
	ctx, stop := context.WithCancel(t.Context())
	stop()
	_, err := c.store.Merge(ctx, b.store.path, join)
	require.ErrorIs(t, err, context.Canceled)
	require.Equal(t, before, c.everything())
	c.merge(b.store.path)
	requireWhole(t, c.store)
}
