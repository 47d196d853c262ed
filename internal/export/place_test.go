package export

import (
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// full is a place whose disk fills up.
type full struct {
	room      int
	refused   error
	published bool
	abandoned bool
}

func (f *full) create(string) (entry, error) { return f, nil }
func (f *full) abreast() int                 { return 2 }
func (f *full) end(err error) error          { return err }

func (f *full) Write(p []byte) (int, error) {
	if f.room -= len(p); f.room < 0 {
		return 0, &fs.PathError{Op: "write", Path: "x", Err: syscall.ENOSPC}
	}
	return len(p), nil
}

func (f *full) publish() error {
	f.published = f.refused == nil
	return f.refused
}

func (f *full) abandon() error {
	f.abandoned = true
	return nil
}

func TestAFullDiskLeavesNothingAndSaysTheMend(t *testing.T) {
	f := &full{room: 100}
	err := into(func() (place, error) { return f, nil }, func(p place) error {
		w, err := p.create("x")
		require.NoError(t, err)
		for err == nil {
			_, err = w.Write(make([]byte, 30))
		}
		return err
	})
	require.ErrorIs(t, err, syscall.ENOSPC)
	require.ErrorContains(t, err, "make room on the disk, or name another place with --out")
	assert.True(t, f.abandoned)
	assert.False(t, f.published)

	f = &full{refused: fs.ErrPermission}
	err = into(func() (place, error) { return f, nil }, func(place) error { return nil })
	require.ErrorContains(t, err, "name a place where you may write with --out")
	assert.True(t, f.abandoned, "a publication that fails is taken back")
	odd := errors.New("odd")
	assert.Equal(t, odd, mended(odd))
}

func TestAPlaceThatIsTakenMeanwhileIsKept(t *testing.T) {
	home := t.TempDir()
	for _, name := range []string{"x.zip", "x.csv"} {
		path := filepath.Join(home, name)
		err := into(func() (place, error) {
			if isArchive(name) {
				return newArchive(path, time.Date(2026, 5, 17, 6, 0, 0, 0, time.UTC))
			}
			return newFile(path)
		}, func(p place) error {
			w, err := p.create("a")
			require.NoError(t, err)
			_, err = io.WriteString(w, "ours")
			require.NoError(t, err)
			return os.WriteFile(path, []byte("theirs"), 0o600)
		})
		require.ErrorContains(t, err, "is there already")
		data, err := os.ReadFile(path)
		require.NoError(t, err)
		assert.Equal(t, "theirs", string(data))
	}
	folder := filepath.Join(home, "x")
	err := into(func() (place, error) { return newFolder(folder) }, func(p place) error {
		_, err := p.create("a")
		require.NoError(t, err)
		require.NoError(t, os.Mkdir(folder, 0o700))
		return os.WriteFile(filepath.Join(folder, "theirs"), nil, 0o600)
	})
	require.Error(t, err)
	entries, err := os.ReadDir(home)
	require.NoError(t, err)
	assert.Len(t, entries, 3, "no temporary names are left")
}
