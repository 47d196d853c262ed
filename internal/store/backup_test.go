package store

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/bands"
)

func names(t *testing.T, folder string) (names []string) {
	t.Helper()
	entries, err := os.ReadDir(folder)
	require.NoError(t, err)
	for _, e := range entries {
		names = append(names, e.Name())
	}
	return names
}

func TestABackupIsWholeWhileOthersWrite(t *testing.T) {
	w := newWorked(t)
	w.bandedAndComplete("1236-56701")
	folder := filepath.Join(t.TempDir(), "a?b%20c#d'")
	var busy sync.WaitGroup
	ctx, stop := context.WithCancel(t.Context())
	busy.Go(func() {
		for i := 2; ctx.Err() == nil && i < 90; i++ {
			w.bandedAndComplete(fmt.Sprintf("1236-567%02d", i))
		}
	})
	for range 3 {
		path, err := w.store.Backup(t.Context(), folder, 0)
		require.NoError(t, err)
		first, err := verifyFile(t.Context(), path)
		require.NoError(t, err)
		assert.Nil(t, first)
		copied, err := OpenReadOnly(t.Context(), path, Options{}, true)
		require.NoError(t, err)
		standing, err := copied.Standing(t.Context(), "1236-56701")
		require.NoError(t, err)
		assert.Equal(t, bands.OnBird, standing.State, "what was saved before is in the copy")
		require.NoError(t, copied.Close())
		info, err := os.Stat(path)
		require.NoError(t, err)
		assert.Equal(t, os.FileMode(0o600), info.Mode().Perm())
	}
	stop()
	busy.Wait()
	assert.Len(t, names(t, folder), 3, "nothing half is left")
}

func TestTheOldestBackupsGo(t *testing.T) {
	w := newWorked(t)
	folder := t.TempDir()
	at := time.Date(2026, 5, 17, 6, 0, 0, 0, time.UTC)
	w.store.now = func() time.Time { return at }
	others := []string{"20260101T000000Z-other.db", "20260101T000000Z-bench-2025.db", "bench.db", "20260101T000000Z-bench.unsound.db", "20260101T000000Z-bench.db.txt"}
	for _, name := range others {
		require.NoError(t, os.WriteFile(filepath.Join(folder, name), nil, 0o600))
	}
	for range 3 { // within one second
		_, err := w.store.Backup(t.Context(), folder, 2)
		require.NoError(t, err)
	}
	assert.ElementsMatch(t, append([]string{"20260517T060000Z.2-bench.db", "20260517T060000Z.3-bench.db"}, others...), names(t, folder))
	at = at.AddDate(0, 0, -1) // a clock that runs behind
	path, err := w.store.Backup(t.Context(), folder, 1)
	require.NoError(t, err)
	assert.ElementsMatch(t, append([]string{filepath.Base(path)}, others...), names(t, folder), "the newest is never removed")
}

func TestWhatACrashLeftOfACopyGoesAfterADay(t *testing.T) {
	w := newWorked(t)
	folder := t.TempDir()
	for name, age := range map[string]time.Duration{".seamfit-1.part": 25 * time.Hour, ".seamfit-2.part": time.Hour, "letter.part": 25 * time.Hour} {
		path := filepath.Join(folder, name)
		require.NoError(t, os.WriteFile(path, []byte("half"), 0o600))
		at := time.Now().Add(-age)
		require.NoError(t, os.Chtimes(path, at, at))
	}
	path, err := w.store.Backup(t.Context(), folder, 0)
	require.NoError(t, err)
	assert.ElementsMatch(t, []string{filepath.Base(path), ".seamfit-2.part", "letter.part"}, names(t, folder), "one that may still be under way is left")
}

func TestACopyOfRecordsThatAreNotWholeSaysSo(t *testing.T) {
	w, id := fullStory(t)
	folder := t.TempDir()
	good, err := w.store.Backup(t.Context(), folder, 1)
	require.NoError(t, err)
	db := shell(t, w.store)
	_, err = db.ExecContext(t.Context(), "DROP TRIGGER fact_reading_no_delete")
	require.NoError(t, err)
	_, err = db.ExecContext(t.Context(), "DELETE FROM fact_reading WHERE handling = ? AND seq = 3", id)
	require.NoError(t, err)
	_, err = w.store.Backup(t.Context(), folder, 1)
	var unsound *UnsoundError
	require.ErrorAs(t, err, &unsound)
	assert.FileExists(t, unsound.Path)
	assert.FileExists(t, good, "the earlier one stays")
	_, err = Restore(t.Context(), w.store.path, unsound.Path, Options{})
	require.ErrorIs(t, err, ErrTampered)
}

func TestNothingIsRestoredUnderAnotherProgram(t *testing.T) {
	w := newWorked(t)
	w.bandedAndComplete("1236-56701")
	backup, err := w.store.Backup(t.Context(), t.TempDir(), 0)
	require.NoError(t, err)
	id := w.bandedAndComplete("1236-56702")
	_, err = Restore(t.Context(), w.store.path, backup, Options{})
	require.ErrorIs(t, err, ErrBusy)
	require.ErrorContains(t, err, "end the other program")
	assert.True(t, w.load(id).Done(), "the records are as they were")
	assert.Equal(t, []string{"bench.db", "bench.db-shm", "bench.db-wal"}, names(t, filepath.Dir(w.store.path)))
}

func TestARestoreKeepsWhatWasThere(t *testing.T) {
	path := filepath.Join(t.TempDir(), "bench.db")
	s, err := Open(t.Context(), path, Options{Closures: benchSetup(t).Book.Closures})
	require.NoError(t, err)
	w := begun(t, s)
	first := w.bandedAndComplete("1236-56701")
	backup, err := s.Backup(t.Context(), filepath.Join(t.TempDir(), "copies"), 0)
	require.NoError(t, err)
	second := w.bandedAndComplete("1236-56702")
	require.NoError(t, s.Close())

	crashed := filepath.Join(filepath.Dir(path), ".seamfit-restoring.part") // of a restore that never came to its end
	require.NoError(t, os.WriteFile(crashed, []byte("half"), 0o600))
	before := time.Now().Add(-25 * time.Hour)
	require.NoError(t, os.Chtimes(crashed, before, before))
	kept, err := Restore(t.Context(), path, backup, Options{})
	require.NoError(t, err)
	assert.ElementsMatch(t, []string{"bench.db", filepath.Base(kept)}, names(t, filepath.Dir(path)), "nothing half is left")
	restored, old := &worked{t: t, store: openStore(t, path)}, &worked{t: t, store: openStore(t, kept)}
	assert.True(t, restored.load(first).Done())
	assert.Empty(t, restored.load(second).ID)
	assert.True(t, old.load(second).Done())
	require.NoError(t, restored.store.Save(t.Context(), nil))

	training := filepath.Join(t.TempDir(), "training.db")
	other, err := Open(t.Context(), training, Options{Training: true})
	require.NoError(t, err)
	require.NoError(t, other.Close())
	_, err = Restore(t.Context(), path, training, Options{})
	require.ErrorIs(t, err, ErrTraining)
}

// begunAlone is a bench whose file the test itself closes, in a folder of its own.
func begunAlone(t *testing.T) *worked {
	t.Helper()
	s, err := Open(t.Context(), filepath.Join(t.TempDir(), "bench.db"), Options{Closures: benchSetup(t).Book.Closures})
	require.NoError(t, err)
	return begun(t, s)
}

// A log whose file is gone belongs to that file: SQLite would take it into
// whatever bears the name next.
func TestALogIsNeverTakenIntoAnotherFile(t *testing.T) {
	w := begunAlone(t)
	path, folder := w.store.path, filepath.Dir(w.store.path)
	first := w.bandedAndComplete("1236-56701")
	backup, err := w.store.Backup(t.Context(), t.TempDir(), 0)
	require.NoError(t, err)
	second := w.bandedAndComplete("1236-56702")
	log, err := os.ReadFile(path + "-wal")
	require.NoError(t, err)
	require.NotEmpty(t, log)
	require.NoError(t, w.store.Close())
	require.NoError(t, os.Remove(path))
	require.NoError(t, os.WriteFile(path+"-wal", log, 0o600))

	for _, must := range []bool{false, true} {
		_, err = Open(t.Context(), path, Options{Closures: benchSetup(t).Book.Closures, MustExist: must})
		require.ErrorIs(t, err, ErrDamaged)
		require.ErrorContains(t, err, "its log lies there; put the file back beside the one whose name ends in -wal")
	}
	assert.Equal(t, []string{"bench.db-wal"}, names(t, folder), "nothing was made")
	kept, err := Restore(t.Context(), path, backup, Options{})
	require.NoError(t, err)
	assert.ElementsMatch(t, []string{"bench.db", filepath.Base(kept)}, names(t, folder))
	still, err := os.ReadFile(kept)
	require.NoError(t, err)
	assert.Equal(t, log, still)
	restored := &worked{t: t, store: openStore(t, path)}
	assert.True(t, restored.load(first).Done())
	assert.Empty(t, restored.load(second).ID)
	requireWhole(t, restored.store)
}

// What is kept finds a name that its log can have too.
func TestARestoreKeepsALogBesideItsFile(t *testing.T) {
	w := begunAlone(t)
	path, folder := w.store.path, filepath.Dir(w.store.path)
	w.bandedAndComplete("1236-56701")
	backup, err := w.store.Backup(t.Context(), t.TempDir(), 0)
	require.NoError(t, err)
	log, err := os.ReadFile(path + "-wal")
	require.NoError(t, err)
	require.NoError(t, w.store.Close())
	require.NoError(t, os.WriteFile(path, []byte("no database at all"), 0o600)) // so that the log can't be taken in
	require.NoError(t, os.WriteFile(path+"-wal", log, 0o600))
	now := func() time.Time { return time.Date(2031, 5, 17, 7, 0, 0, 0, time.UTC) }
	taken := path + ".replaced.20310517T070000Z.db"
	require.NoError(t, os.Mkdir(taken+"-wal", 0o700))
	require.NoError(t, os.Mkdir(path+".replaced.20310517T070000Z.2.db", 0o700))
	kept, err := Restore(t.Context(), path, backup, Options{Now: now})
	require.NoError(t, err)
	assert.Equal(t, path+".replaced.20310517T070000Z.3.db", kept, "a name of which the log's is taken is not free")
	assert.Contains(t, names(t, folder), filepath.Base(kept)+"-wal")
	bytes, err := os.ReadFile(kept)
	require.NoError(t, err)
	assert.Equal(t, "no database at all", string(bytes))
}

func TestLookingLeavesNothingBehind(t *testing.T) {
	path := keptCopy(t, 1)
	before, err := os.ReadFile(path)
	require.NoError(t, err)
	first, err := verifyFile(t.Context(), path)
	require.NoError(t, err)
	assert.Nil(t, first)
	after, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, before, after)
	assert.Equal(t, []string{"bench.db"}, names(t, filepath.Dir(path)))
}
