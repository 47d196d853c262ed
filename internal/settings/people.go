package settings

import (
	"slices"
	"strings"
)

// People are who works at the bench. A trainee is told with every shift; who
// bands may be one of them.
type People struct {
	Banders     []string `toml:"banders" comment:"Who bands here: each gets a card for the scanner."`
	Trainees    []string `toml:"trainees" comment:"Whose confirmation of a closing waits for a supervisor's look; told at the shift's start."`
	Supervisors []string `toml:"supervisors" comment:"Who may look after a trainee; none named: anyone who is no trainee."`
}

// Names lists everybody, each once: all get a card for the scanner.
func (p People) Names() []string {
	var names []string
	for _, name := range slices.Concat(p.Banders, p.Trainees, p.Supervisors) {
		if !slices.ContainsFunc(names, func(other string) bool { return strings.EqualFold(other, name) }) {
			names = append(names, name)
		}
	}
	return names
}

// peopleRules refuse names that cannot be shown, and names told twice.
func (s *Settings) peopleRules() []rule {
	var rules []rule
	roles := slices.Concat(s.People.Trainees, s.People.Supervisors)
	for _, list := range []struct {
		key   string
		names []string
	}{{"people.banders", s.People.Banders}, {"people.trainees", roles}} {
		for i, name := range list.names {
			rules = append(rules, shown(list.key, name, true))
			twice := slices.ContainsFunc(list.names[:i], func(other string) bool { return strings.EqualFold(other, name) })
			rules = append(rules, rule{list.key, !twice, name + " is named twice", "name each person once: a trainee is no supervisor"})
		}
	}
	return rules
}
