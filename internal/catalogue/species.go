package catalogue

import (
	"strings"

	"seamfit/internal/length"
)

// Recommendation is one size that an office recommends for a species.
type Recommendation struct {
	Size      string `toml:"size"`
	Catalogue string `toml:"catalogue"`     // the table that the label belongs to
	Sex       string `toml:"sex,omitempty"` // "male", "female"; "" = any
	Age       string `toml:"age,omitempty"` // "" = any
}

// Species is what is known of one kind of bird before it is measured. Source
// and Mark speak of the recommended sizes; rules about closures and metals
// name their own source in Note.
type Species struct {
	Scientific     string
	English        string
	Synonyms       []string // other names it is found under
	EURING         string   // EURING species code; "" = not verified
	Sizes          []Recommendation
	Closures       []string // allowed closure kinds; empty = any
	HardMetal      bool     // hard metal is advised
	MetalReasons   []string // why: "salt water", "long-lived", "bites its band", "abrasive ground"
	AboveJointOnly bool     // band above the intertarsal joint only
	NoMetalBand    bool     // no metal band on the leg at all
	MinWidth       length.Length
	MaxWidth       length.Length // known range of leg width; 0 = unknown
	Note           string
	// LongevityYears is how long the species is known to live, 0 where no source
	// was named.
	LongevityYears  float64
	LongevitySource string
	Source          string
	Mark            Mark
}

// Verified reports whether the recommended sizes are an office's, from a
// source that was read or from the user's own file, and not a memory.
func (s *Species) Verified() bool {
	return len(s.Sizes) > 0 && (s.Mark == FromSource || s.Mark == FromUser)
}

// SizesFor returns the recommended sizes of one table that hold for a bird of
// this sex and age, in the office's order. Recommendations for a sex or age
// that differs are left out; when sex or age is "" (unknown), those for every
// sex or age stay in.
func (s *Species) SizesFor(catalogue, sex, age string) []Recommendation {
	var fit []Recommendation
	for _, r := range s.Sizes {
		if r.Catalogue == catalogue && agrees(r.Sex, sex) && agrees(r.Age, age) {
			fit = append(fit, r)
		}
	}
	return fit
}

func agrees(rule, bird string) bool {
	return rule == "" || bird == "" || strings.EqualFold(rule, bird)
}

// ClosureAllowed reports whether bands of this closure kind may go on this
// species.
func (s *Species) ClosureAllowed(id string) bool {
	if len(s.Closures) == 0 {
		return true
	}
	for _, allowed := range s.Closures {
		if allowed == id {
			return true
		}
	}
	return false
}

func (s *Species) names() []string {
	return append([]string{s.Scientific, s.English}, s.Synonyms...)
}
