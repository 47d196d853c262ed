package bench_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/bands"
	"seamfit/internal/bench"
	"seamfit/internal/length"
)

func TestAnEasyBird(t *testing.T) {
	d := newDesk(t)
	d.gull("1236-56701")
	d.refused(bench.Complete{}, bench.ClosingMissing, bench.FateMissing)
	d.do(bench.Look{})
	d.refused(bench.Complete{},
		bench.StatementMissing, bench.StatementMissing, bench.StatementMissing, bench.StatementMissing, bench.ReadBackMissing, bench.FateMissing)
	d.do(bench.Confirm{Statements: []string{"edges", "turns"}})
	d.do(bench.TellFate{Fate: bench.FateBanded})
	d.refused(bench.Complete{}, bench.StatementMissing, bench.StatementMissing, bench.ReadBackMissing)
	d.do(bench.Confirm{All: true, ReadBack: "701"})
	d.do(bench.Complete{})

	h := d.active()
	assert.True(t, h.Done())
	assert.Equal(t, "stainless steel", h.Choice.Metal)
	assert.Equal(t, "butt-end", h.Choice.Closure)
	assert.False(t, h.InHand())
	for i, f := range d.facts[1:] {
		assert.Equal(t, i+1, f.Key().Seq, "facts are numbered 1, 2, 3 …")
		assert.Equal(t, "A. Holm", f.Key().By)
	}
	d.refused(bench.Look{}, bench.AlreadyComplete)
	d.refused(bench.TellFate{Fate: bench.FateDied}, bench.AlreadyComplete)
}

func TestAnOverlapThatCannotBeOpened(t *testing.T) {
	d := newDesk(t)
	d.gull("1236-56701")
	d.do(bench.Look{Findings: []string{"overlap"}})
	d.refused(bench.Confirm{All: true}, bench.ClosingNotFlush)
	d.refused(bench.GiveNumber{Number: "1236-56702"}, bench.RemoveFirst)
	d.refused(bench.ChooseSize{Size: "7A", Metal: "stainless steel"}, bench.RemoveFirst)
	d.refused(bench.TellFate{Fate: bench.FateBanded}, bench.ClosingNotFlush)
	d.refused(bench.TellFate{Fate: bench.FateUnbanded}, bench.FateContradicts)
	d.refused(bench.Remove{}, bench.ReasonMissing)
	d.do(bench.Remove{Reason: "overlap that can't be opened"})
	assert.Equal(t, bands.Destroyed, d.active().Bands[0].State)
	d.refused(bench.GiveNumber{Number: "1236-56701"}, bench.NumberDestroyed)
	d.do(bench.GiveNumber{Number: "1236-56702"})
	d.flush("56702")
	d.banded()
	assert.Equal(t, bands.Destroyed, d.active().Bands[0].State)
	assert.Equal(t, bands.OnBird, d.active().Bands[1].State)
}

func TestAfterRemovalTheBirdMayGoUnbanded(t *testing.T) {
	d := newDesk(t)
	d.gull("1236-56701")
	d.do(bench.Look{Findings: []string{"spiral"}})
	d.do(bench.Remove{Reason: "spiral; bird stressed"})
	d.do(bench.TellFate{Fate: bench.FateUnbanded, Reason: "stress"})
	d.do(bench.Complete{})
	assert.True(t, d.active().Done())
}

func TestAnUnclosedBandGoesBackToItsPlace(t *testing.T) {
	d := newDesk(t)
	d.gull("1236-56701")
	d.do(bench.GiveNumber{Number: "1236-56702"})
	require.Len(t, d.active().Bands, 1)
	assert.Equal(t, "1236-56702", d.active().Bands[0].Number)
	d.do(bench.TellFate{Fate: bench.FateUnbanded})
	assert.Empty(t, d.active().Bands, "the bird left without it")
	d.do(bench.Complete{})

	d.gull("1236-56702")
	assert.Equal(t, bands.Opened, d.active().Bands[0].State, "a number put back can be taken again")
}

func TestTheBirdNeverWaitsForTheRecord(t *testing.T) {
	d := newDesk(t)
	d.bird("")
	d.do(bench.LeaveHand{})
	left := d.active().Left
	assert.False(t, left.IsZero())
	d.do(bench.LeaveHand{})
	assert.Equal(t, left, d.active().Left, "leaving the hand happens once")

	// Facts are told afterwards, in the order in which they come to mind.
	d.do(bench.GiveNumber{Number: "1236-56701"})
	d.do(bench.Look{})
	d.refused(bench.Confirm{All: true}, bench.SizeMissing)
	d.widths("8.42", "8.45", "8.40")
	d.do(bench.ChooseSize{Size: "6", Metal: "incoloy", Reason: "told afterwards"})
	d.do(bench.Confirm{All: true, ReadBack: "1236-56701"})
	d.do(bench.TellFate{Fate: bench.FateBanded})
	d.refused(bench.Complete{}, bench.SpeciesMissing)
	d.do(bench.DescribeBird{Bird: bench.Bird{Species: "Larus argentatus", Leg: bench.LegLeft}})
	d.do(bench.Complete{})
	assert.Equal(t, left, d.active().Left)

	d.refused(bench.TakeReading{Means: bench.MeansCaliper, Value: 8 * length.Millimetre, Unit: length.MM, Resolution: 10_000}, bench.AlreadyComplete)
}

func TestACaliperReadingIsNotOfABirdThatIsGone(t *testing.T) {
	d := newDesk(t)
	d.bird("Larus argentatus")
	d.do(bench.LeaveHand{})
	d.refused(bench.TakeReading{Means: bench.MeansCaliper, Value: 8 * length.Millimetre, Unit: length.MM, Resolution: 10_000}, bench.LeftTheHand)
	d.widths("8.42")
}

func TestEscaped(t *testing.T) {
	d := newDesk(t)
	d.bird("Larus argentatus")
	d.do(bench.TellFate{Fate: bench.FateEscaped})
	d.refused(bench.Complete{}, bench.Escaped)
	d.refused(bench.Resolve{}, bench.ReasonMissing)
	d.do(bench.Resolve{Reason: "never banded; nothing more to do"})
	d.do(bench.Complete{})
}

func TestEscapedWithAnUnconfirmedBandIsNeverComplete(t *testing.T) {
	d := newDesk(t)
	d.gull("1236-56701")
	d.do(bench.Look{})
	d.do(bench.TellFate{Fate: bench.FateEscaped})
	d.do(bench.Resolve{Reason: "seen again, band sits well"})
	assert.True(t, has(codes(d.try(bench.Complete{})), bench.StatementMissing))
}

func TestDied(t *testing.T) {
	d := newDesk(t)
	d.gull("1236-56701")
	d.do(bench.TellIncident{Kind: "death", Note: "found limp in the keeping box"})
	d.refused(bench.TellIncident{}, bench.ReasonMissing)
	d.do(bench.TellFate{Fate: bench.FateDied})
	assert.Empty(t, d.active().Bands, "the band was not on it")
	d.do(bench.Complete{})
	assert.Len(t, d.active().Incidents, 1)
}

func TestAFoundBandLeftAsItIs(t *testing.T) {
	d := newDesk(t)
	d.bird("Larus argentatus")
	d.refused(bench.TellFound{Number: "1236-5670?", Then: "polished"}, bench.ThenUnknown)
	d.do(bench.TellFound{Number: "1236-5670?", Condition: "worn, readable", Scheme: "elsewhere", Then: bench.ThenLeft})
	d.refused(bench.GiveNumber{Number: "1236-56799"}, bench.TwoOnOneLeg)
	d.banded()
	assert.Equal(t, "1236-5670?", d.active().Bands[0].Number)
}

func TestAFoundBandWorkedOnNeedsItsConfirmation(t *testing.T) {
	d := newDesk(t)
	d.bird("Larus argentatus")
	d.do(bench.TellFound{Number: "1236-5670?", Condition: "gap", Then: bench.ThenWorked})
	d.refused(bench.Complete{}, bench.ClosingMissing, bench.FateMissing)
	d.do(bench.Look{})
	d.do(bench.Confirm{All: true, ReadBack: "705"})
	d.banded()
}

func TestAFoundBandReplaced(t *testing.T) {
	d := newDesk(t)
	d.bird("Larus argentatus")
	d.do(bench.TellFound{Number: "1236-44401", Condition: "wall worn through", Then: bench.ThenReplaced})
	d.widths("8.42", "8.45", "8.40")
	d.do(bench.ChooseSize{Size: "6", Metal: "stainless steel"})
	d.do(bench.GiveNumber{Number: "1236-56701"})
	d.flush("701")
	d.banded()
	assert.Equal(t, bands.Destroyed, d.active().Bands[0].State)
	assert.Equal(t, bands.OnBird, d.active().Bands[1].State)
}

func TestANumberThatAnotherBirdHas(t *testing.T) {
	d := newDesk(t)
	first := d.gull("1236-56701")
	d.flush("701")
	d.banded()
	second := d.bird("Larus argentatus")
	d.widths("8.42", "8.45", "8.40")
	d.do(bench.ChooseSize{Size: "6", Metal: "stainless steel"})
	d.refused(bench.GiveNumber{Number: "1236-56701"}, bench.NumberUsed)
	d.do(bench.GiveNumber{Number: "1236-56702"})
	d.do(bench.Look{})
	d.do(bench.Confirm{All: true, ReadBack: "701"})
	d.do(bench.TellFate{Fate: bench.FateBanded})
	d.refused(bench.Complete{}, bench.ReadBackMismatch)

	// The band in the hand wins: what is read off the leg is recorded.
	d.refused(bench.GiveNumber{Number: "1236-56701"}, bench.RemoveFirst)
	d.do(bench.GiveNumber{Number: "1236-56701", Reason: "read twice off the leg"})
	h := d.active()
	assert.Equal(t, second, h.ID)
	assert.Equal(t, bench.ConflictUsed, h.Bands[0].Conflict)
	assert.Equal(t, first, h.Bands[0].Other)
	d.refused(bench.Complete{}, bench.NumberDisputed)

	// Correcting the number settles it.
	d.do(bench.GiveNumber{Number: "1236-56704", Reason: "the last digit is a 4"})
	assert.False(t, d.active().Disputed())
	d.refused(bench.Complete{}, bench.ReadBackMismatch)
}

func TestTwoOpenBirdsClaimOneNumber(t *testing.T) {
	d := newDesk(t)
	first := d.gull("1236-56701")
	second := d.bird("Larus argentatus")
	d.refused(bench.GiveNumber{Number: "1236-56701"}, bench.NumberInHand)
	d.do(bench.GiveNumber{Number: "1236-56701", Reason: "this is the band in the pliers"})
	a, _ := d.state.Handling(first)
	b, _ := d.state.Handling(second)
	assert.True(t, a.Disputed() && b.Disputed(), "both records are disputed")
	d.do(bench.GiveNumber{When: bench.When{Handling: first}, Number: "1236-56702"})
	a, _ = d.state.Handling(first)
	b, _ = d.state.Handling(second)
	assert.False(t, a.Disputed() || b.Disputed(), "the other bird's was 56702 all along")
}

func TestReadingsGoOnlyToTheActiveBird(t *testing.T) {
	d := newDesk(t)
	first := d.bird("Larus argentatus")
	second := d.bird("Sterna hirundo")
	d.widths("2.10")
	d.do(bench.Activate{When: bench.When{Handling: first}})
	d.widths("8.42", "8.45")
	a, _ := d.state.Handling(first)
	b, _ := d.state.Handling(second)
	assert.Len(t, a.Readings, 2)
	assert.Len(t, b.Readings, 1)
	d.refused(bench.Activate{When: bench.When{Handling: "nobody"}}, bench.NoSuchHandling)
}

func TestClosureKindsDeclareTheirOwnStatements(t *testing.T) {
	d := newDesk(t)
	d.bird("Haliaeetus leucocephalus")
	d.widths("20.1", "20.2", "20.1")
	d.do(bench.ChooseSize{Size: "9 rivet", Metal: "stainless steel", Reason: "the size at hand"})
	d.do(bench.GiveNumber{Number: "0679-01301"})
	d.do(bench.Look{})
	d.refused(bench.Confirm{Statements: []string{"edges"}}, bench.StatementUnknown)
	d.do(bench.Confirm{Statements: []string{"head", "play"}, ReadBack: "301"})
	d.banded()
}

func TestSizeAgainstAdviceNeedsItsReason(t *testing.T) {
	d := newDesk(t)
	d.bird("Larus argentatus")
	d.refused(bench.ChooseSize{Size: "6", Metal: "stainless steel"}, bench.LegMissing)
	d.do(bench.ChooseSize{Size: "6", Metal: "stainless steel", Reason: "established size"})
	assert.Equal(t, bench.MethodNotMeasured, d.active().Choice.Method)
	d.widths("8.42", "8.45", "8.40")
	d.refused(bench.ChooseSize{Size: "5", Metal: "stainless steel"}, bench.SizeNeedsReason)
	d.refused(bench.ChooseSize{Size: "6", Metal: "pewter"}, bench.MetalUnknown)
	d.refused(bench.ChooseSize{Size: "6X", Metal: "monel"}, bench.SizeUnknown)
	d.refused(bench.ChooseSize{Size: "6", Metal: "monel", Closure: "rivet"}, bench.ClosureUnknown)
	d.do(bench.ChooseSize{Size: "5", Metal: "stainless steel", Reason: "no other in stock"})
	assert.Equal(t, "tight", d.active().Choice.Verdict)
	assert.Greater(t, d.active().Choice.PTight, 0.5)
}

func TestReadings(t *testing.T) {
	d := newDesk(t)
	d.bird("Larus argentatus")
	for _, nm := range []length.Length{0, -1, 60*length.Millimetre + 1} {
		d.refused(bench.TakeReading{Means: bench.MeansTyped, Value: nm, Unit: length.MM, Resolution: 10_000}, bench.WidthAbsurd)
	}
	d.widths("8.42", "9.99", "8.40")
	d.refused(bench.SetAside{Reading: 4, Reason: "spoilt"}, bench.NoSuchReading)
	d.refused(bench.SetAside{Reading: 2}, bench.ReasonMissing)
	d.do(bench.SetAside{Reading: 2, Reason: "caught a feather"})
	d.do(bench.SetAside{Reading: 2, Reason: "again"})
	h := d.active()
	assert.Equal(t, "caught a feather", h.Readings[1].SetAside)
	widths, seqs := h.Counted()
	assert.Len(t, widths, 2)
	assert.Equal(t, []int{2, 4}, seqs)
}

func TestAClockThatRunsBehindIsRecordedWithTheShift(t *testing.T) {
	d := newDesk(t)
	d.state.LastFact = d.now.Add(90 * time.Minute)
	d.do(bench.OpenShift{Shift: bench.Shift{ID: "shift-2"}})
	assert.Equal(t, 90*time.Minute-time.Second, d.state.Shift.ClockBehind)
	d.now = d.now.Add(2 * time.Hour)
	d.do(bench.OpenShift{Shift: bench.Shift{ID: "shift-3"}})
	assert.Zero(t, d.state.Shift.ClockBehind)
}

func TestRefusedWithoutAShiftOrABird(t *testing.T) {
	d := &desk{t: t, state: bench.State{Setup: setup(t)}}
	d.refused(bench.OpenShift{Shift: bench.Shift{ID: "s", Catalogue: "mars"}}, bench.CatalogueUnknown)
	d.refused(bench.OpenBird{ID: "x"}, bench.NoShift)
	d.refused(bench.Look{}, bench.NoBird)
	d = newDesk(t)
	d.refused(bench.OpenBird{ID: "x", Bird: bench.Bird{Leg: "middle"}}, bench.BadSide)
	d.bird("Larus argentatus")
	d.refused(bench.OpenBird{ID: "bird-1"}, bench.HandlingExists)
	d.refused(bench.GiveNumber{Number: "12-1"}, bench.NumberPattern)
	d.refused(bench.Look{}, bench.NumberMissing)
	d.refused(bench.Remove{Reason: "spoilt"}, bench.BandMissing)
	d.refused(bench.TellFate{Fate: "vanished"}, bench.FateUnknown)
	d.do(bench.GiveNumber{Number: "1236-56701"})
	d.refused(bench.Look{Findings: []string{"rust"}}, bench.FindingUnknown)
	d.refused(bench.Confirm{All: true}, bench.ClosingMissing)
	d.do(bench.Look{})
	d.refused(bench.Confirm{ReadBack: "01"}, bench.ReadBackShort)
	d.refused(bench.Resolve{Reason: "spoilt"}, bench.NothingToResolve)
}

func TestControlCharactersAreRefusedEverywhere(t *testing.T) {
	d := newDesk(t)
	d.bird("Larus argentatus")
	d.do(bench.GiveNumber{Number: "1236-56701"})
	for _, c := range []bench.Command{
		bench.OpenBird{ID: "y", Bird: bench.Bird{Species: "Larus\x1b[2J"}},
		bench.Remove{Reason: "line\nbreak"},
		bench.TellIncident{Kind: "stress", Note: "a\u009bb"},
		bench.Look{Findings: []string{"gap\x00"}},
		bench.TellFound{Number: "1236-56702", Then: bench.ThenLeft, Condition: "bad \xff bytes"},
	} {
		d.refused(c, bench.NotPrintable)
	}
}

func TestACompleteRecordIsCorrectedWithItsReason(t *testing.T) {
	d := newDesk(t)
	d.gull("1236-56701")
	d.flush("701")
	d.banded()
	right := bench.Bird{Species: "Larus argentatus", Age: "third year", Leg: bench.LegRight}
	d.refused(bench.DescribeBird{Bird: right}, bench.ReasonMissing)
	d.do(bench.DescribeBird{Bird: right, Why: "aged again from the photographs"})
	last := d.facts[len(d.facts)-1].Key()
	assert.Equal(t, 1, last.Replaces)
	assert.Equal(t, "aged again from the photographs", last.Why)
	assert.True(t, d.active().Done())
}

func TestNeverMoreThanTheSetNumberOfBandsOnOneBird(t *testing.T) {
	d := newDesk(t)
	d.state.Setup.BandsLimit = 2
	d.gull("1236-56701")
	d.do(bench.Remove{Reason: "spoiled at opening"})
	assert.Zero(t, d.active().Tried(), "it was never on the bird")
	for _, number := range []string{"1236-56702", "1236-56703"} {
		d.do(bench.GiveNumber{Number: number})
		d.do(bench.Look{Findings: []string{"overlap"}})
		d.do(bench.Remove{Reason: "overlap"})
	}
	assert.Equal(t, 2, d.active().Tried())
	d.refused(bench.GiveNumber{Number: "1236-56704"}, bench.BandsTried)
	d.do(bench.GiveNumber{Number: "1236-56704", Reason: "it was on the leg already"})
	d.do(bench.Look{})
	d.do(bench.Confirm{All: true, ReadBack: "704"})
	d.banded()
}
