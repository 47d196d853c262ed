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

func TestEveryReasonMustSaySomething(t *testing.T) {
	d := newDesk(t)
	d.gull("1236-56701")
	for _, c := range []bench.Command{
		bench.DescribeBird{Why: "y"},
		bench.SetAside{Reading: 1, Reason: "y"},
		bench.ReEstimate{Why: "y"},
		bench.ChooseSize{Size: "5", Metal: "aluminium", Reason: "y"},
		bench.GiveNumber{Number: "1236-56709", Reason: "y"},
		bench.Remove{Reason: "y"},
		bench.TellFate{Fate: bench.FateUnbanded, Reason: "y"},
		bench.Resolve{Reason: "y"},
		bench.Settle{Reason: "y"},
	} {
		d.refused(c, bench.ReasonShort)
	}
	d.do(bench.Remove{Reason: "sharp edge"})
}
