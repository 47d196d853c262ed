package report_test

import (
	"fmt"
	"io"
	"path/filepath"
	"testing"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"

	"seamfit/internal/bands"
	"seamfit/internal/bench"
	"seamfit/internal/catalogue"
	"seamfit/internal/fit"
	"seamfit/internal/length"
	"seamfit/internal/report"
	"seamfit/internal/store"
)

// season is a bench's file with many birds in it.
type season struct {
	b     *testing.B
	store *store.Store
	state bench.State
	when  bench.When
	facts []bench.Fact
	birds int
}

func newSeason(b *testing.B) *season {
	b.Helper()
	book, err := catalogue.Embedded()
	require.NoError(b, err)
	patterns, err := bands.Embedded()
	require.NoError(b, err)
	pattern, ok := patterns.Named("federal")
	require.True(b, ok)
	s, err := store.Open(b.Context(), filepath.Join(b.TempDir(), "bench.db"), store.Options{Closures: book.Closures})
	require.NoError(b, err)
	b.Cleanup(func() { require.NoError(b, s.Close()) })
	d := &season{b: b, store: s, state: bench.State{Setup: &bench.Setup{
		Book: book, Catalogue: "us-federal", Model: fit.DefaultModel(), Pattern: pattern, Readings: 3, AbsurdOver: 60 * length.Millimetre,
	}}}
	d.when.At = began()
	return d
}

func newID() string { return uuid.Must(uuid.NewV7()).String() }

func (d *season) do(c bench.Command) {
	next, facts, blockers := bench.Apply(d.state, c)
	if len(blockers) > 0 {
		d.b.Fatalf("%T: %v", c, blockers)
	}
	d.state, d.facts = next, append(d.facts, facts...)
}

// shift adds a shift of n birds, each banded and complete, and returns its id.
func (d *season) shift(n int) (id string) {
	id = newID()
	d.do(bench.OpenShift{When: d.when, Shift: bench.Shift{ID: id, Started: d.when.At, Place: "Skerry of Ness", Bander: "A. Holm", Permit: "P-17"}})
	species := []string{"Larus argentatus", "Sterna hirundo", "Fratercula arctica", "Uria aalge"}
	for i := range n {
		d.birds++
		d.do(bench.OpenBird{When: d.when, ID: newID(), Bird: bench.Bird{Species: species[i%len(species)], Age: "adult", Leg: bench.LegRight}})
		for k := range 3 {
			width, err := bench.TypedReading(d.when, fmt.Sprintf("8.%02d", 10+(i*7+k*3)%80), length.MM)
			require.NoError(d.b, err)
			d.do(width)
		}
		number := fmt.Sprintf("%d6-%05d", 100+d.birds/90_000, 1+d.birds%90_000)
		d.do(bench.ChooseSize{When: d.when, Size: "7A", Metal: "aluminium", Reason: "none other here"})
		d.do(bench.GiveNumber{When: d.when, Number: number})
		d.do(bench.Look{When: d.when})
		d.do(bench.Confirm{When: d.when, All: true, ReadBack: number[len(number)-3:]})
		d.do(bench.TellFate{When: d.when, Fate: bench.FateBanded})
		d.do(bench.Complete{When: d.when})
		if len(d.facts) > 2000 || i == n-1 {
			require.NoError(d.b, d.store.Save(d.b.Context(), d.facts))
			d.facts = d.facts[:0]
		}
	}
	return id
}

// A sheet of a shift of 2,000 birds, and one of a shift of 2,000 birds among
// 100,000 in the same file.
func BenchmarkDaySheetOf2000Birds(b *testing.B) {
	for name, others := range map[string]int{"alone": 0, "among 100,000": 98_000} {
		b.Run(name, func(b *testing.B) {
			d := newSeason(b)
			for done := 0; done < others; done += 2000 {
				d.shift(2000)
			}
			id := d.shift(2000)
			about := report.Day{
				Title: "a shift", Made: d.when.At, Version: "1.2.3", Book: d.state.Setup.Book, Catalogue: "us-federal", Shifts: []bench.Shift{*d.state.Shift},
			}
			for b.Loop() {
				require.NoError(b, d.store.View(b.Context(), func(v *store.View) error {
					return report.WriteDay(b.Context(), io.Discard, v.Only(bench.Selection{Shift: id}), about)
				}))
			}
		})
	}
}
