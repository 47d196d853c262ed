package station

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"seamfit/internal/catalogue"
	"seamfit/internal/grid"
	"seamfit/internal/seam"
)

// The drawings as a person sees them. A band that is closed flush shows one
// line; a gap is empty; an edge that rides is dark and lifts the metal; edges
// out of line stand a row apart; a taper opens at one rim; a band out of round
// is flat.
func TestDrawings(t *testing.T) {
	for id, want := range map[string]string{
		"": `
░░░░░░░░░░│░░░░░░░░░░       ▼
░░░░░░░░░░│░░░░░░░░░░    ┌──┬──┐
░░░░░░░░░░│░░░░░░░░░░    │     │
                         │     │
                         └─────┘
══════════╪══════════
        ▲   ▲         1.0 mm mid`,
		catalogue.Gap: `
░░░░░░░░│   │░░░░░░░░       ▼
░░░░░░░░│   │░░░░░░░░    ┌──┬──┐
░░░░░░░░│   │░░░░░░░░    │     │
                         │     │
                         └─────┘
═════════   ═════════
        ▲   ▲         1.0 mm mid`,
		catalogue.Overlap: `
░░░░░░░░│▓▓▓▓░░░░░░░░       ▼
░░░░░░░░│▓▓▓▓░░░░░░░░    ┌──┬──┐
░░░░░░░░│▓▓▓▓░░░░░░░░    │     │
                         │     │
        ═════════════    └─────┘
═════════════
        ▲   ▲         1.0 mm mid`,
		catalogue.Spiral: `
░░░░░░░░░░│                 ▼
░░░░░░░░░░│░░░░░░░░░░    ┌──┬──┐
░░░░░░░░░░│░░░░░░░░░░    │     │
          │░░░░░░░░░░    │     │
                         └─────┘
══════════╪══════════
        ▲   ▲         1.0 mm mid`,
		catalogue.Taper: `
░░░░░░░░│   │░░░░░░░░       ▼
░░░░░░░░░│ │░░░░░░░░░    ┌──┬──┐
░░░░░░░░░░│░░░░░░░░░░    │     │
                         │     │
                         └─────┘
══════════ ══════════
        ▲   ▲         1.0 mm mid`,
		catalogue.OutOfRound: `
░░░░░░░░░░│░░░░░░░░░░       ▼
░░░░░░░░░░│░░░░░░░░░░  ┌────┬────┐
░░░░░░░░░░│░░░░░░░░░░  │         │
                       └─────────┘

══════════╪══════════
        ▲   ▲         1.0 mm mid`,
		catalogue.Burr: `
░░░░░░░░░░│░░░░░░░░░░       ▼
░░░░░░░░░░│░░░░░░░░░░    ┌──┬──┐
░░░░░░░░░░│░░░░░░░░░░    │     │
                         │     │
         ^               └─────┘
══════════╪══════════
        ▲   ▲         1.0 mm mid`,
		catalogue.Caught: `
░░░░░░░░░░│░░░░░░░░░░       ▼
░░░░░░░~~~│~~~░░░░░░░    ┌──┬──┐
░░░░░░░░░░│░░░░░░░░░░    │     │
                         │     │
                         └─────┘
══════════╪══════════
        ▲   ▲         1.0 mm mid`,
	} {
		s, _ := exemplar(id)
		got := ""
		for _, row := range drawing(s, &seam.Pliers{EdgeMM: 1}) {
			got += "\n" + strings.TrimRight(row, " ")
		}
		assert.Equal(t, want, got, id)
	}
	far := drawing(seam.Sight{}, &seam.Pliers{Turn: -1, EdgeMM: 3})
	assert.Contains(t, far[0], "▼")
	assert.Equal(t, "    ▲           ▲     3.0 mm left", strings.TrimRight(far[drawingRows-1], " "))
}

func drawn(id string) string {
	s, _ := exemplar(id)
	return strings.Join(drawing(s, nil), "\n")
}

// Each finding of a seam is drawn, and no two drawings are the same.
func TestFindingsAreToldApartByShape(t *testing.T) {
	book, err := catalogue.Embedded()
	require.NoError(t, err)
	seen := map[string]string{drawn(""): "flush"}
	for _, f := range book.Findings {
		if f.ID == catalogue.Marred {
			continue // of the number, not of the seam
		}
		s, ok := exemplar(f.ID)
		require.True(t, ok, f.ID)
		assert.Equal(t, []string{f.ID}, s.Findings(), "the exemplar is that and nothing else")
		assert.Emptyf(t, seen[drawn(f.ID)], "%s is drawn like another", f.ID)
		seen[drawn(f.ID)] = f.ID
	}
	_, ok := exemplar(catalogue.Marred)
	assert.False(t, ok)
}

// What is drawn is what an eye sees: the drawing differs from the flush one
// exactly when the look finds something, whatever the seam is like, and always
// fills its place.
func TestDrawingShowsWhatALookFinds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		mm := rapid.OneOf(rapid.Float64Range(-0.4, 0.4), rapid.Float64Range(-9, 9))
		s := seam.Sight{
			GapMM: mm.Draw(t, "gap"), OffsetMM: mm.Draw(t, "offset"), TaperMM: mm.Draw(t, "taper"), RoundMM: mm.Draw(t, "round"),
			Burr: rapid.Bool().Draw(t, "burr"), Caught: rapid.Bool().Draw(t, "caught"),
		}
		if s.GapMM < -seam.SeenOverlapMM {
			s.TaperMM = 0 // an edge that rides hides how the rims differ
		}
		rows := drawing(s, &seam.Pliers{Turn: rapid.IntRange(-5, 5).Draw(t, "turn"), EdgeMM: mm.Draw(t, "edge")})
		require.Len(t, rows, drawingRows)
		for _, row := range rows {
			require.Equal(t, drawingColumns, grid.Width(row))
		}
		flush := strings.Join(drawing(seam.Sight{}, nil), "\n")
		require.Equal(t, len(s.Findings()) == 0, strings.Join(drawing(s, nil), "\n") == flush, "%+v finds %v", s, s.Findings())
	})
}
