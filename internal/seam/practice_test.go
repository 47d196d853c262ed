package seam_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/catalogue"
	"seamfit/internal/length"
	"seamfit/internal/metrology"
	"seamfit/internal/seam"
)

func practised(by, size string, look ...string) seam.PracticeClosing {
	return seam.PracticeClosing{
		ID: "p", At: time.Date(2031, 3, 2, 10, 0, 0, 0, time.UTC), By: by, Size: size, Metal: "aluminium", Closure: "butt-end",
		Dowel: seam.Dowel{Shape: seam.Round, Width: 3 * length.Millimetre}, Band: seam.Unnumbered, Look: look, Took: 20 * time.Second,
	}
}

func target(t *testing.T) seam.Target {
	t.Helper()
	target, err := seam.NewTarget(seam.DefaultScheme())
	require.NoError(t, err)
	return target
}

func TestPracticeIsCountedByBanderAndBand(t *testing.T) {
	var all []seam.PracticeClosing
	for i := range 12 {
		all = append(all, practised("Mira Tolland", "2"))
		if i < 4 {
			all = append(all, practised("Jon Arve", "2", catalogue.Gap))
		}
	}
	all[0].Took, all[2].Took = 60*time.Second, 0
	blind := practised("Jon Arve", "1B")
	blind.Trainer, blind.Blind, blind.BlindLook = "Mira Tolland", seam.BlindDefect, []string{catalogue.Spiral}
	all = append(all, blind)

	target := target(t)
	records, err := target.Records(all, seam.BySizeAndMetal, all[0].At)
	require.NoError(t, err)
	require.Len(t, records, 3)
	mira, jon, other := records[0], records[1], records[2]

	assert.Equal(t, seam.Group{By: "Mira Tolland", Bands: "2 aluminium"}, mira.Group)
	assert.Equal(t, seam.TargetMet, mira.Readiness)
	assert.Equal(t, 20*time.Second, mira.Median, "the closing without a time does not count as fast")
	wilson, err := metrology.Wilson(12, 12, 0.95) // held against Newcombe 1998 where it is made
	require.NoError(t, err)
	assert.Equal(t, wilson, mira.Flush)

	assert.Equal(t, seam.KeepPractising, jon.Readiness)
	assert.Equal(t, map[string]int{catalogue.Gap: 4}, jon.Defects)
	assert.Zero(t, jon.Judged)

	assert.Equal(t, "1B aluminium", other.Bands)
	assert.Equal(t, []bool{false}, other.Outcomes, "the trainer's blind look counts, not the trainee's own")
	assert.Equal(t, map[string]int{catalogue.Spiral: 1}, other.Defects)
	assert.Equal(t, 1, other.Missed)
}

func TestWhatTheCaliperFoundAndTheEyeDidNotIsMissed(t *testing.T) {
	p := practised("Mira Tolland", "2", catalogue.Burr)
	p.Measured = &seam.MeasuredBand{Verdict: seam.Gap, Findings: []string{catalogue.Gap}}
	assert.Equal(t, []string{catalogue.Gap}, p.Missed())
	assert.False(t, p.Attempt().Success(), "a defect that the eye saw stands")
	p.Look = []string{catalogue.Gap}
	assert.Empty(t, p.Missed())
}

func TestPracticeThatCanNotBeKeptIsRefused(t *testing.T) {
	require.NoError(t, practised("Mira Tolland", "2").Check())
	for says, spoil := range map[string]func(*seam.PracticeClosing){
		"without its bander":        func(p *seam.PracticeClosing) { p.By = " " },
		"without its band":          func(p *seam.PracticeClosing) { p.Metal = "" },
		"never a certified rod":     func(p *seam.PracticeClosing) { p.Dowel.Shape = "rod" },
		"check the unit":            func(p *seam.PracticeClosing) { p.Dowel.Width = 2000 * length.Millimetre },
		"use unnumbered, rejected":  func(p *seam.PracticeClosing) { p.Band = "new" },
		"give the number of a":      func(p *seam.PracticeClosing) { p.Band = seam.Numbered },
		"and of no other":           func(p *seam.PracticeClosing) { p.Number = "1232-40001" },
		"0 or a positive time":      func(p *seam.PracticeClosing) { p.Took = -time.Second },
		"which other person looked": func(p *seam.PracticeClosing) { p.Blind, p.Trainer = seam.BlindFlush, p.By },
		"say what the blind look":   func(p *seam.PracticeClosing) { p.Blind, p.Trainer = seam.BlindDefect, "Jon Arve" },
	} {
		p := practised("Mira Tolland", "2")
		spoil(&p)
		var input *seam.InputError
		require.ErrorAs(t, p.Check(), &input, says)
		assert.Contains(t, input.Error(), says)
	}
}

func TestCurveShowsTheWayToTheTarget(t *testing.T) {
	var all []seam.PracticeClosing
	for _, flush := range []bool{false, true, true, false, true, true, true, true, true, true, true, true, true, true} {
		if flush {
			all = append(all, practised("Mira Tolland", "2"))
		} else {
			all = append(all, practised("Mira Tolland", "2", catalogue.Gap))
		}
	}
	records, err := target(t).Records(all, seam.BySizeAndMetal, all[0].At)
	require.NoError(t, err)
	// By hand: a flush closing adds ln(0.9/0.5) = 0.588, another takes
	// ln(0.5/0.1) = 1.609; a row is h/5.
	assert.Equal(t, ` h 5.32 │-------------●
        │           ●●
        │         ●●
        │       ●●
        │  ●  ●●
   0.00 │●● ●●
   look │x■■x■■■■■■■■■■
         closings 1 to 14; ■ flush, x not; the target is met where ● touches h
`, seam.Curve(records[0], 80))
	assert.Empty(t, seam.Curve(seam.Record{}, 80))
	assert.Contains(t, seam.Curve(records[0], 19), "closings 5 to 14", "the last ones, where there is no room for all")
}
