package store

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/bench"
)

// raced applies and saves a command. A number that the other process took
// meanwhile is refused, and nothing of the command is stored.
func (w *worked) raced(c bench.Command) bool {
	if number, ok := bench.NumberOf(w.state, c); ok {
		c = bench.WithStanding(c, w.standing(number))
	}
	next, facts, blockers := bench.Apply(w.state, c)
	if len(blockers) > 0 {
		return false
	}
	err := w.store.Save(context.Background(), facts)
	if errors.Is(err, bench.ErrRefused) {
		return false
	}
	require.NoError(w.t, err)
	w.state = next
	for _, f := range facts {
		fmt.Println("saved", f.Key().Handling, f.Key().Seq)
	}
	return true
}

// The test calls itself twice: two programs work in one file, and each wants
// the same numbers.
func TestTwoProgramsInOneFileLoseNothing(t *testing.T) {
	const child = "SEAMFIT_TEST_RACE"
	if path := os.Getenv(child); path != "" {
		w := begun(t, openStore(t, path))
		for i := range 25 {
			w.unnumbered()
			if w.raced(bench.GiveNumber{When: w.when(), Number: fmt.Sprintf("1236-567%02d", i+1)}) {
				w.raced(bench.Look{When: w.when()})
				w.raced(bench.Confirm{When: w.when(), All: true, ReadBack: fmt.Sprintf("7%02d", i+1)})
				w.raced(bench.TellFate{When: w.when(), Fate: bench.FateBanded})
				w.raced(bench.Complete{When: w.when()})
			}
		}
		return
	}
	path := filepath.Join(t.TempDir(), "bench.db")
	outs := [2]bytes.Buffer{}
	cmds := [2]*exec.Cmd{}
	for i := range cmds {
		// Both may be the one that makes the file.
		cmds[i] = exec.CommandContext(t.Context(), os.Args[0], "-test.run", "^TestTwoProgramsInOneFileLoseNothing$")
		cmds[i].Env, cmds[i].Stdout, cmds[i].Stderr = append(os.Environ(), child+"="+path), &outs[i], &outs[i]
		require.NoError(t, cmds[i].Start())
	}
	for i := range cmds {
		require.NoError(t, cmds[i].Wait(), "%s", outs[i].String())
	}
	s := openStore(t, path)
	saved := 0
	for i := range outs {
		for line := range strings.Lines(outs[i].String()) {
			var handling string
			var seq int
			if n, _ := fmt.Sscanf(line, "saved %s %d", &handling, &seq); n != 2 {
				continue
			}
			saved++
			var stored bool
			require.NoError(t, s.db.QueryRowContext(t.Context(), "SELECT EXISTS (SELECT 1 FROM fact WHERE handling = ? AND seq = ?)", handling, seq).Scan(&stored))
			assert.True(t, stored, "what was told as saved is there: %s", line)
		}
	}
	assert.Greater(t, saved, 25, "each number was taken by one of them")
	requireWhole(t, s)
	disputed, err := s.Disputed(t.Context())
	require.NoError(t, err)
	assert.Empty(t, disputed)
	var birds, numbers int
	require.NoError(t, s.db.QueryRowContext(t.Context(), "SELECT count(*), count(DISTINCT number) FROM claim").Scan(&birds, &numbers))
	assert.Equal(t, 25, birds)
	assert.Equal(t, 25, numbers)
}

// A program that holds the file is told of after the time that SQLite waits,
// and readers never wait.
func TestAProgramThatHoldsTheFileIsToldOf(t *testing.T) {
	w := newWorked(t)
	id := w.gull("1236-56701")
	db := shell(t, w.store)
	conn, err := db.Conn(t.Context())
	require.NoError(t, err)
	for _, text := range []string{"BEGIN IMMEDIATE", "INSERT INTO meta (key, value) VALUES ('x', 'y')"} {
		_, err = conn.ExecContext(t.Context(), text)
		require.NoError(t, err)
	}
	require.NoError(t, w.store.set(t.Context(), "PRAGMA busy_timeout = 20"))
	err = w.store.CloseShift(t.Context(), w.state.Shift.ID, time.Now(), "A. Holm", "")
	require.ErrorIs(t, err, ErrBusy)
	require.ErrorContains(t, err, "close the other program that is writing to this file")
	assert.Equal(t, id, w.load(id).ID, "reading goes on")
	_, err = conn.ExecContext(t.Context(), "ROLLBACK")
	require.NoError(t, err)
	require.NoError(t, conn.Close())
	w.do(bench.Look{When: w.when()})
	var species string
	require.NoError(t, db.QueryRowContext(t.Context(), "SELECT species FROM handlings WHERE handling = ?", id).Scan(&species))
	assert.Equal(t, "Larus argentatus", species, "a shell reads while the bench works")
}
