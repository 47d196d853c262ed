package replay

import (
	"context"

	"seamfit/internal/bands"
	"seamfit/internal/bench"
	"seamfit/internal/catalogue"
	"seamfit/internal/fit"
)

// Outcome is what the lines came to, as the records have it.
type Outcome struct {
	Handlings []Handling `json:"handlings"`
	Refused   []Refusal  `json:"refused"`
}

// Handling is one handling as a tool reads it.
type Handling struct {
	Species   string    `json:"species"`
	Leg       *fit.Leg  `json:"leg"` // null: not measured
	Size      string    `json:"size"`
	Metal     string    `json:"metal"`
	Number    string    `json:"number"` // of the band on the leg, or taken for it
	Bands     []Band    `json:"bands"`
	Closings  []Closing `json:"closings"`
	Confirmed bool      `json:"confirmed"`
	// Supervised is who looked after a trainee; empty: nobody.
	Supervised string    `json:"supervised"`
	Measures   []Measure `json:"measures"`
	Nest       string    `json:"nest"`
	Fate       string    `json:"fate"`
	Complete   bool      `json:"complete"`
	Disputed   bool      `json:"disputed"`
}

// Band is a band of a handling and where it is.
type Band struct {
	Number string      `json:"number"`
	State  bands.State `json:"state"`
}

// Measure is a further measure as it stands.
type Measure struct {
	Name  string `json:"name"`
	Value string `json:"value"`
	Unit  string `json:"unit"`
}

// Closing is a closing and what its look found; nothing means flush.
type Closing struct {
	Findings []string `json:"findings"`
}

// Outcome reads back from the records what became of every bird that the
// lines brought.
func (b *Bench) Outcome(ctx context.Context) (Outcome, error) {
	out := Outcome{Handlings: []Handling{}, Refused: b.Refusals()}
	for _, id := range b.opened {
		h, err := b.records.Load(ctx, id)
		if err != nil {
			return out, err
		}
		out.Handlings = append(out.Handlings, b.told(h))
	}
	return out, nil
}

func (b *Bench) told(h bench.Handling) Handling {
	out := told(h, b.state.Setup.Book)
	if result, err := b.state.Fit(h); err == nil {
		out.Leg = &result.Leg
	}
	return out
}

func told(h bench.Handling, book *catalogue.Book) Handling {
	out := Handling{
		Species: h.Bird.Species, Bands: []Band{}, Closings: []Closing{},
		Supervised: h.Confirmation.Supervised, Measures: []Measure{}, Nest: h.Nest(),
		Confirmed: h.Confirmed(book), Complete: h.Done(), Disputed: h.Disputed(),
	}
	if h.Choice != nil {
		out.Size, out.Metal = h.Choice.Size, h.Choice.Metal
	}
	if h.Fate != nil {
		out.Fate = string(h.Fate.Fate)
	}
	for _, band := range h.Bands {
		out.Bands = append(out.Bands, Band{Number: band.Number, State: h.StateOf(band)})
	}
	if band, ok := h.CurrentBand(); ok {
		out.Number = band.Number
	} else if band, ok := h.FoundOnLeg(); ok {
		out.Number = band.Number
	}
	for _, m := range h.Measures {
		out.Measures = append(out.Measures, Measure{Name: m.Name, Value: m.Value, Unit: m.Unit})
	}
	for _, c := range h.Closings {
		out.Closings = append(out.Closings, Closing{Findings: append([]string{}, c.Findings...)})
	}
	return out
}
