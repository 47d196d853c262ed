package drill

import (
	"seamfit/internal/bench"
	"seamfit/internal/catalogue"
	"seamfit/internal/length"
)

// Script is a training run.
type Script struct {
	sitting bench.Shift
	birds   []Bird
}

// Bird is one bird of a training run: what the newcomer would see of it.
type Bird struct {
	Story  string // what is known before it is in the hand
	Search string // letters that find the species
	Name   string
	AgeKey string
	SexKey string
	Width  length.Length // of the leg
	Size   string        // that fits it best
	Metal  string
	// Choice says what to make of the sizes, once the leg is measured.
	Choice string
	Bands  []Band // in the order in which they are taken
}

// Band is one band of a training run.
type Band struct {
	Number string
	Looks  []Sight // one a closing; the last holds for all later ones
	Off    string  // why it has to come off after its last look; empty: it stays
}

// Sight is what a look sees.
type Sight struct {
	Words    string
	Findings []string // empty: flush
}

// Shift returns the training shift.
func (s *Script) Shift() bench.Shift { return s.sitting }

// Birds returns how many birds the run has.
func (s *Script) Birds() int { return len(s.birds) }

// Leg returns the leg width of a bird, counted from 1. After the last one the
// run begins again.
func (s *Script) Leg(bird int) length.Length { return s.bird(bird).Width }

func (s *Script) bird(n int) Bird {
	return s.birds[(max(n, 1)-1)%len(s.birds)]
}

// ThreeBirds returns the training run for newcomers: an easy bird; one whose
// leg is so near a size's limit that the next size is the right one; and one
// whose first band overlaps and has to come off.
func ThreeBirds() *Script {
	return &Script{
		sitting: bench.Shift{Place: "Hollow Skerry", Bander: "Mira Tolland", Permit: "TRAINING-1", Catalogue: "us-federal", Training: true},
		birds:   []Bird{easy(), borderline(), overlapping()},
	}
}

func flush() Sight {
	return Sight{Words: "The edges meet all round, level on both rims. The band turns and slides, and nothing is caught. This look is flush."}
}

func easy() Bird {
	return Bird{
		Story: "A common tern, adult, from the first net. It is calm.", Search: "common tern", Name: "Common Tern",
		AgeKey: "a", SexKey: "u", Width: 3_020 * length.Micrometre, Size: "2", Metal: "aluminium",
		Choice: "Size 2 is on the office's list, and play says it fits: take it with 1, then a for aluminium.",
		Bands:  []Band{{Number: "1232-40001", Looks: []Sight{flush()}}},
	}
}

func borderline() Bird {
	return Bird{
		Story: "A piping plover, adult female, trapped at the nest: be quick.", Search: "piping", Name: "Piping Plover",
		AgeKey: "a", SexKey: "f", Width: 2_590 * length.Micrometre, Size: "1A", Metal: "aluminium",
		Choice: "Look at the ruler: the leg stands at the tight end of size 1B. The list has 1A too, and it leaves the leg room: take 1A.",
		Bands: []Band{{
			Number: "1231-77051",
			Looks: []Sight{
				{Words: "The edges stand apart by a hair, all along. That is a gap.", Findings: []string{catalogue.Gap}},
				flush(),
			},
		}},
	}
}

func overlapping() Bird {
	return Bird{
		Story: "A herring gull, adult, strong in the hand.", Search: "herring", Name: "Herring Gull",
		AgeKey: "a", SexKey: "u", Width: 7_220 * length.Micrometre, Size: "6", Metal: "stainless steel",
		Choice: "Size 6 fits: 1. Hard metal is advised for a gull, so Enter takes stainless steel; the butt-end closure goes without saying.",
		Bands: []Band{
			{
				Number: "1236-56701",
				Looks:  []Sight{{Words: "One edge rides on the other. That is an overlap.", Findings: []string{catalogue.Overlap}}},
				Off:    "overlap, spreaders do not go in",
			},
			{Number: "1236-56702", Looks: []Sight{flush()}},
		},
	}
}
