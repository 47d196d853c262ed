//go:build linux || darwin

package station_test

import (
	"context"
	"database/sql"
	"io"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// besides is a second terminal on the same records.
func (b *realBench) besides() *realBench {
	other := newBench(b.t)
	other.dir, other.env = b.dir, b.env
	return other
}

// raw opens the records as any program could.
func (b *realBench) raw() *sql.DB {
	b.t.Helper()
	db, err := sql.Open("sqlite", "file:"+b.db()+"?_pragma=busy_timeout(5000)")
	require.NoError(b.t, err)
	db.SetMaxOpenConns(1)
	b.t.Cleanup(func() { db.Close() })
	return db
}

// leaves ends a station with a bird in the hand.
func (b *realBench) leaves() {
	b.t.Helper()
	b.does(keyCtrlQ, "Leave the station?")
	b.does("y", "")
	require.Equal(b.t, 0, b.end())
}

// Two stations on one file give the same number to two birds at the same
// moment: one bird has it, the other's bander is told, and neither stands
// still.
func TestTrustTwoStationsRaceForOneNumber(t *testing.T) {
	first := newBench(t)
	first.run()
	first.opensShift()
	second := first.besides()
	second.run()
	second.shows("Hollow Skerry, Mira Tolland")
	both := []*realBench{first, second}
	for _, b := range both {
		b.tells("common tern", "Common Tern", "a", "f")
		for _, a := range aBird(40001)[5:9] { // to its size
			b.perform(a)
		}
		b.does("1232-40001", "1232-40001")
	}
	for _, b := range both {
		_, err := io.WriteString(b.tty, keyEnter)
		require.NoError(t, err)
	}
	// It is refused when it is asked for, or when it is saved.
	refused := func(text string) bool {
		return strings.Contains(text, "is taken for another bird") || strings.Contains(text, "another record")
	}
	told := 0
	for _, b := range both {
		b.until("an answer", func() bool {
			text := b.text()
			return strings.Contains(text, "taken, not yet closed") && strings.Contains(text, "√ saved") || refused(text)
		})
		if refused(b.text()) {
			told++
		}
	}
	assert.Equal(t, 1, told, "one is told that the other has it")
	var claims, disputed int
	db := first.raw()
	require.NoError(t, db.QueryRow("SELECT count(*) FROM claim WHERE number = '1232-40001'").Scan(&claims))
	require.NoError(t, db.QueryRow("SELECT count(*) FROM disputed").Scan(&disputed))
	assert.Equal(t, 1, claims)
	assert.Zero(t, disputed)
	for _, b := range both {
		b.leaves()
	}
	first.verified()
}

// While a bird is worked on, others read the records: exports, the day sheet,
// verification, the sqlite3 shell's library. All get whole answers, and the
// station saves meanwhile.
func TestTrustOthersReadWhileTheStationWrites(t *testing.T) {
	b := newBench(t)
	b.run()
	b.opensShift()
	ctx, stop := context.WithCancel(t.Context())
	results := make(chan error, 3)
	var readers sync.WaitGroup
	dir := t.TempDir()
	t.Cleanup(func() { stop(); readers.Wait() })
	read := func(name string, args ...string) {
		for n := 0; ; n++ {
			all := append([]string{}, args...)
			if name != "verify" {
				all = append(all, "--out", filepath.Join(dir, name+strings.Repeat("x", n)))
			}
			cmd := exec.Command(program(t), append(all, "--db", b.db())...)
			cmd.Env = b.env
			if out, err := cmd.CombinedOutput(); err != nil {
				results <- &readError{name, string(out)}
				return
			}
			if ctx.Err() != nil {
				results <- nil
				return
			}
		}
	}
	program(t)
	readers.Go(func() { read("export", "export", "--as", "csv") })
	readers.Go(func() { read("report", "report", "--shift", "last") })
	readers.Go(func() { read("verify", "verify") })
	db := b.raw()
	for number := range 3 {
		for _, a := range aBird(40001 + number) {
			b.perform(a)
			var ok string
			require.NoError(t, db.QueryRow("PRAGMA quick_check").Scan(&ok))
			require.Equal(t, "ok", ok)
		}
	}
	stop()
	for range 3 {
		require.NoError(t, <-results)
	}
	b.does(keyCtrlQ, "")
	require.Equal(t, 0, b.end())
	assert.Len(t, b.table("handlings"), 3)
	b.verified()
}

type readError struct{ name, said string }

func (e *readError) Error() string { return e.name + ": " + e.said }

// Another program holds the file: the station says so, stays alive, keeps what
// it could not save, and saves it when the file is free; a command says so and
// ends.
func TestTrustAFileThatAnotherProgramHolds(t *testing.T) {
	b := newBench(t)
	b.run()
	b.opensShift()
	for _, a := range aBird(40001)[:5] {
		b.perform(a)
	}
	before := b.did()
	holder := b.raw()
	_, err := holder.Exec("BEGIN IMMEDIATE")
	require.NoError(t, err)
	b.does("t", "width:")
	b.does("3.02"+keyEnter, "mm, 1 of 3")
	b.does("t", "width:") // the keys are heard while the save waits
	b.does("3.01"+keyEnter, "mm, 2 of 3")
	b.shows("NOT SAVED", "another program has it locked", "close the other program")
	cmd := exec.Command(program(t), "replay", "-", "--db", b.db())
	cmd.Env = b.env
	cmd.Stdin = strings.NewReader(`{"do":"shift","place":"Hollow Skerry","bander":"Jon Arve"}`)
	out, err := cmd.CombinedOutput()
	require.Error(t, err)
	assert.Contains(t, string(out), "another program has it locked")
	_, err = holder.Exec("ROLLBACK")
	require.NoError(t, err)
	b.shows("√ saved")
	assert.Equal(t, before+2, b.did())
	b.leaves()
	b.verified()
}
