package catalogue

import "strings"

// The ids of the findings of a look, as the embedded data has them.
const (
	Gap        = "gap"
	Overlap    = "overlap"
	Spiral     = "spiral"
	Taper      = "taper"
	OutOfRound = "out_of_round"
	Burr       = "burr"
	Caught     = "caught"
	Marred     = "marred"
)

// Finding is something wrong that a look at a closed band can find.
type Finding struct {
	ID         string `toml:"id"`
	Name       string `toml:"name"`
	Correction string `toml:"correction"` // a hint, never an instruction of an office
	Source     string `toml:"source"`
	Mark       Mark   `toml:"mark"`
}

// Statement is one thing that the bander affirms about the last closing.
type Statement struct {
	ID   string `toml:"id"`
	Text string `toml:"text"`
}

// Closure is a way in which bands are closed. It declares which findings a
// look can report for it and which statements confirm it.
type Closure struct {
	ID         string      `toml:"id"`
	Name       string      `toml:"name"`
	Defects    []string    `toml:"defects"` // ids of findings
	Statements []Statement `toml:"statement"`
	Source     string      `toml:"source"`
	Mark       Mark        `toml:"mark"`
}

// Metal is what a band is made of.
type Metal struct {
	Name    string   `toml:"name"`
	Aliases []string `toml:"aliases"` // other spellings
	Hard    bool     `toml:"hard"`
	Source  string   `toml:"source"`
	Mark    Mark     `toml:"mark"`
}

func (m Metal) named(text string) bool {
	if strings.EqualFold(m.Name, text) {
		return true
	}
	for _, alias := range m.Aliases {
		if strings.EqualFold(alias, text) {
			return true
		}
	}
	return false
}
