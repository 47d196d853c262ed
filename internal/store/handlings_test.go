package store

import (
	"context"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/bench"
)

func TestHandlingsAreThoseThatLoadTells(t *testing.T) {
	w, _ := fullStory(t)
	var ids []string
	require.NoError(t, w.store.View(t.Context(), func(v *View) error {
		return v.Handlings(t.Context(), func(h bench.Handling) error {
			want, err := w.store.Load(t.Context(), h.ID)
			require.NoError(t, err)
			assert.Equal(t, want, h)
			ids = append(ids, h.ID)
			return nil
		})
	}))
	require.Len(t, ids, 3)
	assert.IsIncreasing(t, ids)
}

func TestASelectionLimitsEveryTable(t *testing.T) {
	w := newWorked(t)
	first := w.state.Shift.ID
	gull := w.gull("1236-56701")
	// Past midnight at the bench, though not yet by UTC.
	w.now = time.Date(2026, 5, 18, 0, 30, 0, 0, time.FixedZone("", 2*3600))
	second := newID()
	w.do(bench.OpenShift{When: w.when(), Shift: bench.Shift{ID: second, Started: w.now, Place: "Skerry of Ness", Bander: "A. Holm", Permit: "P-1"}})
	tern := newID()
	w.do(bench.OpenBird{When: w.when(), ID: tern, Bird: bench.Bird{Species: "Sterna hirundo"}})
	for _, c := range []struct {
		sel  bench.Selection
		want []string
	}{
		{bench.Selection{}, []string{gull, tern}},
		{bench.Selection{Shift: first}, []string{gull}},
		{bench.Selection{Shift: second}, []string{tern}},
		{bench.Selection{Species: "Sterna hirundo"}, []string{tern}},
		{bench.Selection{From: "2026-05-18"}, []string{tern}},
		{bench.Selection{To: "2026-05-17"}, []string{gull}},
		{bench.Selection{From: "2026-05-17", To: "2026-05-18"}, []string{gull, tern}},
		{bench.Selection{From: "2026-05-19"}, nil},
		{bench.Selection{Shift: second, Species: "Larus argentatus"}, nil},
	} {
		require.NoError(t, w.store.View(t.Context(), func(v *View) error {
			v = v.Only(c.sel)
			for name, from := range tables() {
				if from.limit != ofHandling {
					continue
				}
				assert.Subset(t, c.want, distinct(t, v, name, "handling"), "%s of %+v", name, c.sel)
			}
			assert.Equal(t, c.want, distinct(t, v, "handlings", "handling"), "%+v", c.sel)
			if c.sel.Shift != "" {
				assert.Subset(t, []string{c.sel.Shift}, distinct(t, v, "shifts", "id"))
			}
			var told []string
			require.NoError(t, v.Handlings(t.Context(), func(h bench.Handling) error {
				told = append(told, h.ID)
				return nil
			}))
			assert.Equal(t, c.want, told)
			counted, err := v.Count(t.Context(), "handlings")
			require.NoError(t, err)
			assert.Equal(t, len(c.want), counted)
			return nil
		}))
	}
}

func distinct(t *testing.T, v *View, table, column string) (found []string) {
	t.Helper()
	require.NoError(t, v.Rows(t.Context(), table, []string{column}, func(values []any) error {
		text, ok := values[0].(string)
		require.True(t, ok)
		if len(found) == 0 || found[len(found)-1] != text {
			found = append(found, text)
		}
		return nil
	}))
	return found
}

func TestEitherKindIsOpenedForReadingOut(t *testing.T) {
	path := filepath.Join(t.TempDir(), "bench.db")
	s, err := Open(t.Context(), path, Options{Closures: benchSetup(t).Book.Closures, Training: true})
	require.NoError(t, err)
	require.NoError(t, s.Close())
	_, err = Open(t.Context(), path, Options{MustExist: true})
	require.ErrorIs(t, err, ErrTraining)
	s, err = Open(t.Context(), path, Options{MustExist: true, EitherKind: true})
	require.NoError(t, err)
	assert.True(t, s.Training())
	require.NoError(t, s.Close())
}

func TestNoViewOfAnUnknownTable(t *testing.T) {
	w := newWorked(t)
	require.NoError(t, w.store.View(t.Context(), func(v *View) error {
		nothing := func([]any) error { return nil }
		require.ErrorContains(t, v.Rows(t.Context(), "meta", []string{"key"}, nothing), `no table "meta"`)
		require.ErrorContains(t, v.Rows(t.Context(), "birds", []string{`a"b`}, nothing), "no such columns")
		require.Error(t, v.Rows(t.Context(), "birds", []string{"wingspan"}, nothing))
		_, err := v.Count(t.Context(), "meta")
		require.ErrorContains(t, err, `no table "meta"`)
		cancelled, cancel := context.WithCancel(t.Context())
		cancel()
		require.ErrorIs(t, v.Rows(cancelled, "birds", []string{"species"}, nothing), context.Canceled)
		return nil
	}))
}
