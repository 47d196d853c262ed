package main

import (
	"context"
	"fmt"
	"strings"
	"time"

	"seamfit/internal/bench"
	"seamfit/internal/seam"
	"seamfit/internal/store"
)

// practised puts into the setup who has met the bench target for which bands,
// and which bands are planned.
func (f *benchFiles) practised(ctx context.Context, records *store.Store, now time.Time) error {
	p := f.settings.Practice
	planned := bench.Practice{Required: p.Required}
	for _, text := range p.Planned {
		kind, err := f.plannedKind(text)
		if err != nil {
			return err
		}
		planned.Planned = append(planned.Planned, kind)
	}
	closings, err := records.Practice(ctx, "")
	if err != nil {
		return err
	}
	target, err := seam.NewTarget(scheme(p))
	if err != nil {
		return err
	}
	for _, kind := range kindsOf(closings) {
		stands, err := target.Records(kind.closings, seam.BySizeAndMetal, now)
		if err != nil {
			return err
		}
		for _, r := range stands {
			if r.Readiness == seam.TargetMet {
				planned.Met = append(planned.Met, bench.Practised{Bander: r.By, Size: kind.Size, Metal: kind.Metal})
			}
		}
	}
	f.setup.Practice = planned
	return nil
}

// practisedKind is the closings with one kind of band.
type practisedKind struct {
	bench.BandKind
	closings []seam.PracticeClosing
}

func kindsOf(closings []seam.PracticeClosing) []practisedKind {
	var kinds []practisedKind
	at := map[bench.BandKind]int{}
	for _, c := range closings {
		k := bench.BandKind{Size: c.Size, Metal: c.Metal}
		i, known := at[k]
		if !known {
			i = len(kinds)
			at[k], kinds = i, append(kinds, practisedKind{BandKind: k})
		}
		kinds[i].closings = append(kinds[i].closings, c)
	}
	return kinds
}

// plannedKind reads a size and a metal. Labels of sizes may hold blanks.
func (f *benchFiles) plannedKind(text string) (bench.BandKind, error) {
	words := strings.Fields(text)
	for n := len(words) - 1; n > 0; n-- {
		band, err := f.practisedBand(strings.Join(words[:n], " "), strings.Join(words[n:], " "), "")
		if err == nil {
			return bench.BandKind{Size: band.size.Label, Metal: band.metal}, nil
		}
	}
	return bench.BandKind{}, fmt.Errorf("practice.planned in the settings: %q is no size and metal of the catalogue; write it like \"6 stainless steel\"", text)
}
