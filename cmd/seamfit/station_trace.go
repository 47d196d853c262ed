package main

import (
	"context"
	"slices"

	"seamfit/internal/bands"
	"seamfit/internal/bench"
	"seamfit/internal/store"
	"seamfit/station"
)

// mostTracks is how many numbers are told at the station that an inscription
// could be.
const mostTracks = 8

// tracer looks an inscription up for the station: those on a bird first, since
// that is where it was found.
func tracer(pattern *bands.Pattern, records *store.Store) func(context.Context, string) (station.Tracks, error) {
	return func(ctx context.Context, inscription string) (t station.Tracks, err error) {
		read, err := pattern.Read(inscription)
		if err != nil {
			return t, err
		}
		histories, err := numbersRead(ctx, records, read)
		if err != nil {
			return t, err
		}
		onBird := func(h store.NumberHistory) int {
			if h.State == bands.OnBird {
				return 0
			}
			return 1
		}
		slices.SortStableFunc(histories, func(a, b store.NumberHistory) int { return onBird(a) - onBird(b) })
		t.More = max(len(histories)-mostTracks, 0)
		for _, h := range histories[:len(histories)-t.More] {
			track := station.Track{Number: h.Number}
			for _, e := range h.Entries {
				track.Words = append(track.Words, e.At.Format("2006-01-02")+" "+entryWords(e))
				if e.Species != "" {
					track.Species, track.Leg = e.Species, bench.Leg(e.Leg)
				}
			}
			t.Found = append(t.Found, track)
		}
		return t, nil
	}
}
