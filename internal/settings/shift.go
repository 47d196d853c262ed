package settings

import "fmt"

// Shift is what usually holds for a shift of this bench, offered when one is
// opened. Coordinates are decimal degrees as text, so that no digit is lost.
type Shift struct {
	Place        string       `toml:"place" comment:"Where the bench usually stands: taken with Enter when a shift is opened."`
	Latitude     string       `toml:"latitude" comment:"Decimal degrees of that place, as text, south with a minus; told with each shift that is opened there."`
	Longitude    string       `toml:"longitude" comment:"Decimal degrees, west with a minus."`
	AccuracyM    string       `toml:"accuracy_m" comment:"How surely, in metres; empty: nobody knows."`
	Datum        string       `toml:"datum" comment:"What the coordinates refer to; empty: WGS 84, as satellite receivers have it."`
	Permit       string       `toml:"permit" comment:"The permit, taken with Enter."`
	PermitHolder string       `toml:"permit_holder" comment:"Who answers for it; told with each shift."`
	Scribe       string       `toml:"scribe" comment:"Who usually keeps the record; told with each shift."`
	Instruments  []Instrument `toml:"instruments" comment:"What is used beside the caliper, like [{ kind = 'balance', name = 'B-2', note = 'checked against 100 g' }]; told with each shift."`
}

// Instrument is one of them.
type Instrument struct {
	Kind string `toml:"kind" comment:"What it is."`
	Name string `toml:"name" comment:"What it is called here."`
	Note string `toml:"note" comment:"Anything worth keeping."`
}

// shiftRules refuse names that cannot be shown, and half a position. Whether the
// numbers are coordinates is the domain's to say.
func (s *Settings) shiftRules() []rule {
	h := s.Shift
	rules := []rule{
		shown("shift.place", h.Place, false), shown("shift.permit", h.Permit, false), shown("shift.scribe", h.Scribe, false),
		shown("shift.permit_holder", h.PermitHolder, false), shown("shift.latitude", h.Latitude, false), shown("shift.longitude", h.Longitude, false),
		shown("shift.accuracy_m", h.AccuracyM, false), shown("shift.datum", h.Datum, false),
		{"shift.latitude", (h.Latitude == "") == (h.Longitude == ""), "one coordinate is told, and not the other", "tell both, or neither"},
	}
	for i, in := range h.Instruments {
		key := func(name string) string { return fmt.Sprintf("shift.instruments[%d].%s", i, name) }
		rules = append(rules, shown(key("kind"), in.Kind, true), shown(key("name"), in.Name, true), shown(key("note"), in.Note, false))
	}
	return rules
}
