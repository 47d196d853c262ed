package store

import (
	"context"
	"fmt"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"seamfit/internal/bench"
	"seamfit/internal/length"
)

// Whatever the bench takes the records take, they give it back the same, and
// a completion that the bench would refuse for the seam, the fate or a dispute
// the triggers refuse too.
func TestTheRecordsHoldTheRulesOfTheBench(t *testing.T) {
	s := openStore(t, filepath.Join(t.TempDir(), "bench.db"))
	runs := 0
	rapid.Check(t, func(t *rapid.T) {
		runs++
		w := begun(t, s)
		for _, p := range []bench.Person{{Name: "L. Bye", Role: bench.RoleTrainee}, {Name: "K. Voe", Role: bench.RoleSupervisor}} {
			if rapid.Bool().Draw(t, string(p.Role)) {
				w.do(bench.TellShift{When: w.when(), Detail: p})
			}
		}
		w.series = fmt.Sprintf("1236-%03d", runs%1000) // each run has numbers of its own
		var birds []string
		for range rapid.IntRange(1, 25).Draw(t, "commands") {
			c := w.anyCommand(t, birds)
			taken := w.try(c)
			if opened, ok := c.(bench.OpenBird); ok && taken {
				birds = append(birds, opened.ID)
			}
		}
		for _, h := range w.state.Handlings {
			loaded, err := s.Load(context.Background(), h.ID)
			require.NoError(t, err)
			require.Equal(t, h.Bands, loaded.Bands)
			require.Equal(t, h.Confirmation, loaded.Confirmation)
			require.Equal(t, h.Done(), loaded.Done())
			w.requireCompletionHeld(t, h)
		}
	})
}

func (w *worked) anyCommand(t *rapid.T, birds []string) bench.Command {
	when := w.when()
	reason := rapid.SampledFrom([]string{"", "a reason"}).Draw(t, "reason")
	if len(birds) > 0 && rapid.IntRange(0, 3).Draw(t, "another") == 0 {
		when.Handling = rapid.SampledFrom(birds).Draw(t, "bird")
	}
	when.By = rapid.SampledFrom([]string{"", "", "L. Bye", "l. bye", "K. Voe"}).Draw(t, "by")
	switch rapid.IntRange(0, 16).Draw(t, "command") {
	case 0:
		return bench.OpenBird{When: when, ID: newID(), Bird: bench.Bird{Species: "Larus argentatus", Leg: bench.LegLeft}}
	case 1:
		return bench.TakeReading{When: when, Means: bench.MeansCaliper, Unit: length.MM, Resolution: 10_000, Value: 8_420_000}
	case 2:
		return bench.ChooseSize{When: when, Size: "6", Metal: "incoloy", Reason: reason}
	case 3, 4:
		return bench.GiveNumber{When: when, Reason: reason, Number: w.series + rapid.SampledFrom([]string{"01", "02"}).Draw(t, "number")}
	case 5:
		return bench.TellFound{When: when, Number: "1236-4440?", Then: rapid.SampledFrom([]bench.Then{bench.ThenLeft, bench.ThenWorked, bench.ThenReplaced}).Draw(t, "then")}
	case 6, 7:
		return bench.Look{When: when, Findings: rapid.SampledFrom([][]string{nil, nil, {"gap"}}).Draw(t, "findings")}
	case 8, 9:
		return bench.Confirm{When: when, All: rapid.Bool().Draw(t, "all"), ReadBack: rapid.SampledFrom([]string{"", w.series + "01", w.series + "02", "407"}).Draw(t, "read back")}
	case 10:
		return bench.Remove{When: when, Reason: reason}
	case 15:
		return bench.TellShift{When: when, Detail: bench.Person{
			Name: rapid.SampledFrom([]string{"L. Bye", "K. Voe", "A. Holm"}).Draw(t, "name"), Role: rapid.SampledFrom(bench.Roles()).Draw(t, "role"),
		}}
	case 16:
		return bench.TellCircumstances{When: when, Nest: rapid.SampledFrom([]string{"N1", "N2"}).Draw(t, "nest"), Why: reason}
	case 13, 14:
		return bench.Supervise{When: when, Findings: rapid.SampledFrom([][]string{nil, nil, {"burr"}}).Draw(t, "findings")}
	case 11:
		return bench.TellFate{When: when, Reason: reason, Fate: rapid.SampledFrom(bench.Fates()).Draw(t, "fate")}
	default:
		return bench.Complete{When: when}
	}
}

// held are the blockers that the triggers hold as well.
var held = map[bench.Code]bool{
	bench.ClosingMissing: true, bench.ClosingNotFlush: true, bench.StatementMissing: true, bench.ReadBackMissing: true,
	bench.ReadBackMismatch: true, bench.SizeMissing: true, bench.FateMissing: true, bench.ClosureUnconfirmed: true,
	bench.Escaped: true, bench.SupervisorMissing: true, bench.FateContradicts: true, bench.BandMissing: true, bench.NumberDisputed: true,
}

func (w *worked) requireCompletionHeld(t require.TestingT, h bench.Handling) {
	if h.Complete {
		return
	}
	var reasons []bench.Code
	for _, b := range bench.Blockers(h, w.state.Setup.Book) {
		if held[b.Code] {
			reasons = append(reasons, b.Code)
		}
	}
	err := w.store.Save(context.Background(), []bench.Fact{bench.Completed{
		Head: bench.Head{Handling: h.ID, Seq: h.Seq + 1, At: w.now, Entered: w.now},
	}})
	if len(reasons) > 0 {
		require.ErrorIs(t, err, bench.ErrRefused, "%v on %+v", reasons, h)
	} else {
		require.NoError(t, err)
	}
}
