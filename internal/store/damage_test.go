//go:build unix

package store

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// wholeFile is the bytes of a file with a story in it, closed and in one piece.
func wholeFile(t *testing.T) []byte {
	t.Helper()
	w, _ := fullStory(t)
	w.supervisedClosing(t, "1236-60001")
	w.keepsAside(t, "1236-60010")
	path, err := w.store.Backup(t.Context(), t.TempDir(), 0)
	require.NoError(t, err)
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	return data
}

// untouched opens a file in every way there is, and sees to it that nothing
// was written.
func untouched(t *testing.T, path string, reason error, mend string) {
	t.Helper()
	before, err := os.ReadFile(path)
	require.NoError(t, err)
	beside := names(t, filepath.Dir(path))
	for way, open := range map[string]func() (*Store, error){
		"for work":   func() (*Store, error) { return Open(t.Context(), path, Options{}) },
		"to look at": func() (*Store, error) { return OpenReadOnly(t.Context(), path, Options{}, false) },
		"suspect":    func() (*Store, error) { return OpenReadOnly(t.Context(), path, Options{}, true) },
	} {
		_, err := open()
		require.ErrorIs(t, err, reason, "%s, %s", way, path)
		require.ErrorContains(t, err, mend, "%s, %s", way, path)
	}
	after, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, before, after, path)
	assert.Equal(t, beside, names(t, filepath.Dir(path)), path)
}

func TestADamagedOrForeignFileIsToldAndLeftAsItIs(t *testing.T) {
	whole := wholeFile(t)
	header := append([]byte{}, whole...)
	copy(header[68:], "Tell") // the application's mark
	newer := append([]byte{}, whole...)
	newer[63] = schemaVersion + 1
	older := append([]byte{}, whole...)
	older[63] = 0
	cut := append([]byte{}, whole[:len(whole)/3]...)
	noSchema := append([]byte{}, whole...)
	for i := 100; i < 4096; i++ {
		noSchema[i] = 0xA5
	}
	for name, c := range map[string]struct {
		data   []byte
		reason error
		mend   string
	}{
		"empty.db":     {nil, ErrDamaged, "restore the last backup"},
		"letter.db":    {[]byte("Dear Agnes, the gulls are back on the skerry, and there are more of them than ever. I counted them."), ErrNotDatabase, "--db"},
		"header.db":    {header, ErrNotDatabase, "some other program's database"},
		"newer.db":     {newer, ErrNewer, "newer program"},
		"older.db":     {older, ErrDamaged, "restore the last backup"},
		"half page.db": {whole[:2000], ErrDamaged, "restore the last backup"},
		"noschema.db":  {noSchema, ErrDamaged, "restore the last backup"},
	} {
		path := filepath.Join(t.TempDir(), name)
		require.NoError(t, os.WriteFile(path, c.data, 0o600))
		untouched(t, path, c.reason, c.mend)
	}
	path := filepath.Join(t.TempDir(), "cut.db")
	require.NoError(t, os.WriteFile(path, cut, 0o600))
	found, err := damage(path)
	assert.True(t, found || err != nil, "a third of the file is told from the whole")

	pipe := filepath.Join(t.TempDir(), "pipe.db")
	require.NoError(t, syscall.Mkfifo(pipe, 0o600))
	_, err = Open(t.Context(), pipe, Options{})
	require.ErrorContains(t, err, "a device or a pipe; name the bench's file")
}

// Not even the header of a file changes that has lost a guard.
func TestAFileThatLostAGuardIsNotTouched(t *testing.T) {
	path := filepath.Join(t.TempDir(), "bench.db")
	require.NoError(t, os.WriteFile(path, wholeFile(t), 0o600))
	db, err := openRaw(path)
	require.NoError(t, err)
	_, err = db.ExecContext(t.Context(), "DROP TRIGGER completion_refused")
	require.NoError(t, err)
	require.NoError(t, db.Close())
	before, err := os.ReadFile(path)
	require.NoError(t, err)
	_, err = Open(t.Context(), path, Options{})
	require.ErrorIs(t, err, ErrTampered)
	after, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, before, after)
	assert.Equal(t, []string{"bench.db"}, names(t, filepath.Dir(path)))
	assert.Contains(t, findingsOf(t, path), Finding{"a table or guard is missing", "trigger completion_refused"})
}

func findingsOf(t *testing.T, path string) []Finding {
	t.Helper()
	s, err := OpenReadOnly(t.Context(), path, Options{}, true)
	require.NoError(t, err)
	defer func() { require.NoError(t, s.Close()) }()
	return findings(t, s)
}

// A foreign database keeps its own settings, which a working connection would
// change in its header.
func TestAForeignDatabaseIsNotTouched(t *testing.T) {
	path := filepath.Join(t.TempDir(), "foreign.db")
	db, err := openRaw(path)
	require.NoError(t, err)
	_, err = db.ExecContext(t.Context(), "CREATE TABLE notes (text TEXT)")
	require.NoError(t, err)
	require.NoError(t, db.Close())
	untouched(t, path, ErrNotDatabase, "some other program's database")
}

func TestAFileWithoutItsLogIsTold(t *testing.T) {
	path := filepath.Join(t.TempDir(), "bench.db")
	db, err := openRaw(path)
	require.NoError(t, err)
	_, err = db.ExecContext(t.Context(), "PRAGMA journal_mode = WAL")
	require.NoError(t, err)
	_, err = db.ExecContext(t.Context(), "VACUUM")
	require.NoError(t, err)
	require.NoError(t, db.Close())
	untouched(t, path, ErrDamaged, "with -wal at its end")
}

// damage reports whether opening or verifying a file tells that it is not
// whole.
func damage(path string) (found bool, err error) {
	s, err := OpenReadOnly(context.Background(), path, Options{EitherKind: true}, true)
	if err != nil {
		return true, err
	}
	err = s.Verify(context.Background(), func(Finding) error {
		found = true
		return nil
	})
	if closed := s.Close(); err == nil {
		err = closed
	}
	return found, err
}

// dumpAll is the content of every table and view.
func dumpAll(t require.TestingT, path string) (all string) {
	s, err := OpenReadOnly(context.Background(), path, Options{EitherKind: true}, true)
	require.NoError(t, err)
	require.NoError(t, s.View(context.Background(), func(v *View) error {
		var names []string
		if err := v.each(context.Background(), "SELECT name FROM sqlite_schema WHERE type IN ('table', 'view') ORDER BY name", func(r []any) error {
			names = append(names, text(r[0]))
			return nil
		}); err != nil {
			return err
		}
		for _, name := range names {
			if err := v.each(context.Background(), "SELECT * FROM "+name, func(r []any) error {
				all += fmt.Sprintln(name, r)
				return nil
			}); err != nil {
				return err
			}
		}
		return nil
	}))
	require.NoError(t, s.Close())
	return all
}

// Whatever bits of a file change, either that is told, or it says what it said.
func TestChangedBitsAreToldOrChangeNothing(t *testing.T) {
	fewer(t, "150")
	whole := wholeFile(t)
	path := filepath.Join(t.TempDir(), "bench.db")
	require.NoError(t, os.WriteFile(path, whole, 0o600))
	before := dumpAll(t, path)
	told := 0
	rapid.Check(t, func(t *rapid.T) {
		changed := append([]byte{}, whole...)
		if rapid.Bool().Draw(t, "as the bench leaves it") {
			changed[18], changed[19] = 2, 2 // WAL
		}
		for range rapid.IntRange(1, 3).Draw(t, "flips") {
			// Half of them where the content is dense, in the file's first pages.
			most := len(changed) - 1
			if rapid.Bool().Draw(t, "early") {
				most = min(most, 1<<16)
			}
			changed[rapid.IntRange(0, most).Draw(t, "byte")] ^= 1 << rapid.IntRange(0, 7).Draw(t, "bit")
		}
		require.NoError(t, os.WriteFile(path, changed, 0o600))
		found, err := damage(path)
		if found || err != nil {
			told++
			return
		}
		require.Equal(t, before, dumpAll(t, path))
	})
	assert.Positive(t, told)
}

func TestAFileCutShortIsTold(t *testing.T) {
	whole := wholeFile(t)
	path := filepath.Join(t.TempDir(), "bench.db")
	const cuts = 60
	for i := range cuts {
		require.NoError(t, os.WriteFile(path, whole[:len(whole)*i/cuts], 0o600))
		_, err := OpenReadOnly(t.Context(), path, Options{}, false)
		require.Error(t, err, "%d of %d", i, cuts)
		require.True(t, errors.Is(err, ErrDamaged) || errors.Is(err, ErrNotDatabase), "%d of %d: %v", i, cuts, err)
	}
}

// The super-user reads what nobody may, so this runs as nobody when it has to:
// the test calls itself.
func TestAFileThatMayNotBeRead(t *testing.T) {
	const child = "SEAMFIT_TEST_UNREADABLE"
	if path := os.Getenv(child); path != "" {
		_, err := Open(t.Context(), path, Options{})
		require.ErrorIs(t, err, ErrReadOnly)
		require.ErrorContains(t, err, "you may read and write")
		return
	}
	folder, err := os.MkdirTemp("", "seamfit-test-")
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, os.RemoveAll(folder)) })
	require.NoError(t, os.Chmod(folder, 0o755))
	path := filepath.Join(folder, "bench.db")
	require.NoError(t, os.WriteFile(path, []byte("closed"), 0o000))
	asNobody(t, folder, "^TestAFileThatMayNotBeRead$", child+"="+path)
}

// asNobody runs a test of this program as a user who is not root.
func asNobody(t *testing.T, folder, test, env string) {
	t.Helper()
	program, err := os.ReadFile(os.Args[0])
	require.NoError(t, err)
	copied := filepath.Join(folder, "test")
	require.NoError(t, os.WriteFile(copied, program, 0o755))
	cmd := exec.CommandContext(t.Context(), copied, "-test.run", test)
	cmd.Dir, cmd.Env = folder, []string{env, "TMPDIR=" + folder}
	if os.Geteuid() == 0 {
		cmd.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: 65534, Gid: 65534}}
	}
	out, err := cmd.CombinedOutput()
	require.NoError(t, err, "%s", out)
	require.Contains(t, string(out), "PASS")
}
