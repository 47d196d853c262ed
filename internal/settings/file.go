package settings

import (
	"bytes"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"unicode"

	"github.com/pelletier/go-toml/v2"
	"github.com/pelletier/go-toml/v2/unstable"

	"seamfit/internal/catalogue"
	"seamfit/internal/length"
)

// Load reads a bench.toml over the defaults: what the file leaves out keeps
// its default. An unknown key, a value of the wrong kind and a value out of
// its range are refused with a *catalogue.FileError that names the line, the
// reason and the mend.
func Load(data []byte, name string) (Settings, error) {
	s := Default()
	lines, err := catalogue.Decode(data, name, &s)
	if err != nil {
		return Settings{}, err
	}
	for _, rule := range slices.Concat(s.rules(), s.furtherRules(), s.deviceRules(), s.texts(), s.seamRules(), s.shiftRules(), s.peopleRules(), s.calibrationRules(), s.backupRules()) {
		if !rule.holds {
			return Settings{}, lines.Errorf(rule.key, rule.mend, "%s: %s", rule.key, rule.reason)
		}
	}
	return s, nil
}

// Marshal writes settings as a bench.toml with a comment at each value. Load
// reads it back to the same settings.
func Marshal(s Settings) ([]byte, error) {
	var b bytes.Buffer
	if err := toml.NewEncoder(&b).EnableMarshalerInterface().Encode(s); err != nil {
		return nil, fmt.Errorf("write settings: %w", err)
	}
	return b.Bytes(), nil
}

// UnmarshalText reads a number of millimetres, exactly; a text may name
// another unit ("0.0012 in").
func (m *Millimetres) UnmarshalText(text []byte) error {
	typed, err := length.ParsePerson(string(text), length.MM)
	if err != nil {
		// This kind of error gives the decoder the place of a bare number; for
		// a string it knows the place and takes only the message.
		return &unstable.ParserError{Highlight: text, Message: "not a length in millimetres"}
	}
	m.Length = typed.Value
	return nil
}

// MarshalTOML writes the number of millimetres without quotes.
func (m Millimetres) MarshalTOML() ([]byte, error) { return []byte(m.Exact()), nil }

// rule is one condition on a value.
type rule struct {
	key    string
	holds  bool
	reason string
	mend   string
}

var framing = regexp.MustCompile(`^[78][NEO][12]$`)

// within returns the rule that a number lies in its range. NaN does not.
func within[N int | float64](key string, v, least, most N) rule {
	return rule{key, v >= least && v <= most, fmt.Sprintf("%v is out of range", v), fmt.Sprintf("use %v to %v", least, most)}
}

func (s *Settings) rules() []rule {
	b, m := &s.Bench, &s.Measure
	upTo := func(key string, v Millimetres, least, most length.Length) rule {
		return rule{key, v.Length >= least && v.Length <= most, fmt.Sprintf("%v is out of range", v.Length), fmt.Sprintf("use %v to %v", least, most)}
	}
	const mm = length.Millimetre
	return []rule{
		within("bench.readings", b.Readings, 1, 10),
		within("bench.handling_limit_s", b.HandlingLimitS, 0, 86_400),
		within("bench.closings_limit", b.ClosingsLimit, 1, 100),
		within("bench.bands_limit", b.BandsLimit, 0, 10),
		upTo("measure.repeatability_sd_mm", m.RepeatabilitySD, length.Nanometre, 5*mm),
		upTo("measure.mpe_mm", m.MPE, 0, 5*mm),
		upTo("measure.resolution_mm", m.Resolution, 0, mm),
		upTo("measure.one_sided_allowance_mm", m.OneSidedAllowance, 0, 5*mm),
		upTo("measure.between_bander_sd_mm", m.BetweenBanderSD, 0, 5*mm),
		upTo("measure.absurd_over_mm", m.AbsurdOver, mm, 200*mm),
		// Written so that NaN fails too.
		{"measure.min_play", m.MinPlay >= 0 && m.MinPlay < m.TargetPlay, "min_play must be at least 0 and below target_play", "use 0.06"},
		{"wear.water", slices.Contains([]string{"", "salt", "abrasive"}, s.Wear.Water), fmt.Sprintf("%q is no water that wears bands", s.Wear.Water), `use "salt", "abrasive", or leave it empty`},
		{"wear.readable_part", s.Wear.ReadablePart > 0 && s.Wear.ReadablePart < 1, "readable_part must lie between 0 and 1", "use 0.5"},
		{"measure.max_play", m.MaxPlay > m.TargetPlay && m.MaxPlay <= 5, "max_play must be above target_play and at most 5", "use 0.60"},
	}
}

// furtherRules are about the further measures, each named once.
func (s *Settings) furtherRules() []rule {
	var rules []rule
	seen := map[string]bool{}
	for i, m := range s.Measure.Further {
		key := func(name string) string { return fmt.Sprintf("measure.further[%d].%s", i, name) }
		name := strings.ToLower(strings.Join(strings.Fields(m.Name), " "))
		rules = append(rules,
			shown(key("name"), m.Name, true), shown(key("unit"), m.Unit, true), shown(key("method"), m.Method, false),
			rule{key("name"), !seen[name], fmt.Sprintf("%q is named twice", m.Name), "take one of them out"},
			within(key("at_most"), m.AtMost, 0, 1e6))
		seen[name] = true
	}
	return rules
}

// deviceRules are about how devices are connected.
func (s *Settings) deviceRules() []rule {
	c := s.Caliper
	framed := func(key, v string) rule {
		return rule{key, framing.MatchString(v), fmt.Sprintf("%q is no framing", v), `write it like "7E2" or "8N1"`}
	}
	oneOf := func(key, v, what string, known ...string) rule {
		return rule{key, slices.Contains(known, v), fmt.Sprintf("%q is %s", v, what), fmt.Sprintf("use one of %q", known)}
	}
	return []rule{
		within("caliper.baud", c.Baud, 50, 4_000_000),
		framed("caliper.framing", c.Framing),
		oneOf("caliper.unit", c.Unit, "no unit", "mm", "in"),
		within("caliper.quiet_s", c.QuietS, 0, 86_400),
		within("caliper.answer_s", c.AnswerS, 0.1, 60),
		oneOf("caliper.streams", c.Streams, "no answer", "", "yes", "no"),
		within("caliper.steady_samples", c.SteadySamples, 2, 1000),
		within("caliper.steady_s", c.SteadyS, 0.05, 30),
		within("scanner.baud", s.Scanner.Baud, 50, 4_000_000),
		framed("scanner.framing", s.Scanner.Framing),
	}
}

// shown returns the rule that a text can be shown, and is there where it must.
func shown(key, text string, required bool) rule {
	if required && strings.TrimSpace(text) == "" {
		return rule{key, false, "is empty", "give it, or take the line out"}
	}
	ok := !strings.ContainsFunc(text, func(r rune) bool { return !unicode.IsPrint(r) })
	return rule{key, ok, fmt.Sprintf("%q holds a character that cannot be shown", text), "take it out"}
}

// texts refuses names that cannot be shown, and names left empty. A scanner's
// prefix and suffix may hold control characters: they are compared with what
// arrives and never shown as they are.
func (s *Settings) texts() []rule {
	rules := []rule{
		shown("bench.name", s.Bench.Name, true),
		shown("bench.catalogue", s.Bench.Catalogue, true),
		shown("bench.number_pattern", s.Bench.NumberPattern, true),
		shown("caliper.name", s.Caliper.Name, true),
		shown("caliper.form", s.Caliper.Form, true),
		shown("caliper.port", s.Caliper.Port, false),
		shown("caliper.id", s.Caliper.ID, false),
		shown("scanner.port", s.Scanner.Port, false),
	}
	for _, file := range s.Bench.CatalogueFiles {
		rules = append(rules, shown("bench.catalogue_files", file, true))
	}
	for _, name := range s.Measure.Established {
		rules = append(rules, shown("measure.established", name, true))
	}
	for _, file := range s.Bench.PatternFiles {
		rules = append(rules, shown("bench.pattern_files", file, true))
	}
	return rules
}
