//go:build unix

package store

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The super-user writes where nobody may, so this runs as nobody when it has
// to: the test calls itself.
func TestAFolderWithoutWritePermission(t *testing.T) {
	const child = "SEAMFIT_TEST_FOLDER"
	if folder := os.Getenv(child); folder != "" {
		_, err := Open(t.Context(), filepath.Join(folder, "bench.db"), Options{})
		require.ErrorIs(t, err, ErrReadOnly)
		require.ErrorContains(t, err, "write permission")
		return
	}
	folder, err := os.MkdirTemp("", "seamfit-test-")
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, os.RemoveAll(folder)) })
	closed := filepath.Join(folder, "closed")
	require.NoError(t, os.Mkdir(closed, 0o555))
	require.NoError(t, os.Chmod(folder, 0o755))
	asNobody(t, folder, "^TestAFolderWithoutWritePermission$", child+"="+closed)
}
