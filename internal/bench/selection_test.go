package bench_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/bench"
)

func TestSelectionChecksItsDays(t *testing.T) {
	require.NoError(t, bench.Selection{}.Check())
	assert.True(t, bench.Selection{}.All())
	sound := bench.Selection{From: "2026-05-17", To: "2026-05-17"}
	require.NoError(t, sound.Check())
	assert.False(t, sound.All())
	for text, bad := range map[string]bench.Selection{
		"is no day; write it like":    {From: "17.5.2026"},
		`"2026-02-30" is no day`:      {To: "2026-02-30"},
		"is before the first, 2026-0": {From: "2026-05-18", To: "2026-05-17"},
	} {
		require.ErrorContains(t, bad.Check(), text)
	}
}
