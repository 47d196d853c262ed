package store

import (
	"database/sql"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A file whose guards were changed must be told from one whose guards are
// whole, so the constant must be the digest of what the migrations make.
func TestSchemaDigestIsThatOfTheMigrations(t *testing.T) {
	s := &Store{path: t.TempDir() + "/bench.db", stmts: map[string]*sql.Stmt{}}
	db, err := openRaw(s.path)
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, db.Close()) })
	s.db = db
	s.writer, err = db.Conn(t.Context())
	require.NoError(t, err)
	t.Cleanup(func() {
		for _, st := range s.stmts {
			assert.NoError(t, st.Close())
		}
		assert.NoError(t, s.writer.Close())
	})
	require.NoError(t, s.migrate(t.Context(), Options{}))
	digest, err := schemaText(t.Context(), s.writer)
	require.NoError(t, err)
	assert.Equal(t, schemaDigest, digest, "set schemaDigest to the new digest, and add a migration for files that exist")
}
