package store

import (
	"fmt"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"seamfit/internal/bands"
)

// BenchmarkReconcile accounts for ten thousand numbers, half of them on birds.
func BenchmarkReconcile(b *testing.B) {
	s, err := Open(b.Context(), filepath.Join(b.TempDir(), "bench.db"), Options{Closures: benchSetup(b).Book.Closures})
	require.NoError(b, err)
	defer func() { require.NoError(b, s.Close()) }()
	w := begun(b, s)
	for i := range 10 {
		first := fmt.Sprintf("%d-00001", 1000+i)
		w.receive(first, 1000)
		numbers := w.run(first, 1000)
		w.stock(bands.EventOpened, "A. Holm", numbers...)
		w.bulk(b, numbers[:500])
	}
	w.stock(bands.EventCounted, "", w.run("1000-00501", 400)...)
	for b.Loop() {
		account, err := s.Reconcile(b.Context())
		require.NoError(b, err)
		require.Len(b, account.Strings, 10)
	}
}
