package store

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"seamfit/internal/bands"
	"seamfit/internal/bench"
	"seamfit/internal/catalogue"
	"seamfit/internal/length"
	"seamfit/internal/seam"
)

func somePractice(at time.Time) seam.PracticeClosing {
	return seam.PracticeClosing{
		ID: newID(), At: at, By: "M. Tolland", Trainer: "A. Holm", Size: "6", Metal: "stainless steel", Closure: "butt-end",
		Dowel: seam.Dowel{Shape: seam.Oval, Width: 7 * length.Millimetre}, Band: seam.Unnumbered, Tool: "hole 6, edge 1 mm",
		Look: []string{catalogue.Gap}, Blind: seam.BlindDefect, BlindLook: []string{catalogue.Gap, catalogue.Spiral},
		Measured: &seam.MeasuredBand{
			Widths: []length.Length{12_210_000, 12_200_000, 12_190_000}, Thickness: 1_295_000, Outer: 12_100_000,
			Basis: seam.Measured, Verdict: seam.Gap, GapMM: 0.31, GapUMM: 0.05, Findings: []string{catalogue.Gap},
		},
		Took: 21 * time.Second,
	}
}

func TestPracticeIsKeptAsItWas(t *testing.T) {
	w := newWorked(t)
	first, second, third := somePractice(w.now), somePractice(w.now), somePractice(w.now)
	second.By, second.Trainer, second.Look, second.Blind, second.BlindLook, second.Measured, second.Took = "B. Reyne", "", nil, seam.NoBlindLook, nil, nil, 0
	third.Look, third.Blind, third.BlindLook = nil, seam.BlindFlush, nil
	all := []seam.PracticeClosing{first, second, third}
	require.NoError(t, w.store.SavePractice(t.Context(), all))
	got, err := w.store.Practice(t.Context(), "")
	require.NoError(t, err)
	assert.Equal(t, all, got)
	got, err = w.store.Practice(t.Context(), "B. Reyne")
	require.NoError(t, err)
	assert.Equal(t, all[1:2], got)
}

func TestNumberedBandPractisedWithIsDestroyed(t *testing.T) {
	w := newWorked(t)
	w.receive("1236-60001", 10)
	numbered := somePractice(w.now)
	numbered.Band, numbered.Number = seam.Numbered, "1236-60003"
	require.NoError(t, w.store.SavePractice(t.Context(), []seam.PracticeClosing{numbered}))
	assert.Equal(t, bands.Destroyed, w.standing("1236-60003").State)

	numbered.ID = newID()
	require.Error(t, w.store.SavePractice(t.Context(), []seam.PracticeClosing{numbered}), "no band is destroyed twice")
	elsewhere := somePractice(w.now)
	elsewhere.Band, elsewhere.Number = seam.Numbered, "1236-99901"
	require.NoError(t, w.store.SavePractice(t.Context(), []seam.PracticeClosing{elsewhere}), "the stock need not know it")
}

func TestPracticeTakesNoBandOffABird(t *testing.T) {
	w := newWorked(t)
	w.gull("1236-56702")
	good, bad := somePractice(w.now), somePractice(w.now)
	bad.Band, bad.Number = seam.Numbered, "1236-56702"
	require.ErrorIs(t, w.store.SavePractice(t.Context(), []seam.PracticeClosing{good, bad}), bench.ErrRefused)
	kept, err := w.store.Practice(t.Context(), "")
	require.NoError(t, err)
	assert.Empty(t, kept, "all or none")

	bad.Number = ""
	var input *seam.InputError
	require.ErrorAs(t, w.store.SavePractice(t.Context(), []seam.PracticeClosing{bad}), &input)
}
