package bench_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"seamfit/internal/bench"
	"seamfit/internal/length"
)

// anyCommand draws a command that a hurried person might give, right or wrong.
func anyCommand(t *rapid.T, birds int) bench.Command {
	number := rapid.SampledFrom([]string{"1236-56701", "1236-56702", "1236-56703", "nonsense"})
	reason := rapid.SampledFrom([]string{"", "", "a reason"})
	when := bench.When{}
	if birds > 0 && rapid.Bool().Draw(t, "another bird") {
		when.Handling = fmt.Sprintf("bird-%d", rapid.IntRange(1, birds).Draw(t, "bird"))
	}
	when.By = rapid.SampledFrom([]string{"", "", "L. Bye", "K. Voe"}).Draw(t, "by")
	switch rapid.IntRange(0, 19).Draw(t, "command") {
	case 0:
		return bench.OpenBird{ID: fmt.Sprintf("bird-%d", birds+1), Bird: bench.Bird{
			Species: rapid.SampledFrom([]string{"Larus argentatus", "", "Sterna hirundo"}).Draw(t, "species"),
			Leg:     rapid.SampledFrom([]bench.Leg{bench.LegLeft, bench.LegRight, bench.LegUnsaid}).Draw(t, "leg"),
		}}
	case 1:
		return bench.TakeReading{
			When: when, Means: bench.MeansCaliper, Unit: length.MM, Resolution: 10_000,
			Value: length.Length(rapid.Int64Range(-1, 70).Draw(t, "width")) * length.Millimetre,
		}
	case 2:
		return bench.SetAside{When: when, Reading: rapid.IntRange(0, 4).Draw(t, "reading"), Reason: reason.Draw(t, "reason")}
	case 3:
		return bench.ChooseSize{
			When: when, Size: rapid.SampledFrom([]string{"6", "5", "9 rivet"}).Draw(t, "size"),
			Metal: "stainless steel", Reason: reason.Draw(t, "reason"),
		}
	case 4, 5:
		return bench.GiveNumber{When: when, Number: number.Draw(t, "number"), Reason: reason.Draw(t, "reason")}
	case 6:
		return bench.TellFound{
			When: when, Number: "1236-4440?",
			Then: rapid.SampledFrom([]bench.Then{bench.ThenLeft, bench.ThenWorked, bench.ThenReplaced}).Draw(t, "then"),
		}
	case 7, 8:
		return bench.Look{When: when, Findings: rapid.SampledFrom([][]string{nil, nil, {"gap"}, {"overlap", "burr"}}).Draw(t, "findings")}
	case 9, 10:
		return bench.Confirm{
			When: when, All: rapid.Bool().Draw(t, "all"),
			ReadBack: rapid.SampledFrom([]string{"", "701", "702", "1236-56703", "440"}).Draw(t, "read back"),
		}
	case 11:
		return bench.Remove{When: when, Reason: reason.Draw(t, "reason")}
	case 12:
		return bench.TellFate{
			When: when, Reason: reason.Draw(t, "reason"),
			Fate: rapid.SampledFrom(bench.Fates()).Draw(t, "fate"),
		}
	case 14, 15:
		return bench.Supervise{When: when, Findings: rapid.SampledFrom([][]string{nil, nil, {"gap"}}).Draw(t, "findings")}
	case 16:
		return bench.TakeMeasure{When: when, Name: "wing", Value: rapid.SampledFrom([]string{"412", "421", "long"}).Draw(t, "value"), Why: reason.Draw(t, "reason")}
	case 17:
		return bench.TellCircumstances{When: when, Nest: rapid.SampledFrom([]string{"", "N1", "N2"}).Draw(t, "nest"), Why: reason.Draw(t, "reason")}
	case 18:
		return bench.TellShift{When: when, Detail: bench.Person{
			Name: rapid.SampledFrom([]string{"L. Bye", "K. Voe", ""}).Draw(t, "name"), Role: rapid.SampledFrom(bench.Roles()).Draw(t, "role"),
		}}
	case 13:
		return bench.Resolve{When: when, Reason: reason.Draw(t, "reason")}
	default:
		return bench.Complete{When: when}
	}
}

func TestNoSequenceOfCommandsCompletesARecordWithABlocker(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := newDesk(t)
		d.state.Setup.Further = []bench.FurtherMeasure{{Name: "wing", Unit: "mm"}}
		for range rapid.IntRange(1, 60).Draw(t, "commands") {
			c := anyCommand(t, d.birds)
			before := d.state
			refused := d.try(c)
			if _, opened := c.(bench.OpenBird); opened && refused == nil {
				d.birds++
			}
			for _, h := range d.state.Handlings {
				blockers := bench.Blockers(h, d.state.Setup.Book)
				if h.Done() {
					require.Empty(t, blockers, "complete with a blocker: %+v", h)
					requireNoTraineeAlone(t, h)
				}
			}
			if look, ok := c.(bench.Look); ok && refused == nil {
				id := look.Handling
				if id == "" {
					id = before.Active
				}
				h, _ := d.state.Handling(id)
				require.Empty(t, h.Confirmation, "a closing voids the confirmation before it")
			}
			for _, h := range d.state.Handlings {
				requireOneBandAtWork(t, h)
			}
		}
		requireRebuilds(t, d)
	})
}

// requireNoTraineeAlone holds that no trainee's word on a band of this handling
// counts without somebody's look who is none.
func requireNoTraineeAlone(t require.TestingT, h bench.Handling) {
	_, at := h.CurrentBand()
	for _, by := range h.Confirmation.By {
		if at && h.People.Role(by) == bench.RoleTrainee {
			require.NotEmpty(t, h.Confirmation.Supervised)
			require.NotEqual(t, bench.RoleTrainee, h.People.Role(h.Confirmation.Supervised))
		}
	}
}

func requireOneBandAtWork(t require.TestingT, h bench.Handling) {
	current := 0
	for _, b := range h.Bands {
		if b.Current() {
			current++
		}
	}
	require.LessOrEqual(t, current, 1, "two bands at work on one bird: %+v", h.Bands)
}

// requireRebuilds holds that facts alone give each handling back as it stands.
func requireRebuilds(t require.TestingT, d *desk) {
	rebuilt := map[string]bench.Handling{}
	for _, f := range d.facts {
		if id := f.Key().Handling; id != "" {
			rebuilt[id] = bench.FoldHandling(rebuilt[id], f)
		}
	}
	for _, h := range d.state.Handlings {
		again := rebuilt[h.ID]
		require.Equal(t, h.Seq, again.Seq)
		require.Equal(t, h.Bands, again.Bands)
		require.Equal(t, h.Closings, again.Closings)
		require.Equal(t, h.Confirmation, again.Confirmation)
		require.Equal(t, h.Choice, again.Choice)
		require.Equal(t, h.Fate, again.Fate)
		require.Equal(t, h.Measures, again.Measures)
		require.Equal(t, h.Whence, again.Whence)
		require.Equal(t, h.Complete, again.Complete)
	}
}
