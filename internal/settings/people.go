package settings

import (
	"slices"
	"strings"
)

// People are who works at the bench.
type People struct {
	Banders []string `toml:"banders" comment:"Who bands here: each gets a card for the scanner."`
}

// peopleRules refuse names that cannot be shown, and names told twice.
func (s *Settings) peopleRules() []rule {
	var rules []rule
	for i, name := range s.People.Banders {
		rules = append(rules, shown("people.banders", name, true))
		twice := slices.ContainsFunc(s.People.Banders[:i], func(other string) bool { return strings.EqualFold(other, name) })
		rules = append(rules, rule{"people.banders", !twice, name + " is named twice", "name each person once"})
	}
	return rules
}
