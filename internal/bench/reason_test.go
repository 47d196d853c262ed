package bench_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/bench"
)

func TestAKeyIsNoReason(t *testing.T) {
	for _, text := range []string{"y", "ok", "yyyy", "Yyy", "1236", "...", "no 1", " x "} {
		blockers := bench.ReasonBlockers(text)
		require.Len(t, blockers, 1, text)
		assert.Equal(t, bench.ReasonShort, blockers[0].Code, text)
	}
	for _, text := range []string{"", "  ", "gap", "sharp edge", "Öse", "überlappt"} {
		assert.Empty(t, bench.ReasonBlockers(text), text)
	}
}
