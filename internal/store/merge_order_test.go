package store

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"seamfit/internal/bands"
	"seamfit/internal/bench"
)

// everything is what a file tells in the end: each link that stands or was kept
// aside, which numbers are disputed, and what merges themselves leave out.
func (w *worked) everything() map[string]bool {
	all := map[string]bool{}
	require.NoError(w.t, w.store.View(context.Background(), func(v *View) error {
		for _, query := range []string{
			"SELECT digest FROM fact", "SELECT digest FROM shift", "SELECT digest FROM band_string", "SELECT digest FROM stock_event",
			"SELECT digest FROM submission", "SELECT digest FROM practice", "SELECT digest FROM settlement", "SELECT id FROM merge_kept",
			"SELECT 'number ' || number || count(DISTINCT handling) FROM claim GROUP BY number",
		} {
			if err := v.each(context.Background(), query, func(r []any) error {
				all[text(r[0])] = true
				return nil
			}); err != nil {
				return err
			}
		}
		return nil
	}))
	return all
}

func TestMergingLosesNothingAndItsOrderMakesNoDifference(t *testing.T) {
	fewer(t, "12")
	root := t.TempDir()
	runs := 0
	rapid.Check(t, func(t *rapid.T) {
		runs++
		folder := filepath.Join(root, fmt.Sprint(runs))
		require.NoError(t, os.Mkdir(folder, 0o700))
		base := anotherBench(t, folder, "base", "")
		base.receive("1236-00001", 3)
		shared := base.unnumbered()
		require.NoError(t, base.store.Close())
		files := map[string]string{}
		for _, name := range []string{"b", "c"} {
			from := ""
			if rapid.Bool().Draw(t, name+" began as a copy") {
				from = base.store.path
			}
			w := anotherBench(t, folder, name, from)
			w.work(t, shared)
			require.NoError(t, w.store.Close())
			files[name] = w.store.path
		}
		first := anotherBench(t, folder, "a", base.store.path)
		first.work(t, shared)
		require.NoError(t, first.store.Close())
		second := anotherBench(t, folder, "a2", first.store.path)
		require.NoError(t, second.store.Close())
		// The second shift that opening the copy began is first's too.
		first = &worked{t: t, now: first.now, state: first.state}
		var err error
		data, err := os.ReadFile(second.store.path)
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(filepath.Join(folder, "a1.db"), data, 0o600))
		for name, w := range map[string]*worked{"a1": first, "a2": second} {
			w.store, err = Open(context.Background(), filepath.Join(folder, name+".db"), Options{Closures: benchSetup(t).Book.Closures})
			require.NoError(t, err)
		}
		for _, name := range []string{"b", "c"} {
			first.merge(files[name])
			once := first.everything()
			require.Equal(t, Joined{map[string]int{}, map[string]int{}}, first.merge(files[name]))
			require.Equal(t, once, first.everything())
		}
		second.merge(files["c"])
		second.merge(files["b"])
		require.Equal(t, first.everything(), second.everything())
		requireWhole(t, first.store)
		requireWhole(t, second.store)
		require.NoError(t, first.store.Close())
		require.NoError(t, second.store.Close())
		require.NoError(t, os.RemoveAll(folder))
	})
}

// work is what a bench may do alone, with numbers that others use too.
func (w *worked) work(t *rapid.T, shared string) {
	number := rapid.StringMatching(`1236-0000[1-4]`)
	for range rapid.IntRange(0, 4).Draw(t, "steps") {
		switch rapid.IntRange(0, 4).Draw(t, "step") {
		case 0:
			w.unnumbered()
			if w.try(bench.GiveNumber{When: w.when(), Number: number.Draw(t, "number"), Reason: "read off the leg"}) && w.try(bench.Look{When: w.when()}) {
				w.try(bench.Confirm{When: w.when(), All: true, ReadBack: number.Draw(t, "read back")})
				w.try(bench.TellFate{When: w.when(), Fate: bench.FateBanded})
				w.try(bench.Complete{When: w.when()})
			}
		case 1:
			if state, err := w.store.Resume(context.Background(), w.state.Setup); err == nil {
				w.state = state
			}
			when := w.when()
			when.Handling = shared
			w.try(bench.TellIncident{When: when, Kind: rapid.SampledFrom([]string{"stress", "injury"}).Draw(t, "kind")})
		case 2:
			b := w.string(rapid.SampledFrom([]string{"1236-00002", "1236-00004", "1236-00008"}).Draw(t, "first"), 3)
			_ = w.store.Receive(context.Background(), []BandString{b}) // or it overlaps
		case 3:
			_ = w.store.Record(context.Background(), []StockEvent{w.event(bands.EventOpened, "A. Holm", number.Draw(t, "number"))}) // or it is unknown
		default:
			w.t = t
			_, err := w.store.SaveSubmission(context.Background(), someSubmission(w.now, w.unnumbered()))
			require.NoError(t, err)
		}
	}
}
