package bench

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The bench target is advice; where the settings require it, a choice without
// it is one against advice: refused without its reason, which is stored. A
// training run asks for none.
func TestBenchTargetIsRequiredOnlyBySetting(t *testing.T) {
	k := BandKind{"6", "stainless steel"}
	assert.Empty(t, Practice{}.against("A. Holm", k))
	met := Practice{Required: true, Met: []Practised{{"A. Holm", "6", "stainless steel"}}}
	assert.Empty(t, met.against("A. Holm", k))
	require.Len(t, met.against("B. Reyne", k), 1)
	assert.Len(t, met.against("A. Holm", BandKind{"6", "incoloy"}), 1, "another metal is another hand")
}
