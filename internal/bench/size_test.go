package bench_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/bench"
	"seamfit/internal/catalogue"
	"seamfit/internal/fit"
	"seamfit/internal/length"
)

// Eagles take rivets only (US Geological Survey, notes of its species list).
func TestTheClosureKindThatGoesWithoutSaying(t *testing.T) {
	d := newDesk(t)
	d.bird("Haliaeetus leucocephalus")
	d.widths("15.00", "15.01", "15.02")
	d.do(bench.ChooseSize{Size: "8A", Metal: "stainless steel"})
	assert.Equal(t, "rivet", d.active().Choice.Closure)
	size, _ := d.state.Catalogue().Size("8A")
	assert.Equal(t, []string{"rivet"}, d.state.ClosuresFor(d.active(), size))

	// Another kind is against advice: taken with its reason.
	d.refused(bench.ChooseSize{Size: "8A", Metal: "stainless steel", Closure: "butt-end"}, bench.SizeNeedsReason)
	d.do(bench.ChooseSize{Size: "8A", Metal: "stainless steel", Closure: "butt-end", Reason: "no rivets left"})
	assert.Equal(t, "butt-end", d.active().Choice.Closure)

	// A size that is not made for the species is answered with the advice, not
	// with a kind that it has not.
	d.refused(bench.ChooseSize{Size: "9", Metal: "stainless steel"}, bench.SizeNeedsReason)
	size, _ = d.state.Catalogue().Size("9")
	assert.Equal(t, size.Closures, d.state.ClosuresFor(d.active(), size))
}

// A slot that fits is a measurement of its own: no reason is asked for, unless
// the gauge says another size than the one that is chosen.
func TestALegGaugeChoosesTheSize(t *testing.T) {
	d := newDesk(t)
	d.bird("Larus argentatus")
	d.refused(bench.ChooseSize{Size: "6", Metal: "stainless steel"}, bench.LegMissing)
	d.refused(bench.ChooseSize{Size: "6", Metal: "stainless steel", Method: bench.MethodLegGauge}, bench.SlotMissing)
	d.refused(bench.ChooseSize{Size: "6", Metal: "stainless steel", Slot: "6"}, bench.MethodUnknown)
	d.refused(bench.ChooseSize{Size: "6", Metal: "stainless steel", Method: "by eye"}, bench.MethodUnknown)
	d.refused(bench.ChooseSize{Size: "6", Metal: "stainless steel", Method: bench.MethodLegGauge, Slot: "5"}, bench.SizeNeedsReason)
	d.do(bench.ChooseSize{Size: "6", Metal: "stainless steel", Method: bench.MethodLegGauge, Slot: "6"})
	choice := d.active().Choice
	assert.Equal(t, bench.MethodLegGauge, choice.Method)
	assert.Equal(t, "6", choice.Slot)
	assert.Zero(t, choice.Estimate)

	// Once numbered, closed and confirmed, the record lacks no measurement.
	d.do(bench.GiveNumber{Number: "1236-56701"})
	d.flush("701")
	d.banded()
	assert.True(t, d.active().Complete)

	// What readings say is not hidden by a gauge beside them.
	d.bird("Larus argentatus")
	d.widths("9.40", "9.41", "9.42")
	d.refused(bench.ChooseSize{Size: "6", Metal: "stainless steel", Method: bench.MethodLegGauge, Slot: "6"}, bench.SizeNeedsReason)
	d.do(bench.ChooseSize{Size: "6", Metal: "stainless steel", Method: bench.MethodLegGauge, Slot: "6", Reason: "the gauge"})
	assert.Equal(t, "tight", d.active().Choice.Verdict)
	assert.NotZero(t, d.active().Choice.Estimate)
}

func TestAnEstablishedSizeAsksForNoReason(t *testing.T) {
	d := newDesk(t)
	d.state.Setup.Established = []string{"common tern", "no such bird"}
	d.bird("Sterna hirundo")
	assert.True(t, d.state.Established(d.active(), "2"))
	d.refused(bench.ChooseSize{Size: "3", Metal: "aluminium"}, bench.LegMissing)
	d.do(bench.ChooseSize{Size: "2", Metal: "aluminium"})
	assert.Equal(t, bench.MethodEstablished, d.active().Choice.Method)
	assert.Empty(t, d.active().Choice.Reason)

	d.bird("Larus argentatus")
	assert.False(t, d.state.Established(d.active(), "6"))
	d.refused(bench.ChooseSize{Size: "6", Metal: "stainless steel"}, bench.LegMissing)
	d.do(bench.ChooseSize{Size: "6", Metal: "stainless steel", Reason: "caliper broke"})
	assert.Equal(t, bench.MethodNotMeasured, d.active().Choice.Method)
}

// Readings over feathers, under them and of the bare leg are different
// things: those of the last one's kind count, and neither the pooled SD nor
// the history of bare legs speaks of them.
func TestReadingsOverFeathersAreNeverPooled(t *testing.T) {
	d := newDesk(t)
	d.state.Setup.Model.Pooled[1] = fit.Pooled{SD: 0.2, DOF: 60}
	d.bird("Bubo virginianus")
	take := func(text string, f bench.Feathers) {
		c, err := bench.TypedReading(bench.When{}, text, length.MM)
		require.NoError(t, err)
		c.Feathers = f
		d.do(c)
	}
	take("9.90", bench.FeathersOver)
	take("9.94", bench.FeathersOver)
	d.state = d.state.Remember(d.active().Like(), fit.History{Median: 7, SD: 0.1, N: 40})
	result, err := d.state.Fit(d.active())
	require.NoError(t, err)
	assert.Equal(t, "setting", result.Agreement.Source)
	var codes []string
	for _, w := range result.Warnings {
		codes = append(codes, w.Code)
	}
	assert.Contains(t, codes, fit.CodeFeathers)
	assert.NotContains(t, codes, fit.CodeHistory)

	take("8.10", bench.FeathersNone)
	widths, _ := d.active().Counted()
	assert.Len(t, widths, 1, "the bare leg alone")
	result, err = d.state.Fit(d.active())
	require.NoError(t, err)
	assert.Equal(t, "pooled", result.Agreement.Source)

	d.do(bench.SetAside{Reading: 3, Reason: "jaws on the joint"})
	widths, _ = d.active().Counted()
	assert.Len(t, widths, 2, "over feathers again")
	d.do(bench.ChooseSize{Size: "8", Metal: "stainless steel", Closure: "lock-on", Reason: "by the list"})
	require.NotNil(t, d.active().Estimate)
	assert.Equal(t, bench.FeathersOver, d.active().Estimate.Feathers)

	c, err := bench.TypedReading(bench.When{}, "8.10", length.MM)
	require.NoError(t, err)
	c.Feathers = "beside"
	d.refused(c, bench.FeathersUnknown)
	c.Feathers, c.Axis = "", "length"
	d.refused(c, bench.AxisUnknown)
}

// A wall is a found band's, never the leg's.
func TestTheWallOfAFoundBandIsNoLegWidth(t *testing.T) {
	d := newDesk(t)
	d.bird("Larus argentatus")
	c, err := bench.TypedReading(bench.When{}, "1.10", length.MM)
	require.NoError(t, err)
	c.Axis = bench.AxisWall
	d.refused(c, bench.BandMissing)
	d.do(bench.TellFound{Number: "1236-56701", Then: bench.ThenLeft})
	d.do(c)
	widths, _ := d.active().Counted()
	assert.Empty(t, widths)
	assert.Equal(t, bench.AxisWall, d.active().Readings[0].Axis)
}

// Vultures take no metal leg band, avocets theirs above the joint only (US
// Geological Survey, notes of its species list).
func TestSpeciesRulesAreAdvice(t *testing.T) {
	d := newDesk(t)
	d.bird("Cathartes aura")
	d.widths("10.22", "10.20", "10.21")
	d.refused(bench.ChooseSize{Size: "7B", Metal: "stainless steel"}, bench.SizeNeedsReason)
	d.bird("Recurvirostra americana")
	d.widths("4.02", "4.00", "4.01")
	d.refused(bench.ChooseSize{Size: "3B", Metal: "stainless steel"}, bench.SizeNeedsReason)
	told := d.active().Bird
	told.Site = bench.SiteAbove
	d.do(bench.DescribeBird{Bird: told})
	d.do(bench.ChooseSize{Size: "3B", Metal: "stainless steel"})
}

// along takes one typed reading of an axis.
func (d *desk) along(axis bench.Axis, text string) {
	c, err := bench.TypedReading(bench.When{}, text, length.MM)
	require.NoError(d.t, err)
	c.Axis = axis
	d.do(c)
}

// The station warns of no less than the command fit, given the same.
func TestTheWholeLegIsJudged(t *testing.T) {
	d := newDesk(t)
	d.bird("Sterna hirundo")
	d.widths("3.02", "3.01", "3.03")
	plain, err := d.state.Fit(d.active())
	require.NoError(t, err)
	assert.Nil(t, plain.Oval)
	for axis, text := range map[bench.Axis]string{
		bench.AxisCross: "2.84", bench.AxisUpperStop: "4.90", bench.AxisLowerStop: "3.80", bench.AxisTarsus: "82", bench.AxisMarks: "76.5",
	} {
		d.along(axis, text)
	}
	c, err := bench.TypedReading(bench.When{}, "301", length.MM)
	require.NoError(t, err)
	c.Axis = bench.AxisTarsus
	d.refused(c, bench.WidthAbsurd)

	whole, err := d.state.Fit(d.active())
	require.NoError(t, err)
	assert.Equal(t, plain.Leg, whole.Leg, "the greatest width alone decides the leg")
	require.NotNil(t, whole.Oval)
	assert.InDelta(t, 0.06, whole.Oval.Ovality, 0.005)
	two := candidate(t, whole, "2")
	assert.Equal(t, fit.Slips, two.Verdict, "3.96 mm over a foot of 3.80 mm")
	assert.Equal(t, fit.CodeTall, two.Warnings[0].Code, "6.35 + 76.5 mm on 82 mm")
	d.refused(bench.ChooseSize{Size: "2", Metal: "aluminium"}, bench.SizeNeedsReason)

	d.do(bench.SetAside{Reading: 6, Reason: "the toes were spread"})
	d.do(bench.SetAside{Reading: 5, Reason: "the toes were spread"})
	d.do(bench.SetAside{Reading: 4, Reason: "the toes were spread"})
	d.do(bench.SetAside{Reading: 7, Reason: "the toes were spread"})
	d.do(bench.SetAside{Reading: 8, Reason: "the toes were spread"})
	again, err := d.state.Fit(d.active())
	require.NoError(t, err)
	assert.Equal(t, plain, again, "what is set aside does not count")
}

func TestTheChosenMetalAndTheMeasuredBandsCount(t *testing.T) {
	d := newDesk(t)
	setup := *d.state.Setup
	steel, soft := bench.BandKind{Size: "6", Metal: "stainless steel"}, bench.BandKind{Size: "6", Metal: "aluminium"}
	setup.Inner = map[bench.BandKind]fit.Inner{steel: {Value: 9_400_000, U: 0.01}, soft: {Value: 9_500_000, U: 0.01}}
	d.state.Setup = &setup
	d.bird("Larus argentatus")
	d.widths("8.42", "8.45", "8.40")
	result, err := d.state.Fit(d.active())
	require.NoError(t, err)
	assert.InDelta(t, 9.525, candidate(t, result, "6").InnerMM, 1e-9, "two metals were measured: the table's until one is chosen")

	d.do(bench.ChooseSize{Size: "6", Metal: "aluminium", Reason: "no hard metal left"})
	result, err = d.state.Fit(d.active())
	require.NoError(t, err)
	assert.InDelta(t, 9.5, candidate(t, result, "6").InnerMM, 1e-9)
	assert.True(t, slices.ContainsFunc(result.Warnings, func(w fit.Warning) bool { return w.Code == fit.CodeMetal }), "soft metal where hard is advised")
	assert.Equal(t, map[string]fit.Inner{"6": {Value: 9_400_000, U: 0.01}}, setup.InnerOf("stainless steel"))
}

func candidate(t *testing.T, r fit.Result, size string) fit.Candidate {
	t.Helper()
	i := slices.IndexFunc(r.Sizes, func(c fit.Candidate) bool { return c.Size == size })
	require.GreaterOrEqual(t, i, 0, size)
	return r.Sizes[i]
}

func TestTheBenchsOwnWearGoesBeforeAPublishedOneOnceItHasEnoughBands(t *testing.T) {
	d := newDesk(t)
	setup := *d.state.Setup
	setup.Place = fit.Place{ReadablePart: 0.5}
	d.state.Setup = &setup
	rate := func(metal string) string {
		d.bird("Alca torda")
		advice := d.state.MetalAdvice(d.active(), metal)
		if advice.Wear == nil {
			return ""
		}
		return advice.Wear.Source
	}
	assert.Contains(t, rate("incoloy"), "Baltic Razorbill study")
	setup.Wear = []catalogue.Wear{
		{Species: "Alca torda", Metal: "incoloy", PerYear: 0.02, Birds: 4, Source: "bench's own: 4 bands"},
		{Species: "Alca torda", Metal: "monel", PerYear: 0.03, Birds: 1, Source: "bench's own: 1 band"},
	}
	assert.Contains(t, rate("incoloy"), "Baltic Razorbill study", "four are too few against a published rate")
	assert.Equal(t, "bench's own: 1 band", rate("monel"), "where none is published, it is what there is")
	setup.Wear[0].Birds, setup.Wear[0].Source = 5, "bench's own: 5 bands"
	assert.Equal(t, "bench's own: 5 bands", rate("incoloy"))
	assert.Empty(t, rate("titanium"))
}

// A choice stands by the leg as it is measured, not as it was.
func TestAChoiceIsWeighedAgainWhenTheLegIsMeasuredAgain(t *testing.T) {
	d := newDesk(t)
	d.gull("1236-56701")
	first := *d.active().Choice
	require.Equal(t, "fits", first.Verdict)
	for i := range d.active().Readings {
		d.do(bench.SetAside{Reading: i + 1, Reason: "the jaws were on the joint"})
	}
	for range 3 {
		d.do(bench.TakeReading{Means: bench.MeansCaliper, Raw: []byte("9.40"), Value: 9_400_000, Unit: length.MM, Resolution: 10_000})
	}
	again := *d.active().Choice
	assert.Equal(t, first.Size, again.Size)
	assert.Equal(t, "tight", again.Verdict)
	assert.True(t, again.WantsReason())
	assert.True(t, has(codes(d.try(bench.Complete{})), bench.SizeNeedsReason))
	d.do(bench.ChooseSize{Size: first.Size, Metal: first.Metal, Reason: "swollen joint, seen by two"})
	assert.False(t, d.active().Choice.WantsReason())
	assert.False(t, has(codes(d.try(bench.Complete{})), bench.SizeNeedsReason))
	told := len(d.facts)
	d.do(bench.TakeReading{Means: bench.MeansCaliper, Raw: []byte("9.41"), Value: 9_410_000, Unit: length.MM, Resolution: 10_000})
	assert.Equal(t, "swollen joint, seen by two", d.active().Choice.Reason, "the same verdict keeps its reason")
	assert.Len(t, d.facts, told+2, "the reading and its estimate")
}

// Loose is advice only of a size that an office lists for the species.
func TestALooseSizeOffTheListAsksForAReason(t *testing.T) {
	d := newDesk(t)
	d.do(bench.OpenBird{ID: "merlin", Bird: bench.Bird{Species: "Falco columbarius", Age: "adult", Sex: "female", Leg: bench.LegRight}})
	for range 3 {
		d.do(bench.TakeReading{Means: bench.MeansCaliper, Raw: []byte("4.51"), Value: 4_510_000, Unit: length.MM, Resolution: 10_000})
	}
	refused := d.try(bench.ChooseSize{Size: "9", Metal: "stainless steel"})
	require.True(t, has(codes(refused), bench.SizeNeedsReason))
	assert.Contains(t, refused[0].Mend, "it is loose")
}

// What a species forbids holds for the species that stands, though the band was
// chosen while it was told as another.
func TestABandThatTheTrueSpeciesForbidsIsNotComplete(t *testing.T) {
	d := newDesk(t)
	d.gull("1236-56701")
	d.do(bench.Look{})
	d.do(bench.Confirm{All: true, ReadBack: "701"})
	d.do(bench.TellFate{Fate: bench.FateBanded})
	d.do(bench.DescribeBird{Bird: bench.Bird{Species: "Cathartes aura", Age: "adult", Leg: bench.LegRight}})
	refused := d.try(bench.Complete{})
	require.True(t, has(codes(refused), bench.SizeNeedsReason))
	assert.Contains(t, refused[0].Mend, "no metal leg band is for Cathartes aura")
	d.do(bench.ChooseSize{Size: "6", Metal: "stainless steel", Reason: "banded as a gull, and flown"})
	assert.Empty(t, d.try(bench.Complete{}))
}

// A sex that can't be told is recorded as such, and gets the sizes of both: it is
// another thing than one that nobody has told yet.
func TestWhatCantBeToldIsRecordedAndLookedUpAsUnknown(t *testing.T) {
	d := newDesk(t)
	for _, sex := range []string{"not known", " Unknown "} {
		d.do(bench.OpenBird{ID: "merlin" + sex, Bird: bench.Bird{Species: "Falco columbarius", Age: "adult", Sex: sex, Leg: bench.LegRight}})
		assert.Equal(t, bench.NotKnown, d.active().Bird.Sex)
		d.widths("4.51")
		result, err := d.state.Fit(d.active())
		require.NoError(t, err)
		assert.Len(t, recommended(result), 2, "females and males have a size each")
		assert.Empty(t, d.active().Like().Sex)
	}
	d.do(bench.DescribeBird{Bird: bench.Bird{Species: "Falco columbarius", Leg: bench.LegRight}})
	assert.Empty(t, d.active().Bird.Sex, "nobody has told it")
}

func recommended(r fit.Result) (labels []string) {
	for _, c := range r.Sizes {
		if c.Recommended {
			labels = append(labels, c.Size)
		}
	}
	return labels
}
