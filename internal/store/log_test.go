package store

import (
	"encoding/binary"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A crash while the log is taken into the file leaves pages there that are
// whole only together with the log, and a header that counts pages that are not
// there yet. ("The WAL File Format" of SQLite: a header of 32 bytes, then frames,
// each a header of 24 that begins with the page's number.)
func TestAFileIsReadWithItsLogNeverWithout(t *testing.T) {
	w := newWorked(t)
	var id string
	var file, log []byte
	for i := 0; i == 0 || !grown(file); i++ {
		require.Less(t, i, 40, "the file never grew in its log alone")
		id = w.bandedAndComplete(fmt.Sprintf("1236-567%02d", i+1))
		file, log = torn(t, w.store.path)
	}
	path := filepath.Join(t.TempDir(), "bench.db")
	require.NoError(t, os.WriteFile(path, file, 0o600))
	require.NoError(t, os.WriteFile(path+"-wal", log, 0o600))
	looked, err := OpenReadOnly(t.Context(), path, Options{}, true)
	require.NoError(t, err)
	require.NoError(t, looked.Verify(t.Context(), func(f Finding) error {
		assert.Empty(t, f)
		return nil
	}))
	require.NoError(t, looked.Close())

	h, err := openStore(t, path).Load(t.Context(), id)
	require.NoError(t, err)
	assert.Equal(t, w.load(id), h)
}

// While there is a log, another program's file is known by its header.
func TestAnotherProgramsFileWithALogIsLeftAsItIs(t *testing.T) {
	w := newWorked(t)
	w.gull("1236-56701")
	file, err := os.ReadFile(w.store.path)
	require.NoError(t, err)
	log, err := os.ReadFile(w.store.path + "-wal")
	require.NoError(t, err)
	require.NotEmpty(t, log)
	copy(file[68:], "Thei") // its application id
	path := filepath.Join(t.TempDir(), "other.db")
	require.NoError(t, os.WriteFile(path, file, 0o600))
	require.NoError(t, os.WriteFile(path+"-wal", log, 0o600))
	_, err = Open(t.Context(), path, Options{})
	require.ErrorIs(t, err, ErrNotDatabase)
	after, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, file, after)
}

// grown reports whether the header counts more pages than there are.
func grown(file []byte) bool {
	return int(binary.BigEndian.Uint32(file[28:]))*int(binary.BigEndian.Uint16(file[16:])) > len(file)
}

// torn returns a file and its log as they may be when the log was being taken
// into the file: of the pages in the log, the first one is there and the others
// are noise.
func torn(t *testing.T, path string) (file, log []byte) {
	t.Helper()
	file, err := os.ReadFile(path)
	require.NoError(t, err)
	log, err = os.ReadFile(path + "-wal")
	require.NoError(t, err)
	page := int(binary.BigEndian.Uint32(log[8:]))
	for at := 32; at+24+page <= len(log); at += 24 + page {
		switch number := int(binary.BigEndian.Uint32(log[at:])); {
		case number == 1:
			copy(file, log[at+24:at+24+page])
		case number*page <= len(file):
			for i := (number - 1) * page; i < number*page; i++ {
				file[i] = 0xA5
			}
		}
	}
	return file, log
}
